"""Outcome scores from numbered answers: which total follows, from how many answers, or why there is none.

Answers are given by the number of their item on the licensed form; no wording is kept anywhere. A blank is
None and never 0. How many blanks a total survives is a figure of the rule file, with its source beside it:

    each family has its arithmetic in a module of its own
    :mod:`.percent`   SPADI, DASH, QuickDASH and their modules, ASES
    :mod:`.sums`  Oxford scores, WOSI, WORC, means (pain, patient-specific function)
    :mod:`.constant_murley`  Constant-Murley points from what was measured
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import ROUND_HALF_UP, Decimal

from armrise.store.clinic.scores import percent as scoring_percent
from armrise.store.clinic.scores import sums as scoring_sums
from armrise.store.clinic.scores.scale import direction
from armrise.store.record.kinds.measured import Score
from armrise.store.record.light import NamedTuple, dataclass
from armrise.store.record.words import plain
from armrise.store.rules.figure import MEMORY, Figure
from armrise.store.rules.measure import InstrumentSpec
from armrise.store.rules.questionnaire import OLD_OXFORD, Answer, Filled, Form, ScoringError, filled_in

RECORDED_PLACES = 2
"""Decimals of a total as a record holds it."""

Total = Callable[[Form, list[Filled], str | None], Decimal]

TOTALS: dict[str, Total] = {
    "SPADI": scoring_percent.spadi,
    "DASH": scoring_percent.whole_form,
    "QuickDASH": scoring_percent.whole_form,
    "DASH work module": scoring_percent.whole_form,
    "DASH sport or music module": scoring_percent.whole_form,
    "QuickDASH work module": scoring_percent.whole_form,
    "QuickDASH sport or music module": scoring_percent.whole_form,
    "ASES": scoring_percent.halves,
    "OSS": scoring_sums.sum_with_means,
    "OSIS": scoring_sums.sum_with_means,
    "Constant-Murley": scoring_sums.plain_sum,
    "WOSI": scoring_sums.plain_sum,
    "WORC": scoring_sums.plain_sum,
    "SANE": scoring_sums.plain_sum,
    "GROC": scoring_sums.plain_sum,
    "NRS": scoring_sums.mean,
    "PSFS": scoring_sums.mean,
}
"""The arithmetic of every instrument whose rule file states a form."""


class PartScore(NamedTuple):
    """One part of a form: answers given, items asked, their sum, and their place from 0 to 100."""

    name: str
    answered: int
    asked: int
    sum: Decimal
    per_cent: Decimal | None

    @classmethod
    def of(cls, filled: Filled) -> PartScore:
        """The part as it was filled in; nothing answered has no place."""
        count = len(filled.answered)
        share = filled.per_cent if count else None
        return cls(filled.part.name, count, len(filled.values), filled.sum, share)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scored:
    """What follows from the answers of one form. ``total`` is unrounded, None when there is none.

    ``formula`` names the total where several are in circulation. ``direction`` is printed beside the total.
    ``rule`` is the figure for blanks with its source and status.
    """

    instrument: str
    formula: str | None
    total: Decimal | None
    shown: Decimal | None
    """The total rounded for the screen, halves up."""
    recorded: Decimal | None
    """The total as the record holds it: two decimals, halves up."""
    answered: int
    asked: int
    missing: tuple[int, ...]
    why_none: str
    note: str
    """What to know of a total that rests on blanks, or on a form known from memory; empty otherwise."""
    parts: tuple[PartScore, ...]
    direction: str
    rule: Figure


def score(spec: InstrumentSpec, answers: Sequence[Answer], formula: str | None = None) -> Scored:
    """The total of ``answers`` (item 1 first, None for a blank) on the form of ``spec``.

    ``formula`` of None takes the usual one. Raises :class:`ScoringError` with one sentence when the form is
    not known, the formula is none of its own, or an answer cannot be given on it.
    """
    form = known_form(spec)
    if formula is not None and formula not in form.formulas:
        offered = ", ".join(form.formulas) or "none"
        raise ScoringError(f"{spec.key} by {formula!r}: allowed is {offered}.")
    formula = form.formula(formula)
    laid = filled_in(spec.key, form, answers, old=formula == OLD_OXFORD)
    missing = tuple(number for filled in laid for number in filled.missing)
    why_none = _why_none(form, laid)
    total = None if why_none else TOTALS[spec.key](form, laid, formula)
    return Scored(
        instrument=spec.key,
        formula=formula,
        total=total,
        shown=rounded(total, form.shown_places),
        recorded=rounded(total, RECORDED_PLACES),
        answered=len(answers) - len(missing),
        asked=len(answers),
        missing=missing,
        why_none=why_none,
        note="" if why_none else _notes(form, missing),
        parts=tuple(PartScore.of(filled) for filled in laid if filled.values),
        direction=direction(spec, formula),
        rule=form.missing,
    )


def known_form(spec: InstrumentSpec) -> Form:
    """The form of ``spec``; refuses an instrument of which only totals are taken."""
    if spec.form is None:
        raise ScoringError(f"{spec.key} has no item scoring here: enter the total of the licensed form.")
    return spec.form


def answer_range(
    spec: InstrumentSpec, number: int, formula: str | None = None
) -> tuple[Decimal, Decimal, int]:
    """(least, most, decimals) of the answer to item ``number``; an item the form lacks is refused."""
    form = known_form(spec)
    shift = 1 if formula == OLD_OXFORD else 0
    last = 0
    for part in form.parts:
        last += part.items
        if 1 <= number <= last:
            return part.low + shift, part.high + shift, form.places
    raise ScoringError(f"{spec.key} has no item {number}, allowed is 1 to {form.count}.")


def rounded(value: Decimal | None, places: int) -> Decimal | None:
    """``value`` to so many decimals, halves up; None stays None."""
    if value is None:
        return None
    return value.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)


def from_record(spec: InstrumentSpec, recorded: Score) -> Scored | None:
    """The recorded answers scored again; None when no answers were recorded or no form is known."""
    if spec.form is None or not recorded.items:
        return None
    return score(spec, recorded.items, recorded.formula)


def disagreement(spec: InstrumentSpec, recorded: Score) -> str:
    """Words for a recorded total that does not follow from the recorded answers; empty when it does."""
    try:
        scored = from_record(spec, recorded)
    except ScoringError as error:  # a file may hold answers that no such form has
        return f"the answers recorded do not fit the form: {error}"
    if scored is None or not isinstance(recorded.total, Decimal):
        return ""
    if scored.total is None:
        return f"total {plain(recorded.total)} recorded, but the answers give none: {scored.why_none}"
    places = max(0, -int(recorded.total.as_tuple().exponent))
    if recorded.total == rounded(scored.total, min(places, RECORDED_PLACES)):
        return ""
    by = f" by {scored.formula}" if scored.formula else ""
    given = plain(scored.shown or scored.total)
    return f"total {plain(recorded.total)} recorded, the answers give {given}{by}"


def _why_none(form: Form, laid: list[Filled]) -> str:
    """Why these answers give no total; empty when they do."""
    if not any(filled.answered for filled in laid):
        return "nothing answered"
    most = form.missing.whole
    if form.missing_in == "each part":
        for filled in laid:
            if len(filled.missing) > most:
                return f"{_blank(filled.missing)} in {filled.part.name}, {_allowed(most)}{form.missing.mark}"
        return ""
    missing = tuple(number for filled in laid for number in filled.missing)
    if len(missing) <= most:
        return ""
    names = [filled.part.name for filled in laid if filled.missing and filled.part.items == 1]
    named = f" ({', '.join(names)})" if names else ""
    return f"{_blank(missing)}{named}, {_allowed(most)}{form.missing.mark}"


def _blank(missing: Sequence[int]) -> str:
    numbers = ", ".join(str(number) for number in missing)
    return f"{'item' if len(missing) == 1 else 'items'} {numbers} blank"


def _allowed(most: int) -> str:
    return "every item is needed" if most == 0 else f"at most {most} may be"


def _notes(form: Form, missing: Sequence[int]) -> str:
    allowed = f"{_allowed(form.missing.whole)} ({form.missing.status})"
    notes = [_blank(missing), allowed] if missing else []
    return "; ".join([*notes, f"how it is scored is {MEMORY}"] if form.status == MEMORY else notes)
