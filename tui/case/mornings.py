"""Pain on the last fourteen mornings: a line of numbers, or a chart with the limit where there is room."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from armrise.store.record.words import month_day
from armrise.tui.widgets.rows import Line, Span
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing

TITLE = "pain on the last {} mornings"
SCALE, CELL = 3, 2
"""Columns of the numbers at the left, and of a morning."""
LEAST_TOP = 5
LIMIT = "limit"
WIDTH = SCALE + 14 * CELL + 1 + len(LIMIT)
"""Columns of the chart."""


def told(s: Standing) -> bool:
    """Whether pain on any of the mornings is known."""
    return any(score is not None for score in s.trend)


def in_numbers(s: Standing) -> str:
    """The mornings up to today as numbers; a gap is a morning without a score."""
    if not told(s):
        return f"no morning told in the last {len(s.trend)} days"
    scores = " ".join(words.GAP if score is None else str(score) for score in s.trend)
    return f"last {len(s.trend)} mornings  {scores}"


def chart(s: Standing, limit: int | None, *, ascii_only: bool = False) -> list[Line]:
    """The mornings over their days, a row a point of pain; ``limit`` is the most allowed, drawn as a line."""
    known = [score for score in s.trend if score is not None]
    top = max(LEAST_TOP, *known, *([] if limit is None else [limit]))
    lines: list[Line] = [[Span(TITLE.format(len(s.trend)), "head")]]
    point = "*" if ascii_only else "●"
    lines += [_row(s, level, limit, point) for level in range(top, -1, -1)]
    first, last = month_day(s.as_of - timedelta(days=len(s.trend) - 1)), month_day(s.as_of)
    room = len(s.trend) * CELL - len(first)
    return [*lines, [Span(f"{'':{SCALE}}{first}{last:>{room}}", "muted")]]


def _row(s: Standing, level: int, limit: int | None, point: str) -> Line:
    """One level of pain: its number, the mornings that reached it, and the limit where it lies."""
    limited = level == limit
    line = [Span(f"{level:>{SCALE - 1}} ", "muted")]
    for score in s.trend:
        mark = point if score == level else "-" if limited else " "
        line.append(Span(f"{mark:>{CELL}}", "strong" if score == level else "muted"))
    return [*line, Span(f" {LIMIT}" if limited else "", "muted")]
