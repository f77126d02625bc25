"""An outcome score from what was typed: answers by number, parts that were measured, or a total."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import field
from decimal import Decimal
from typing import Any

from armrise.store.clinic.actions.suppose import added
from armrise.store.clinic.case.view import View
from armrise.store.clinic.scores.change import latest_change, left_out, sentences
from armrise.store.clinic.scores.constant_murley import (
    CONSTANT,
    ConstantParts,
    constant_answers,
    constant_score,
)
from armrise.store.clinic.scores.doubtful_scale import OXFORD, raw_as_per_cent, scale_doubt
from armrise.store.clinic.scores.scoring import RECORDED_PLACES, Scored, disagreement, rounded, score
from armrise.store.clinic.scores.sums import per_cent_of_best
from armrise.store.record.case import CaseRecord
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.head import REPORTED
from armrise.store.record.kinds.measured import Score
from armrise.store.record.light import dataclass
from armrise.store.record.words import plain
from armrise.store.rules.measure import InstrumentSpec
from armrise.store.rules.pathway import Rules
from armrise.store.rules.questionnaire import OLD_OXFORD, Answer, Form, ScoringError
from armrise.tui.forms.kit.plan import Draft, Plan

PER_CENT = ("WOSI", "WORC")
SCALES = {
    "SPADI": ("already out of 100", "a sum out of 130"),
    **dict.fromkeys(OXFORD, ("present 0 to 48", "old 12 to 60")),
    **dict.fromkeys(PER_CENT, ("raw total, lower is better", "per cent of the best")),
}
"""The answers to a doubt about the scale of a total: its own scale, and the other one in circulation."""
OXFORD_NEW = "new 0-48"
NUMBER = re.compile(r"-?\d{1,4}(\.\d{1,2})?")
INCOMPLETE, DECLINED = "i", "d"


@dataclass(frozen=True, slots=True)
class Typed:
    """What stands in the form. ``slots`` are the texts of the numbered items, "" for one left blank."""

    instrument: str
    formula: str = ""
    slots: Sequence[str] = ()
    parts: Mapping[str, str] = field(default_factory=dict[str, str])
    """The parts of the Constant-Murley score by name."""
    total: str = ""
    scale: str = ""
    """The answer to the doubt about the scale of ``total``; empty: not answered."""
    version: str = ""
    language: str = ""
    filled_by: str = ""


def by_items(spec: InstrumentSpec) -> Form | None:
    """The form whose items are typed one by one; None where the total itself is the one answer."""
    return spec.form if spec.form and spec.form.count > 1 else None


def read_score(rules: Rules, typed: Typed) -> Plan:
    """The score as it would be written, in words, or what is wrong with it by field."""
    plan = Plan(nothing="Nothing answered yet, and no total.")
    spec = rules.instruments.get(typed.instrument)
    if spec is None:
        plan.nothing = "Choose the questionnaire."
        return plan
    try:
        answers = answers_of(rules, spec, typed)
        answered = any(answer is not None for answer in answers)
        scored = _scored(rules, spec, typed, answers) if answered else None
        if typed.total:
            _from_total(plan, spec, typed, answers if answered else ())
        elif scored:
            _from_answers(plan, spec, typed, answers, scored)
    except ScoringError as error:
        plan.refused = str(error)
    return plan


def _draft(
    spec: InstrumentSpec,
    typed: Typed,
    total: Decimal | Absence | None,
    formula: str | None,
    items: tuple[Answer, ...],
) -> Draft:
    values: dict[str, Any] = {
        "instrument": spec.key,
        "total": total,
        "formula": formula,
        "version": typed.version or None,
        "language": typed.language or None,
        "filled_by": typed.filled_by or None,
        "items": items,
    }
    if spec.key != CONSTANT:  # the one that is measured, not answered
        values["source"] = REPORTED
    return "score", values


def number(text: str, what: str) -> Decimal:
    """The number in ``text``. Raises ScoringError with one sentence when it is none."""
    if not NUMBER.fullmatch(text):
        raise ScoringError(f'{what}: "{text}" is no number.')
    return Decimal(text)


# --- answers ----------------------------------------------------------------------------------------------


def answers_of(rules: Rules, spec: InstrumentSpec, typed: Typed) -> tuple[Answer, ...]:
    """The answers by number, cut to a length the form may have; none where only a total is asked for.

    Raises ScoringError for a text that is no number, or a measured value outside its table.
    """
    form = by_items(spec)
    if form is None:
        return ()
    if spec.key == CONSTANT:
        return constant_answers(rules, _constant_parts(typed.parts))
    told = enumerate(typed.slots[: form.count], 1)
    answers = tuple(number(text, f"item {at}") if text else None for at, text in told)
    last = max((at for at, answer in enumerate(answers, 1) if answer is not None), default=0)
    return answers[: min(length for length in form.allowed_lengths if length >= last)]


def _scored(rules: Rules, spec: InstrumentSpec, typed: Typed, answers: tuple[Answer, ...]) -> Scored:
    """What follows from the answers; raises ScoringError."""
    if spec.key == CONSTANT:
        return constant_score(rules, _constant_parts(typed.parts))
    return score(spec, answers, typed.formula or None)


MEASURED = ("pain", "work", "recreation", "flexion", "abduction", "strength")
"""The parts of the Constant-Murley score that are numbers; the others are words of the rule file."""


def _constant_parts(parts: Mapping[str, str]) -> ConstantParts:
    """What was measured, as typed; what is empty was not measured."""
    told = {name: text for name, text in parts.items() if text}
    values: dict[str, Any] = {
        name: number(text, name) if name in MEASURED else text for name, text in told.items()
    }
    return ConstantParts(**values)


def _from_answers(
    plan: Plan, spec: InstrumentSpec, typed: Typed, answers: tuple[Answer, ...], scored: Scored
) -> None:
    said = f"{scored.answered} of {scored.asked} answered"
    if scored.shown is None:
        plan.then.append(f"{spec.key} incomplete, NO TOTAL: {scored.why_none}; {said}; the score stays owed")
    else:
        by = f", {scored.formula}" if scored.formula else ""
        plan.then.append(f"{spec.key} {plain(scored.shown)} ({scored.direction}{by}); {said}")
    plan.then += [scored.note] if scored.note else []
    plan.then += [*_parts_in_words(scored), *_per_cent(spec, scored.recorded)]
    plan.drafts.append(_draft(spec, typed, scored.recorded, scored.formula, answers))


def _parts_in_words(scored: Scored) -> list[str]:
    """The parts of a form that has several, each with what it comes to."""
    if scored.instrument == CONSTANT:
        return ["points: " + ", ".join(f"{p.name} {plain(p.sum)}" for p in scored.parts if p.answered)]
    if len(scored.parts) < 2:
        return []
    told = [
        f"{part.name} {plain(part.sum)}, {plain(rounded(part.per_cent, 1) or Decimal(0))} per cent"
        for part in scored.parts
        if part.per_cent is not None
    ]
    return ["; ".join(told)] if told else []


def _per_cent(spec: InstrumentSpec, total: Decimal | Absence | None) -> list[str]:
    """A sum of lines as per cent of the best too, because reports give either."""
    if spec.key not in PER_CENT or spec.form is None or not isinstance(total, Decimal):
        return []
    share = rounded(per_cent_of_best(spec.form, total), 1) or Decimal(0)
    return [f"{plain(share)} per cent of the best"]


# --- a typed total ----------------------------------------------------------------------------------------


def _from_total(plan: Plan, spec: InstrumentSpec, typed: Typed, answers: tuple[Answer, ...]) -> None:
    """A total of the licensed form. It has to be on a scale somebody named, and agree with the answers."""
    text = typed.total.lower()
    formula = typed.formula or (OXFORD_NEW if spec.key in OXFORD else None)
    if text in (INCOMPLETE, DECLINED):
        total = None if text == INCOMPLETE else Absence.DECLINED
        plan.then += ["the score stays owed"] if total is None else []
        plan.drafts.append(_draft(spec, typed, total, formula, answers))
        return
    given = number(typed.total, "total")
    question = doubt(spec, typed)
    if question and not typed.scale:
        plan.faults["scale"] = question
        return
    total = given
    if question and typed.scale == SCALES[spec.key][1]:
        total, formula, told = _from_other_scale(spec, given)
        plan.then.append(told)
    low, high = limits(spec, formula)
    if not low <= total <= high:
        plan.faults["total"] = (
            f"total: {plain(total)} is out of range, allowed is {plain(low)} to {plain(high)}."
        )
        return
    plan.then += _per_cent(spec, total)
    plan.drafts.append(_draft(spec, typed, total, formula, answers))


def limits(spec: InstrumentSpec, formula: str | None) -> tuple[Decimal, Decimal]:
    """(least, most) of a total by this formula."""
    if formula == OLD_OXFORD and spec.form:
        least = Decimal(spec.form.count)
        return least, spec.form.old_and_new
    return spec.low, spec.high


def doubt(spec: InstrumentSpec, typed: Typed) -> str:
    """The question whether a total is on another scale; empty when nothing suggests it.

    Somebody who named the formula has answered already, unless the total cannot be what was named.
    """
    if not NUMBER.fullmatch(typed.total):
        return ""
    found = scale_doubt(spec, [Decimal(typed.total)], typed.formula or None)
    if found is None or (typed.formula and not found.certain):
        return ""
    return found.question


def _from_other_scale(spec: InstrumentSpec, given: Decimal) -> tuple[Decimal, str | None, str]:
    """Total, formula and words of a total that somebody said is on the other scale."""
    form = spec.form
    assert form is not None
    if spec.key in OXFORD:
        return (
            given,
            OLD_OXFORD,
            f"{plain(given)} is kept as an old total, {plain(form.old_and_new - given)} now",
        )
    if spec.key in PER_CENT:
        raw = form.sum_of_all * (100 - given) / 100
        return raw, None, f"{plain(given)} per cent of the best is {plain(raw)} of {plain(form.sum_of_all)}"
    share = rounded(raw_as_per_cent(form, given), RECORDED_PLACES) or Decimal(0)
    return share, "all items", f"{plain(given)} out of {plain(form.sum_of_all)} is {plain(share)} of 100"


# --- against what was before --------------------------------------------------------------------------------


def beside_record(plan: Plan, rules: Rules, record: CaseRecord, make: Callable[[Draft], Score]) -> None:
    """Refuse a total that does not follow from its answers; say the change from the first score."""
    for draft in plan.drafts:
        entry = make(draft)
        spec = rules.instruments[entry.instrument]
        if differs := disagreement(spec, entry):
            plan.faults["total"] = f"{differs}; empty the total, or put the answers right."
            continue
        view = View.of(added(record, [entry]), rules, entry.on)
        change = latest_change(view, entry.instrument) if isinstance(entry.total, Decimal) else None
        if change is not None:
            plan.then += sentences(change)
            plan.then += [] if change.not_comparable else left_out(view, entry.instrument)[-1:]


def last_of(record: CaseRecord, instrument: str) -> Score | None:
    """The newest score of an instrument: its version and language are proposed again."""
    return next((s for s in reversed(record.scores) if s.instrument == instrument), None)
