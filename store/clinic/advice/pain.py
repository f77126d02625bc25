"""What to say of pain: the limits, and what to do with pain above them or with a flare (ruling 79)."""

from __future__ import annotations

from datetime import date, timedelta

from armrise.store.clinic.advice.dose_words import dose_words
from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.healing.breaches import in_force
from armrise.store.clinic.pain.classes import FLARE
from armrise.store.clinic.pain.creep import creep, latest_baseline
from armrise.store.clinic.pain.flare import flare_state
from armrise.store.clinic.pain.response import DURING, LATER, Response
from armrise.store.clinic.programme.parts import is_raised
from armrise.store.record.kinds.programme import ISOMETRIC, ProgrammeItem
from armrise.store.rules.pathway import Rules, Stage

ABOVE = (
    "Your usual pain is above that. Keep {movement} going: small and easy, several times a day; "
    "stop where it becomes sharper."
)
ADD_NONE = "Add no weight."
GO_BACK = "Go back to {name}, the dose before ({dose})."
LEAVE_OUT = "Leave out the exercises with weight or band until the mornings are back to {back}."
KEEP = "Keep {movement} going."
GENTLE, SHOWN = "the gentle movement", "the movements you were shown"
"""What may go on, in words; the second while tissue heals."""


def pain_lines(view: View, stage: Stage) -> list[str]:
    """The pain limits of the stage, and what to do where pain is above them.

    A stage that has words of its own for the patient says them in place of the second.
    """
    limits = _limits(view, stage)
    if stage.patient_words:
        return [stage.patient_words, limits]
    return [limits, *_with_pain(view, stage)]


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


def _limits(view: View, stage: Stage) -> str:
    """The limits, with the morning the shoulder has to come back to."""
    during, later = stage.limits.during.whole, stage.limits.later.whole
    usual = usual_morning(view)
    back = "what it usually is" if usual is None else f"your usual {usual}"
    if during == later:
        first = f"Keep pain in the exercises and later that day to {during} of 10 or less"
    else:
        first = f"Keep pain in the exercises to {during} of 10 or less, later that day to {later} or less"
    return f"{first}, and back to {back} by next morning."


def _with_pain(view: View, stage: Stage) -> list[str]:
    movement = SHOWN if stage.protected else GENTLE
    keep = KEEP.format(movement=movement)
    if flare_state(view):
        back = gone_back(view)
        if back:
            return [*(_go_back(before, view.rules) for _, before in back), keep]
        return [LEAVE_OUT.format(back=_morning(view, stage)), keep]
    if not _above(view, stage):
        return []
    load = any(_loaded(view, item) for item in in_force(view))
    return [ABOVE.format(movement=movement), *([ADD_NONE] if load else [])]


def _morning(view: View, stage: Stage) -> str:
    """The morning that ends a flare: the usual one and what it may rise by."""
    usual = usual_morning(view)
    return "what they usually are" if usual is None else str(usual + stage.limits.rise.whole)


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
    flares = [judged.on for judged in Response.of(view).all(view.today) if judged.klass == FLARE]
    return flares[-1] if flares else view.today


def _version_before(view: View, item: ProgrammeItem, first: date) -> ProgrammeItem | None:
    """The version in force before a day; None for an exercise that began, or began again, since."""
    versions = [one for one in view.upto("programme") if one.exercise == item.exercise and one.on < first]
    before: ProgrammeItem | None = newest(versions)
    return before if before and before.stopped is None else None


def _go_back(before: ProgrammeItem, rules: Rules) -> str:
    dose = dose_words(before, rules).removeprefix(f"{before.exercise}: ")
    return GO_BACK.format(name=before.exercise, dose=dose)
