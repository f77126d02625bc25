"""What the rule files say of a measure and of an outcome score."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from armrise.store.record.light import dataclass
from armrise.store.rules.declared import MOST_DAYS, Amount, Count, Text, Yes, may, must
from armrise.store.rules.figure import Figure
from armrise.store.rules.questionnaire import Form


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureSpec:
    """What is known about a measure: words, unit, range, when a value goes stale."""

    key: str
    label: str = must(Text(60))
    unit: str = must(Text(30))
    low: Decimal
    high: Decimal
    lower_is_better: bool = must(Yes())
    question: bool = must(Yes())
    """True when asking suffices; False when it has to be measured."""
    stale_days: Figure = must(Amount("days", (1, MOST_DAYS)), "stale after", key="stale")
    stale_extra: int | None = may(Count(0, MOST_DAYS), "or after the review interval and days")
    """The longer of the two counts. None in files that state days alone."""
    stale_cap: int | None = may(Count(1, MOST_DAYS), "but never later than days")


@dataclass(frozen=True, slots=True, kw_only=True)
class InstrumentSpec:
    """An outcome score: range, direction and the figures a change is judged by."""

    key: str
    low: Decimal
    high: Decimal
    lower_is_better: bool
    response: Figure | None
    detectable: Figure | None
    acceptable: Figure | None
    stale_days: Figure
    region: bool = False
    detectable_single: Figure | None = None
    """The detectable change of a mean that rests on a single rating."""
    form: Form | None = None
    """Its numbered items; None where only totals are taken."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScoreFigures:
    """Figures of one score in one pathway, in place of those of the score."""

    instrument: str
    response: Figure | None = None
    detectable: Figure | None = None
    acceptable: Figure | None = None


def with_own(spec: InstrumentSpec, own: ScoreFigures) -> InstrumentSpec:
    """An outcome score with the figures that one pathway has of its own for it."""
    return replace(
        spec,
        response=own.response or spec.response,
        detectable=own.detectable or spec.detectable,
        acceptable=own.acceptable or spec.acceptable,
    )
