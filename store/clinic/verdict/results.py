"""How a criterion's result is put into words: what is needed, what was observed, what to ask."""

from __future__ import annotations

from datetime import date

from armrise.store.clinic.case.standing import CriterionResult, Truth
from armrise.store.record.kinds.programme import CLASS_WORDS
from armrise.store.record.words import plain
from armrise.store.rules.pathway import Criterion

QUESTION, LOOK, MEASUREMENT = 1, 2, 3
"""Effort of finding out: a question, a look or a paper, a measurement."""

PAIN = ("worst_pain", "rest_pain", "night_pain")


def result(
    criterion: Criterion,
    state: Truth,
    observed: str,
    on: date | None = None,
    ask: str = "",
    effort: int = MEASUREMENT,
) -> CriterionResult:
    """A criterion's result with its words, source and status filled in."""
    return CriterionResult(
        criterion.text,
        needed(criterion),
        observed,
        on,
        state,
        criterion.source,
        criterion.status,
        ask if state is Truth.UNKNOWN else "",
        effort,
    )


def unknown(
    criterion: Criterion, observed: str, on: date | None = None, ask: str = "", effort: int = QUESTION
) -> CriterionResult:
    """A criterion that cannot be judged, with what to ask for."""
    return result(criterion, Truth.UNKNOWN, observed, on, ask, effort)


def decided(criterion: Criterion, passes: bool, observed: str, on: date | None = None) -> CriterionResult:
    """A criterion that is met or not met."""
    return result(criterion, Truth.of(passes), observed, on)


def needed(criterion: Criterion) -> str:
    """What the criterion asks for, in words."""
    if criterion.kind in ("any", "all"):
        joint = " or " if criterion.kind == "any" else " and "
        return joint.join(needed(p) for p in criterion.parts)
    if criterion.kind == "finding":
        return f"{criterion.finding}: {criterion.answer}"
    if criterion.kind == "sessions":
        classes = " or ".join(CLASS_WORDS[each] for each in criterion.load_class)
        what = f" of {classes}" if classes else ""
        dose = f" at {criterion.sets} x {criterion.reps} or more" if criterion.sets and criterion.reps else ""
        return f"{criterion.good} good sessions{what}{dose}"
    bound = f"{plain(criterion.at_least)} or more" if criterion.at_least is not None else ""
    if criterion.at_most is not None:
        bound = f"{plain(criterion.at_most)} or less"
    if not bound:
        return criterion.text
    unit = f" per cent of {key_words(criterion.of)}" if criterion.of else ""
    twice = f", {criterion.observations} times" if criterion.observations > 1 else ""
    apart = f" over {criterion.apart_days} days" if criterion.apart_days else ""
    return f"{bound}{unit}{twice}{apart}"


def key_words(key: str | None) -> str:
    """A data key as words."""
    return (key or "").replace("_", " ")
