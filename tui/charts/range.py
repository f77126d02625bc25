"""The pages about range and strength: both sides, with the error of the raters involved."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from armrise.store.record.fields import Absence
from armrise.store.record.words import plain
from armrise.tui.charts.page import DASHES, DOTS, SOLID, Band, Column, Days, Marks, Page, Stroke, steps
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from armrise.store.clinic.case.view import View
    from armrise.store.clinic.series.series import ErrorBand, RangeSeries, StrengthPoint, StrengthSeries
    from armrise.store.record.kinds.measured import Measure

HERE, OTHER, PERCENT = "●", "○", "●"
RANGE_TABLE = (
    Column("day"),
    Column("side"),
    Column("degrees", right=True),
    Column("rater"),
    Column("how"),
)
STRENGTH_TABLE = (
    Column("day"),
    Column("value", right=True),
    Column("of other side", right=True),
    Column("error", right=True),
    Column("rater"),
    Column("how"),
)
LEAST_SPAN, LEAST_SPAN_LOW = 60, 20
"""Degrees shown at least, so that a small change does not look like a large one; fewer in a low window,
where values beyond one another's error would else share a row."""


def range_page(view: View, name: str, *, low_window: bool = False) -> Page:
    """One movement over the whole record, both sides; in a low window the axis follows the values closely."""
    from armrise.store.clinic.series.series import range_series

    told = range_series(view, name)
    here, other = _real(told.entries), _real(told.others)
    days = Days.of([m.on for m in (*here, *other)], view.today)
    least = LEAST_SPAN_LOW if low_window else LEAST_SPAN
    low, high = _room(_drawn([*here, *other], days)[1], told.errors, least)
    side = view.record.side
    name_other = f"{view.record.other_side}, other side" + ("" if told.reference else " (no reference)")
    return Page(
        title=f"{told.label.capitalize()}, degrees, higher is better",
        days=days,
        marks=[
            Marks(*_drawn(other, days), OTHER, name_other, values=_printed(other)),
            Marks(*_drawn(here, days), HERE, f"{side}, affected", values=_printed(here)),
        ],
        strokes=[*_error_lines(told.errors, days), Stroke(*_drawn(here, days))],
        bands=[Band(e.best - e.watch, e.best, f"measurement error of {e.raters}") for e in told.errors[:1]],
        low=low,
        high=high,
        ticks=steps(low, high, 5 if high - low <= 30 else 10 if high - low <= 80 else 20),
        notes=_notes(told, view.today),
        columns=RANGE_TABLE,
        rows=_rows(view, told),
        empty="" if here or other else _nothing(told),
    )


def _nothing(told: RangeSeries) -> str:
    if told.entries or told.others:
        return (
            f"No measured value of {told.label}: T shows what is recorded. Measure it anew, both sides once."
        )
    return f"Never measured: {told.label}. Record it with both sides once."


def _real(entries: Sequence[Measure]) -> list[Measure]:
    """Measured values: no absence and no repeated value is drawn."""
    return [m for m in entries if not isinstance(m.value, Absence) and not m.repeated]


def _drawn(measures: Sequence[Measure], days: Days) -> tuple[list[float], list[float]]:
    """Where the measured values lie, and the values."""
    drawn = [(days.at(m.on, 0.5), float(m.value)) for m in measures if not isinstance(m.value, Absence)]
    return [x for x, _ in drawn], [y for _, y in drawn]


def _printed(measures: Sequence[Measure]) -> list[str]:
    return [_value(m) for m in measures]


def _room(values: Sequence[float], errors: Sequence[ErrorBand], least: int) -> tuple[float, float]:
    """The degrees shown: every value and every line of the error, and some room."""
    every = [*values, *(float(e.best - e.act) for e in errors)] or [0.0, 90.0]
    low, high = min(every) - 3, max(every) + 3
    short = max(0.0, least - (high - low))
    return max(-30.0, low - short / 2), high + short / 2


def _error_lines(errors: Sequence[ErrorBand], days: Days) -> list[Stroke]:
    """Best, watch level and act level for each way of measuring, named at their right ends."""
    found: list[Stroke] = []
    ends = [0.0, days.end]
    for error in errors:
        by = f", {error.raters.removeprefix('same rater ')}" if len(errors) > 1 else ""
        for level, kind, said, style in (
            (error.best, SOLID, f"best {error.best}", "muted"),
            (error.best - error.watch, DASHES, f"watch from {error.best - error.watch}", "muted"),
            (error.best - error.act, DOTS, f"act from {error.best - error.act}", "loud"),
        ):
            found.append(Stroke(ends, [level] * 2, kind, said + by, style=style))
    return found


