"""The criteria of the next step as a table: state, what, now, needs, seen; what is missing stands first."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from textwrap import wrap
from typing import TYPE_CHECKING

from armrise.store.record.light import NamedTuple
from armrise.tui.widgets.rows import Line, Span
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import CriterionResult, Standing

SIGNS = {"not met": "x", "unknown": "?", "met": "+"}
"""Before the word of the state, the same in every terminal; what is missing comes first."""
STATE, GAP = 9, 2
INSET = 2
"""Columns by which a part stands inside the criterion it is a part of."""
SEEN_ABOVE = "see why"
OF_OTHER_SIDE = " of the other side"
LEAST_WHAT, LEAST_NOW, LEAST_NEEDS = 16, 8, 6


class Cells(NamedTuple):
    """One row of the table in words."""

    state: str
    missing: bool
    inset: int
    what: str
    now: str
    needs: str
    seen: str


class Widths(NamedTuple):
    """Columns right of the state."""

    what: int
    now: int
    needs: int
    seen: int


def missing_first(s: Standing) -> list[CriterionResult]:
    """What stands in the way and the criteria: not met, then unknown, then met, else in their order."""
    order = list(SIGNS)
    return sorted((*s.verdict.blocks, *s.verdict.criteria), key=lambda result: order.index(str(result.state)))


def table(
    s: Standing, results: Sequence[CriterionResult], width: int, title: Span
) -> tuple[Line, list[list[Line]]]:
    """The heads of the columns after ``title``, and the lines of each criterion, within ``width`` cells."""
    rows = [_cells(result, s, 0) for result in results]
    wide = _widths(tuple(cells for row in rows for cells in row), width)
    heads = zip(("now", "needs", "seen"), wide[1:], strict=True)
    named = [words.fit(text, room + GAP) for text, room in heads]
    room = STATE + GAP + wide.what + GAP
    head = [Span(words.fit(title.text, room), title.style), Span("".join(named), "muted")]
    return head, [[line for cells in row for line in _lines(cells, wide)] for row in rows]


def _cells(result: CriterionResult, s: Standing, inset: int) -> list[Cells]:
    """The row of a criterion, and while it is missing those of its parts, if anything is known of one."""
    state = str(result.state)
    parts = result.parts if state != "met" else ()
    absent = _absent(parts, s)
    cells = Cells(
        f"{SIGNS[state]} {state}",
        state != "met",
        inset,
        result.text if parts else result.what or result.text,
        absent if parts else _now(result, s),
        _needs(result, s),
        "" if parts else _seen(result, s),
    )
    shown = () if absent else parts
    return [cells, *(cell for part in shown for cell in _cells(part, s, inset + INSET))]


def _absent(parts: Sequence[CriterionResult], s: Standing) -> str:
    """What is said of parts of which nothing is on record yet, each thing once; empty when something is."""
    if any(part.parts or part.observed_on or part.opens_on for part in parts):
        return ""
    return "; ".join(dict.fromkeys(_now(part, s) for part in parts))


def _now(result: CriterionResult, s: Standing) -> str:
    """What was observed in the fewest words; what the top reason or the row has said is not said again."""
    top = s.placing
    if top is not None and result.observed == top.sentence:
        return SEEN_ABOVE
    now = result.now or result.observed or "nothing recorded"
    number, _, counted = now.partition(" ")  # its name stands at the head of the row
    return number if counted and (result.what or result.text).startswith(counted) else now


def _needs(result: CriterionResult, s: Standing) -> str:
    """What is asked for, and the day on which time alone brings it; figures from memory say so.

    What a day is counted from is left to the head of the case.
    """
    from armrise.store.rules.figure import mark

    needs = result.needed.partition(" (")[0].replace(OF_OTHER_SIDE, "")
    needs = needs.removeprefix(f"{result.what or result.text}: ")  # its name stands at the head of the row
    if any(_is_row_of(limit, result) for limit in s.limits):
        needs = needs.partition(" after ")[0]
    needs = f"{needs}, {words.day(result.opens_on, s.as_of)}" if result.opens_on else needs
    return needs + mark(result.status) if str(result.state) != "met" else needs


def stands_in_table(limit: str, s: Standing) -> bool:
    """Whether a limit says when the next stage opens, and a missing row of the table says it too."""
    return any(_is_row_of(limit, result) for result in missing_first(s) if str(result.state) != "met")


def _is_row_of(limit: str, result: CriterionResult) -> bool:
    named = result.what or result.text
    return result.opens_on is not None and limit.startswith(named) and f"({result.needed})" in limit


def _seen(result: CriterionResult, s: Standing) -> str:
    """How old what was observed is; days that are counted up to today have no age."""
    if result.observed_on is None or result.opens_on is not None:
        return ""
    return words.ago((s.as_of - result.observed_on).days, short=True)


@lru_cache(maxsize=64)
def _widths(rows: tuple[Cells, ...], width: int) -> Widths:
    """The columns by which what is missing takes the fewest lines, then by which all does.

    Worked out once for the same rows: what the whole record adds to a page leaves its table as it is.
    """
    seen = max([len("seen"), *(len(c.seen) for c in rows)])
    left = width - STATE - seen - 4 * GAP
    ways = (
        Widths(left - now - needs, now, needs, seen)
        for now in range(LEAST_NOW, left // 2, 2)
        for needs in range(LEAST_NEEDS, left // 2, 2)
        if left - now - needs >= LEAST_WHAT
    )

    def lines(way: Widths) -> tuple[int, int, int]:
        heights = [(c.missing, _heights(c, way)) for c in rows]
        return (
            sum(max(high) for missing, high in heights if missing),
            sum(max(high) for _, high in heights),
            sum(sum(high) for _, high in heights),
        )

    return min(ways, key=lines, default=Widths(LEAST_WHAT, LEAST_NOW, LEAST_NEEDS, seen))


def _heights(cells: Cells, wide: Widths) -> list[int]:
    """How many lines each cell of a row takes."""
    what, now, needs, _ = _rooms(cells, wide)
    told = ((cells.what, what - cells.inset), (cells.now, now), (cells.needs, needs))
    return [len(_wrapped(text, room)) for text, room in told if room]


@lru_cache(maxsize=4096)
def _wrapped(text: str, width: int) -> list[str]:
    """The lines of a cell; asked for again and again while columns are tried."""
    return wrap(text, width)


def _lines(cells: Cells, wide: Widths) -> list[Line]:
    """One row, its cells wrapped beside each other; an empty cell leaves its room to the one before."""
    what, now, needs, seen = _rooms(cells, wide)
    style = "strong" if cells.missing and not cells.inset else ""
    named = [" " * cells.inset + part for part in _wrapped(cells.what, what - cells.inset)]
    columns = (
        ([cells.state], STATE, style),
        (named, what, style),
        (_wrapped(cells.now, now) if now else [], now, ""),
        (_wrapped(cells.needs, needs) if needs else [], needs, ""),
        ([cells.seen], seen, "muted"),
    )
    return [
        [
            Span(words.fit(texts[n] if n < len(texts) else "", room + GAP), ink)
            for texts, room, ink in columns
            if room
        ]
        for n in range(max(len(texts) for texts, _, _ in columns))
    ]


def _rooms(cells: Cells, wide: Widths) -> Widths:
    """The columns of one row: what is empty at its end is given to the cell before."""
    whole = sum(wide) + 3 * GAP
    if not cells.now:
        return Widths(whole, 0, 0, 0)
    if not cells.needs and not cells.seen:
        asked = len(cells.what) + cells.inset
        what = asked if wide.what < asked <= whole - GAP - len(cells.now) else wide.what
        return Widths(what, whole - GAP - what, 0, 0)
    if not cells.seen:
        return Widths(wide.what, wide.now, wide.needs + GAP + wide.seen, 0)
    return wide
