"""The range of one measure or score, which is narrower than what its field may hold in general."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from armrise.store.record.kinds.measured import Measure, Score, Target
from armrise.store.record.light import NamedTuple
from armrise.store.rules.pathway import Rules

GRADE = "grade 0-5"
OLD_OXFORD = "old 12-60"


class Range(NamedTuple):
    """From ``low`` to ``high``, both allowed; ``what`` names whose range it is."""

    low: Decimal
    high: Decimal
    what: str

    def refusal(self, value: str) -> str:
        """Why ``value`` is refused."""
        return f"{value} is out of range, allowed for {self.what} is {self.low} to {self.high}"


def measure_range(rules: Rules, name: str, unit: str | None) -> Range | None:
    """The range of a measure in its own unit, or None for one the rule files do not know."""
    spec = rules.measures.get(name)
    if unit == GRADE:
        return Range(Decimal(0), Decimal(5), f"{name} in grades")
    return Range(spec.low, spec.high, name) if spec else None


def score_range(rules: Rules, instrument: str, formula: str | None) -> Range | None:
    """The range of a questionnaire's total, or None for one the rule files do not know."""
    if formula == OLD_OXFORD:
        return Range(Decimal(12), Decimal(60), f"{instrument} by the old formula")
    spec = rules.instruments.get(instrument)
    return Range(spec.low, spec.high, instrument) if spec else None


def own_ranges(rules: Rules | None, kind: str, raw: Mapping[str, Any]) -> dict[str, Range]:
    """The range of each field of a raw entry that has one of its own, as far as the entry names it."""
    if rules is None:
        return {}
    named, second = (_word(raw.get(key)) for key in _NAMED_BY.get(kind, ("", "")))
    found = None
    if kind == Score.KIND:
        found = score_range(rules, named, second)
    elif kind in (Measure.KIND, Target.KIND):
        found = measure_range(rules, named, second)
    return {"total" if kind == Score.KIND else "value": found} if found else {}


_NAMED_BY = {
    Measure.KIND: ("name", "unit"),
    Target.KIND: ("measure", ""),
    Score.KIND: ("instrument", "formula"),
}
"""The fields that say which range holds."""


def _word(value: Any) -> str:
    return value if isinstance(value, str) else ""