def _notes(told: RangeSeries, today: date) -> list[str]:
    notes = [told.warning] if told.warning else []
    if told.loss is not None and not told.warning:
        now = told.loss.at
        lost = " and ".join(f"{e.loss} below the best by {e.raters}" for e in told.errors if e.loss)
        judged = f"{lost}: {_judged(told)}" if lost else "the best so far"
        notes.append(f"{words.day(now.on, today)}: {_value(now)}, {judged}.")
    for error in told.errors:
        notes.append(
            f"{error.raters[0].upper()}{error.raters[1:]}: a loss counts from {error.watch} degrees (watch)"
            f" and {error.act} (act); less is measurement error."
        )
    repeated = sum(m.repeated for m in told.entries)
    if repeated:
        notes.append(f"{words.plural(repeated, 'repeated value')} not drawn: repeated, not measured.")
    return notes


def _judged(told: RangeSeries) -> str:
    assert told.loss is not None
    if told.loss.act:
        return "beyond measurement error, at act level: confirm it a week apart"
    return "at watch level: measure again" if told.loss.watch else "within measurement error"


def _rows(view: View, told: RangeSeries) -> list[list[str]]:
    """Newest first, the affected side before the other of the same day."""
    entries = [(m, view.record.side) for m in told.entries]
    entries += [(m, view.record.other_side) for m in told.others]
    entries.sort(key=lambda pair: (pair[0].on, pair[1] == view.record.side, pair[0].id), reverse=True)
    return [
        [words.day(m.on, view.today), side, _value(m), m.rater or "unknown", _how(m)] for m, side in entries
    ]


def _value(m: Measure) -> str:
    return m.value.value if isinstance(m.value, Absence) else plain(m.value)


def _how(m: Measure) -> str:
    parts = ["repeated, not measured"] if m.repeated else []
    parts += [part for part in (m.method, m.position) if part]
    parts += [f"limited by {m.limited_by}"] if m.limited_by else []
    return ", ".join([*parts, *(["confirmed as measured"] if m.confirmed else [])])


# strength


def strength_page(view: View, name: str) -> Page:
    """One strength test as per cent of the other side, each value with its error."""
    from armrise.store.clinic.series.series import strength_series

    told = strength_series(view, name)
    shown = [p for p in told.points if p.percent is not None]
    days = Days.of([p.entry.on for p in shown], view.today)
    values = [float(p.percent or 0) for p in shown]
    high = max([110.0, *(v * (100 + p.error) / 100 for v, p in zip(values, shown, strict=True))])
    xs = [days.at(p.entry.on, 0.5) for p in shown]
    return Page(
        title=f"{told.label.capitalize()}, per cent of the other side, higher is better",
        days=days,
        marks=[
            Marks(
                xs, values, PERCENT, f"{view.record.side}, affected", values=[f"{int(v)} %" for v in values]
            )
        ],
        strokes=[
            *(_error_bar(x, v, p) for x, v, p in zip(xs, values, shown, strict=True)),
            Stroke([0.0, days.end], [100.0] * 2, DASHES, "other side, 100 %", style="muted"),
        ],
        low=0,
        high=high,
        ticks=steps(0, high, 20),
        notes=_strength_notes(told),
        columns=STRENGTH_TABLE,
        rows=[_strength_row(p, view.today) for p in reversed(told.points)],
        empty="" if shown else _no_strength(told),
    )


def _error_bar(x: float, value: float, point: StrengthPoint) -> Stroke:
    reach = value * point.error / 100
    return Stroke([x, x], [value - reach, value + reach], words="measurement error")


def _no_strength(told: StrengthSeries) -> str:
    if not told.points:
        return f"Never measured: {told.label}. Record it with both sides, unless testing is prohibited."
    if not told.reference:
        return "The other side is no reference: no per cent can be given; T shows the values."
    return f"Nothing can be compared yet: record {told.label} of the other side; T shows the values."


def _strength_notes(told: StrengthSeries) -> list[str]:
    """The newest change against the error of the raters involved."""
    known = [(p.percent, p) for p in told.points if p.percent is not None]
    notes = [f"Other side {_with_unit(told.other)}." if told.other else "Other side not measured in kg."]
    if len(known) > 1:
        (before, _), (now, point) = known[-2:]
        where = "within" if abs(now - before) * 100 < point.error * before else "beyond"
        notes.append(
            f"{int(before)} to {int(now)} per cent: {where} measurement error"
            f" ({point.raters}: {point.error} per cent of the value before)."
        )
    return notes


UNITS = {"percent of other side": "%", "grade 0-5": "of 5"}


def _with_unit(m: Measure) -> str:
    """A test with its unit; an absence as its word."""
    return _value(m) if isinstance(m.value, Absence) else f"{_value(m)} {UNITS.get(m.unit or '', 'kg')}"


def _strength_row(p: StrengthPoint, today: date) -> list[str]:
    share = "-" if p.percent is None else f"{int(p.percent)} %"
    error = "-" if p.percent is None else f"+/- {p.error} %"
    when = words.day(p.entry.on, today)
    return [when, _with_unit(p.entry), share, error, p.entry.rater or "unknown", _how(p.entry)]
