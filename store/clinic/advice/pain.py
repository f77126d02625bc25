"""What to say of pain: the limits, and what to do with pain above them or with a flare (ruling 79)."""

from __future__ import annotations

from datetime import date, timedelta

from armrise.store.clinic.advice.dose_words import told
from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.healing.breaches import in_force
from armrise.store.clinic.pain.classes import FLARE
from armrise.store.clinic.pain.creep import creep, latest_baseline
from armrise.store.clinic.pain.flare import flare_state
from armrise.store.clinic.pain.response import Response
from armrise.store.clinic.pain.told import DURING, LATER
from armrise.store.clinic.programme.parts import is_raised
from armrise.store.record.kinds.programme import ISOMETRIC, ProgrammeItem
from armrise.store.rules.pathway import Rules, Stage
from armrise.store.rules.words.beside_rules import stage_words


def pain_lines(view: View, stage: Stage) -> list[str]:
    """The pain limits of the stage, and what to do where pain is above them.

    A stage that has words of its own for the patient says them in place of the second.
    """
    if stage_words(view.rules, stage):
        return [_limits(view, stage)]
    above = flare_state(view) is None and _above(view, stage)
    return [_limits(view, stage, last=above), *_with_pain(view, stage, above=above)]


def usual_morning(view: View) -> int | None:
    """The next-morning pain to come back to, in points: the baseline before it crept; None unknown."""
    crept = creep(view)
    if crept:
        return crept[1]
    baseline = Response.of(view).baseline(view.today)
    if baseline is not None:
        return baseline
    latest = latest_baseline(view)
    return latest[0] if latest else None


def _limits(view: View, stage: Stage, *, last: bool = False) -> str:
    """The limits, with the morning the shoulder has to come back to.

    They stand ``last`` where what follows speaks of them.
    """
    during, later = stage.limits.during.whole, stage.limits.later.whole
    words, usual = view.rules.words, usual_morning(view)
    limit = words.say(f"pain.{'one_limit' if during == later else 'two_limits'}", during=during, later=later)
    back = words.say("pain.back_to_usual") if usual is None else words.say("pain.back_to", usual=usual)
    return f"{back} {limit}" if last else f"{limit} {back}"


def _with_pain(view: View, stage: Stage, *, above: bool) -> list[str]:
    words, shown = view.rules.words, "_protected" if stage.protected else ""
    keep = words.say(f"pain.keep{shown}")
    if flare_state(view):
        back = gone_back(view)
        if back:
            return [*(_go_back(before, view.rules) for _, before in back), keep]
        return [_leave_out(view, stage), keep]
    if not above:
        return []
    load = any(_loaded(view, item) for item in in_force(view))
    return [words.say(f"pain.above{shown}"), *([words.say("pain.add_no_weight")] if load else [])]


def _leave_out(view: View, stage: Stage) -> str:
    """Until the morning that ends a flare: the usual one and what it may rise by."""
    words, usual = view.rules.words, usual_morning(view)
    if usual is None:
        return words.say("pain.leave_out_usual")
    return words.say("pain.leave_out", usual=usual + stage.limits.rise.whole)


def _above(view: View, stage: Stage) -> bool:
    """Usual pain above a limit: during or later above its own, the morning above either."""
    during, later = stage.limits.during.whole, stage.limits.later.whole
    response = Response.of(view)
    known = (
        (usual_morning(view), min(during, later)),
        (response.usual(DURING, view.today), during),
        (response.usual(LATER, view.today), later),
    )
    return any(usual is not None and usual > limit for usual, limit in known)


def _loaded(view: View, item: ProgrammeItem) -> bool:
    return item.load_class not in (*view.rules.mobility_classes, *ISOMETRIC)


# --- back to the dose before ------------------------------------------------------------------------------


def gone_back(view: View) -> list[tuple[ProgrammeItem, ProgrammeItem]]:
    """During a flare: each exercise in force raised in the days before it, with its version before them.

    Raised twice in those days, it goes back to what was done before either.
    """
    if flare_state(view) is None:
        return []
    last = _flared_on(view)
    first = last - timedelta(days=view.rules["dose.blame_days"])
    order = view.rules.class_order
    return [
        (item, before)
        for item in in_force(view)
        if first <= item.on <= last
        if (before := _version_before(view, item, first)) is not None and is_raised(before, item, order)
    ]


def _flared_on(view: View) -> date:
    """The newest flare; where none of a session is known, today."""
    judged = reversed(Response.of(view).all(view.today))
    return next((session.on for session in judged if session.klass == FLARE), view.today)


def _version_before(view: View, item: ProgrammeItem, first: date) -> ProgrammeItem | None:
    """The version in force before a day; None for an exercise that began, or began again, since."""
    versions = [one for one in view.upto("programme") if one.exercise == item.exercise and one.on < first]
    before: ProgrammeItem | None = newest(versions)
    return before if before and before.stopped is None else None


def _go_back(before: ProgrammeItem, rules: Rules) -> str:
    words, said = rules.words, told(before, rules)
    return words.say("pain.go_back", name=said.name, dose=said.parts(words))
