"""The page about outcome scores: each total against response, measurement error and the acceptable state."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from armrise.store.record.fields import Absence
from armrise.store.record.words import plain
from armrise.tui.charts.page import DASHES, DOTS, SOLID, Band, Column, Days, Marks, Page, Stroke, steps
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from armrise.store.clinic.case.view import View
    from armrise.store.clinic.series.scores import ScoreSeries
    from armrise.store.record.kinds.measured import Score

TOTAL, APART = "●", "x"
STEPS = (1, 2, 4, 8, 10, 20, 50, 100)
"""Distances that ticks may have."""
ROOM = 12
"""Room above and below what is used of a scale: this part of the whole."""
RESPONSE = {
    "met": "Responded",
    "not met": "Response not reached",
    "unknown": "Response cannot be judged",
}
TABLE = (
    Column("day"),
    Column("total", right=True),
    Column("from first", right=True),
    Column("remark"),
)


def score_page(view: View, instrument: str, *, low_window: bool = False) -> Page:
    """One score over the episode: on its whole scale; in a low window on the part that is used of it."""
    from armrise.store.clinic.series.scores import score_series

    told = score_series(view, instrument)
    totals = [s for s in told.totals if isinstance(s.total, Decimal)]
    apart = [s for s in told.forms if isinstance(s.total, Decimal) and s not in told.totals]
    days = Days.of([s.on for s in (*totals, *apart)], view.today)
    low, high = _scale(told, [*totals, *apart]) if low_window else (float(told.low), float(told.high))
    nothing = f"No total of {instrument} recorded: the form is due at the next visit."
    return Page(
        title=f"{instrument}, {plain(told.low)} to {plain(told.high)}, {told.direction}",
        days=days,
        marks=[
            Marks(*_drawn(totals, days), TOTAL, "total", values=_printed(totals)),
            Marks(*_drawn(apart, days), APART, "not comparable", values=_printed(apart)),
        ],
        strokes=[*_thresholds(told, days), Stroke(*_drawn(totals, days))],
        bands=_error(told),
        low=low,
        high=high,
        # About six on the scale.
        ticks=steps(low, high, next((by for by in STEPS if (high - low) / by <= 6), 500)),
        notes=_notes(told),
        columns=TABLE,
        rows=[_row(s, told, view.today) for s in reversed(told.forms)],
        empty="" if totals or apart else nothing,
    )


def _drawn(scores: list[Score], days: Days) -> tuple[list[float], list[float]]:
    """Where the totals lie, and the totals."""
    drawn = [(days.at(s.on, 0.5), float(s.total)) for s in scores if isinstance(s.total, Decimal)]
    return [x for x, _ in drawn], [y for _, y in drawn]


def _printed(scores: list[Score]) -> list[str]:
    return [plain(s.total) for s in scores if isinstance(s.total, Decimal)]


def _scale(told: ScoreSeries, scores: list[Score]) -> tuple[float, float]:
    """The part of the scale with every total and threshold, and some room."""
    named = (told.acceptable_at, told.response_at, told.detectable_at, told.worse_at)
    used = [float(n) for n in (*named, *(s.total for s in scores)) if isinstance(n, Decimal)]
    room = (float(told.high) - float(told.low)) / ROOM
    least, most = min(used, default=float(told.low)), max(used, default=float(told.high))
    return max(float(told.low), least - room), min(float(told.high), most + room)


def _error(told: ScoreSeries) -> list[Band]:
    """Totals that differ from the first by no more than measurement error."""
    if told.detectable_at is None or told.worse_at is None:
        return []
    low, high = sorted((float(told.detectable_at), float(told.worse_at)))
    return [Band(low, high, "no change beyond measurement error")]


def _thresholds(told: ScoreSeries, days: Days) -> list[Stroke]:
    """Response, beyond error and acceptable toward better, worse by more than error the other way."""
    lines = (
        (told.acceptable_at, SOLID, "acceptable", "muted"),
        (told.response_at, DASHES, "response", "loud"),
        (told.detectable_at, DOTS, "better", "muted"),
        (told.worse_at, DOTS, "worse", "muted"),
    )
    return [
        Stroke([0.0, days.end], [float(at)] * 2, kind, f"{said} {plain(at)}", style=style)
        for at, kind, said, style in lines
        if at is not None
    ]


def _notes(told: ScoreSeries) -> list[str]:
    notes: list[str] = []
    needed = [
        f"{said} from {plain(by)} points"
        for said, by in (("response", told.response), ("beyond measurement error", told.detectable))
        if by is not None
    ]
    if told.toward_better is not None:
        gain = told.toward_better
        way = "better" if gain > 0 else "worse" if gain < 0 else "unchanged"
        points = f"{plain(abs(gain))} points {way}" if gain else way
        notes.append(f"{points} than the first: {'; '.join(needed)}. {RESPONSE[told.responded.value]}.")
    elif needed:
        notes.append(f"One total shows no change yet: {'; '.join(needed)}.")
    if told.first is not None and told.response is not None and told.response_at is None:
        notes.append(
            "The first total is too good for the response to be reached: the acceptable state decides."
        )
    if told.from_memory:
        notes.append(f"From memory: {', '.join(told.from_memory)}.")
    return [*notes, "Score means change in this questionnaire only."]


def _row(score: Score, told: ScoreSeries, today: date) -> list[str]:
    remark = [part for part in (score.version, score.language, score.formula, score.filled_by) if part]
    counted = isinstance(score.total, Decimal) and score in told.totals
    if score.total is None:
        remark.insert(0, "form incomplete, no total")
    elif not counted and not isinstance(score.total, Absence):
        remark.insert(0, "another form, version or language: not comparable")
    total = score.total.value if isinstance(score.total, Absence) else "-"
    total = plain(score.total) if isinstance(score.total, Decimal) else total
    return [words.day(score.on, today), total, _from_first(score, told, counted), ", ".join(remark)]


def _from_first(score: Score, told: ScoreSeries, counted: bool) -> str:
    if not counted or told.first is None or not isinstance(score.total, Decimal):
        return "-"
    if score is told.totals[0]:
        return "first"
    moved = score.total - told.first
    better = (moved < 0) == (told.direction == "lower is better")
    return f"{plain(abs(moved))} {'better' if better else 'worse'}" if moved else "unchanged"
