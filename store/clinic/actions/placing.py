"""Where a case may begin: the pathway and the stage proposed from what the first visit found.

A proposal, with its reasons in words. The clinician chooses; nothing here places anybody. Sections 3.1 to 3.6
of the practice notes ("Enter when").
"""

from __future__ import annotations

from dataclasses import field
from decimal import Decimal

from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.healing.fit import PROTECTION, fits
from armrise.store.clinic.healing.healing import date_stage, gate
from armrise.store.clinic.motion import motion
from armrise.store.record.light import dataclass
from armrise.store.record.words import plain, words_date
from armrise.store.rules.exercise import Exercise
from armrise.store.rules.pathway import ARTHRITIS, STIFF, TENDON, Pathway, Stage

ROTATION_PAIR = ("active_external_rotation", "passive_external_rotation")
FLEXION_PAIR = ("active_flexion", "passive_flexion")


@dataclass(frozen=True, slots=True)
class Placing:
    """What is proposed, None where nothing can be; ``because`` and ``consider`` in words."""

    pathway: str | None = None
    stage: str | None = None
    because: str = ""
    consider: tuple[str, ...] = field(default=())


@dataclass(frozen=True, slots=True)
class Stiffness:
    """The entry picture of a frozen shoulder, row by row; None is not known."""

    half: bool | None
    planes: int
    equal: bool | None
    words: str = ""

    @property
    def complete(self) -> bool:
        """Every row of the picture is there."""
        return bool(self.half) and self.planes > 1 and bool(self.equal)


def propose_pathway(view: View, registered: str = "") -> Placing:
    """The pathway by mechanism and range: healing tissue first, then stiffness, then the common one.

    What healing and stiffness leave open goes by the pathway it is ``registered`` for.
    """
    onsets = {onset.what for onset in view.upto("onsets")}
    for pathway in view.rules.pathways.values():
        if pathway.clock in onsets:
            return Placing(pathway.code, because=f"{pathway.clock} recorded")
    stiff, frozen, usual = stiffness(view), _placing(view, STIFF), _placing(view, TENDON)
    asked = (_stiff_words(stiff, view),) if stiff.half and frozen else ()
    if stiff.complete and frozen:
        return Placing(frozen.code, because=stiff.words, consider=asked)
    if (told := view.rules.pathways.get(registered)) is not None:
        unseen = (f"registered for {told.name}, and no {told.clock} is recorded",) if told.clock else ()
        return Placing(told.code, because="as registered", consider=(*unseen, *asked))
    if onsets and usual:
        because = f"{sorted(onsets)[0]} onset, no surgery or fracture"
        return Placing(usual.code, because=because, consider=asked)
    return Placing(consider=asked)


def _placing(view: View, placing: str) -> Pathway | None:
    """The first pathway of the rule files that is placed like this."""
    return next((p for p in view.rules.pathways.values() if p.placing == placing), None)


def _stiff_words(stiff: Stiffness, view: View) -> str:
    said = newest([f.answer for f in view.upto("findings") if f.name == "radiograph excludes other cause"])
    questions = (
        ("active about equals passive", stiff.equal is None),
        ("loss in a second plane", stiff.planes < 2),
        ("radiograph", said != "yes"),
    )
    lacking = ", ".join(words for words, lacks in questions if lacks)
    more = f"; still to check: {lacking}" if lacking else ""
    return f"consider frozen shoulder: {stiff.words}{more}"


def stiffness(view: View) -> Stiffness:
    """Rotation under half of the other side, loss in two planes, active about equal to passive."""
    rules = view.rules
    own = newest(motion.values(view, motion.ROTATION))
    other = motion.other_side(view, motion.ROTATION)
    if own is None or other is None:
        return Stiffness(None, 0, _about_equal(view))
    turn, reference = motion.number(own), motion.number(other)
    half = reference > 0 and turn * 100 < rules["drift.half_percent"] * reference
    lost = [name for name in motion.PLANES if _lost(view, name)]
    words = f"passive external rotation {plain(turn)}, other side {plain(reference)}"
    words += f"; loss in {len(lost)} plane{'s' if len(lost) != 1 else ''}"
    return Stiffness(half, len(lost), _about_equal(view), words)


def _lost(view: View, name: str) -> bool:
    own, other = newest(motion.values(view, name)), motion.other_side(view, name)
    if own is None or other is None:
        return False
    return motion.number(other) - motion.number(own) >= view.rules["placing.plane_loss"]


def _about_equal(view: View) -> bool | None:
    """Whether active and passive range agree wherever both were measured; None where neither pair was."""
    allowed, gaps = view.rules["placing.about_equal"], list[Decimal]()
    for active, passive in (ROTATION_PAIR, FLEXION_PAIR):
        one, two = newest(motion.values(view, active)), newest(motion.values(view, passive))
        if one is not None and two is not None:
            gaps.append(abs(motion.number(two) - motion.number(one)))
    return all(gap <= allowed for gap in gaps) if gaps else None


