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
        what=_what(criterion),
        now=observed.partition("; ")[0],
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
    """What the criterion asks for, to stand beside what was observed; empty where its text says it all."""
    if criterion.kind == "finding":
        return criterion.answer if criterion.answer == "yes" else f"{criterion.finding}: {criterion.answer}"
    if criterion.kind == "clearance":
        return "yes"
    if criterion.kind == "plateau":
        return f"less than {criterion.change} in {criterion.days} days"
    if criterion.kind == "sessions":
        dose = f" at {criterion.sets} x {criterion.reps} or more" if criterion.sets and criterion.reps else ""
        return f"{criterion.good}{dose}"
    bound = _bound(criterion)
    of = (
        f" of {'the ' if criterion.of == 'other side' else ''}{key_words(criterion.of)}"
        if criterion.of
        else ""
    )
    twice = f", {criterion.observations} times" if bound and criterion.observations > 1 else ""
    apart = f" over {criterion.apart_days} days" if bound and criterion.apart_days else ""
    return f"{bound}{of}{twice}{apart}"


def _bound(criterion: Criterion) -> str:
    unit = " %" if criterion.of or criterion.kind == "adherence" else ""
    if criterion.at_most is not None:
        return f"{plain(criterion.at_most)}{unit} or less"
    return f"{plain(criterion.at_least)}{unit} or more" if criterion.at_least is not None else ""


def _what(criterion: Criterion) -> str:
    """What is judged, without its number; that of a measure is its label, which the rules know."""
    if criterion.kind == "sessions":
        classes = " or ".join(CLASS_WORDS[each] for each in criterion.load_class)
        above = " above the shoulder" if criterion.above_shoulder else ""
        return f"good sessions{f' of {classes}' if classes else ''}{above}"
    if criterion.kind == "finding" and criterion.answer == "no":
        return criterion.finding or ""
    return criterion.text.removesuffix(f" {needed(criterion)}")


def key_words(key: str | None) -> str:
    """A data key as words."""
    return (key or "").replace("_", " ")
