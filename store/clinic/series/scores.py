"""Outcome scores over time, with the change that counts as response and the one beyond measurement error."""

from __future__ import annotations

from decimal import Decimal

from armrise.store.clinic.case.standing import Truth
from armrise.store.clinic.case.view import View
from armrise.store.clinic.scores import outcome
from armrise.store.clinic.scores.scale import direction
from armrise.store.record.kinds.measured import Score
from armrise.store.record.light import dataclass
from armrise.store.record.words import plain
from armrise.store.rules.measure import InstrumentSpec


@dataclass(frozen=True, slots=True)
class ScoreSeries:
    """One score: every form, those comparable with the newest, and the totals that would count.

    ``response_at`` and ``detectable_at`` lie toward better, ``worse_at`` is the detectable change toward
    worse; each None where no figure is known or it lies outside the scale.
    """

    instrument: str
    direction: str
    low: Decimal
    high: Decimal
    forms: tuple[Score, ...]
    totals: tuple[Score, ...]
    first: Decimal | None
    response: Decimal | None
    detectable: Decimal | None
    response_at: Decimal | None
    detectable_at: Decimal | None
    worse_at: Decimal | None
    acceptable_at: Decimal | None
    toward_better: Decimal | None
    responded: Truth
    from_memory: tuple[str, ...] = ()
    """Which of the numbers it is judged by are from memory."""


def instruments(view: View) -> list[str]:
    """The judged scores on record, the pathway's own first; that one alone where none is."""
    own = view.pathway.score if view.pathway else ""
    recorded = {s.instrument for s in view.upto("scores")}
    rest = [spec.key for spec in outcome.judged_instruments(view) if spec.key in recorded and spec.key != own]
    return [*([own] if own in recorded or (own and not rest) else []), *rest]


def score_series(view: View, instrument: str) -> ScoreSeries:
    """One outcome score over the episode."""
    spec = view.instruments[instrument]
    totals = outcome.totals(view, instrument)
    moved = outcome.change(view, instrument)
    first = totals[0].total if totals and isinstance(totals[0].total, Decimal) else None
    response = spec.response.value if spec.response else None
    detectable = spec.detectable.value if spec.detectable else None
    figures = (
        ("response", spec.response),
        ("measurement error", spec.detectable),
        ("acceptable state", spec.acceptable),
    )
    return ScoreSeries(
        instrument=instrument,
        direction=direction(spec),
        low=spec.low,
        high=spec.high,
        forms=tuple(s for s in view.since("scores", view.segment_start) if s.instrument == instrument),
        totals=tuple(totals),
        first=first,
        response=response,
        detectable=detectable,
        response_at=_moved(spec, first, response),
        detectable_at=_moved(spec, first, detectable),
        worse_at=_moved(spec, first, -detectable if detectable is not None else None),
        acceptable_at=spec.acceptable.value if spec.acceptable else None,
        toward_better=moved.toward_better if moved else None,
        responded=outcome.score_response(view, spec),
        from_memory=tuple(f"{name} {plain(f.value)}" for name, f in figures if f and f.mark),
    )


def _moved(spec: InstrumentSpec, first: Decimal | None, by: Decimal | None) -> Decimal | None:
    """The total ``by`` points toward better from the first; None beyond the ends of the scale."""
    if first is None or by is None:
        return None
    total = first - by if spec.lower_is_better else first + by
    return total if spec.low <= total <= spec.high else None