def propose_stage(view: View, pathway: Pathway) -> Placing:
    """The stage by irritability and pain, or by the healing clock; the safer one where it is not known."""
    if pathway.clock is not None:
        return _by_clock(view, pathway)
    rule = {TENDON: _tendon, STIFF: _stiff, ARTHRITIS: _arthritis}.get(pathway.placing or "")
    number, because = rule(view) if rule else (0, "the first stage")
    stage = pathway.stages[min(number, len(pathway.stages) - 1)]
    return Placing(pathway.code, stage.code, because)


def _tendon(view: View) -> tuple[int, str]:
    level, night = _level(view), _pain(view, "night_pain")
    if level == "high":
        return 0, "irritability high"
    if night is not None and night >= view.rules["placing.settle_night"]:
        return 0, f"night pain {night}"
    if level is None:
        return 0, "irritability not known: the first stage"
    return 1, f"irritability {level}"


def _stiff(view: View) -> tuple[int, str]:
    night, rest = _pain(view, "night_pain"), _pain(view, "rest_pain")
    if night is not None and night >= view.rules["placing.frozen_night"]:
        return 0, f"night pain {night}"
    if rest is not None and rest >= view.rules["placing.frozen_rest"]:
        return 0, f"rest pain {rest}"
    if night is None or rest is None:
        return 0, "night or rest pain not known: the first stage"
    return 1, f"night pain {night}, rest pain {rest}"


def _arthritis(view: View) -> tuple[int, str]:
    level = _level(view)
    if level is None:
        return 0, "irritability not known: the first stage"
    return (1 if level == "low" else 0), f"irritability {level}"


def _level(view: View) -> str | None:
    said = newest(view.upto("irritabilities"))
    return said.level if said else None


def _pain(view: View, name: str) -> int | None:
    said = newest(motion.values(view, name))
    return int(motion.number(said)) if said else None


def _by_clock(view: View, pathway: Pathway) -> Placing:
    """One stage below what the calendar allows: its exit has been seen by nobody yet. Never a closed gate."""
    onset = view.onset_for(pathway)
    first = pathway.stages[0].code
    if onset is None:
        return Placing(pathway.code, first, f"{pathway.clock} date missing: no later stage is open")
    day = (view.today - onset.on).days
    at = pathway.index(date_stage(view, pathway, view.today).code)
    while at > 0 and not is_open(view, pathway.stages[at]):
        at -= 1
    if at == 0:
        return Placing(pathway.code, first, f"day {day} after {pathway.clock}")
    before, reached = pathway.stages[at - 1], pathway.stages[at]
    because = f"{reached.code} is open, the exit of {before.code} not seen yet"
    return Placing(pathway.code, before.code, f"day {day} after {pathway.clock}; {because}")


def is_open(view: View, stage: Stage) -> bool:
    """Whether no healing gate keeps ``stage`` shut on the view's date; a missing date keeps it shut."""
    opening = gate(view, stage)
    return opening is None or (opening.opens is not None and opening.opens <= view.today)


def shut_words(view: View, stage: Stage) -> str:
    """Why ``stage`` is still shut, empty when it is not."""
    opening = gate(view, stage)
    if opening is None or is_open(view, stage):
        return ""
    if opening.opens is None:
        return f"{stage.code} opens on {opening.words}, and that date is missing"
    return f"{stage.code} opens on {words_date(opening.opens)} ({opening.words})"


def interval_of(view: View, stage: Stage) -> int:
    """The review interval in days that the rule file gives ``stage`` at a visit on the view's date."""
    early, within = stage.review_early, stage.review_early_days
    first = view.first_visit or view.today
    if early and within and (view.today - first).days < within.whole:
        return early.whole
    return stage.review.whole


def strength_barred(view: View, pathway: Pathway | None) -> str:
    """Why strength may not be tested today, empty when healing does not forbid it.

    A strength test is strong isometric work (class I2), so the stage that the calendar and the orders allow
    has to bring that class. With the surgery or injury date missing it is barred.
    """
    if pathway is None or pathway.clock is None:
        return ""
    bringing = next((s for s in pathway.stages if "I2" in s.allowed), None)
    if bringing is None or is_open(view, bringing):
        return ""
    return f"testing prohibited: {shut_words(view, bringing)}"


def programme(view: View) -> tuple[Exercise, ...]:
    """A few exercises of the catalogue to begin with, for a case placed in a stage on the view's date.

    One of each load class that the stage brings, the least demanding first; where those are few, of the
    classes before them, the furthest on first. Nothing that the stage or a healing limit forbids, and
    protection only where nothing else is allowed.
    """
    stage, pathway = view.stage, view.pathway
    if stage is None or pathway is None:
        return ()
    at = pathway.index(stage.code)
    before = pathway.stages[at - 1].allowed if at else ()
    order = view.rules.class_order
    fitting: dict[str, Exercise] = {}
    for found in fits(view, view.rules.exercises):
        if found.fits:
            fitting.setdefault(found.exercise.load_class, found.exercise)
    brought = [c for c in order if c in fitting and c not in before and c != PROTECTION]
    earlier = [c for c in reversed(order) if c in fitting and c in before and c != PROTECTION]
    classes = [*brought, *earlier] or [c for c in order if c in fitting]
    return tuple(fitting[c] for c in classes[: view.rules["placing.exercises"]])
