"""What is drawn of a page of the charts, cell by cell."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise

import pytest

from armrise.tui.charts.drawing import BITS, BRAILLE, LEFT, dots, lines
from armrise.tui.charts.page import DASHES, DOTS, SOLID, Band, Days, Marks, Page, Stroke, steps
from armrise.tui.charts.texts import Room

TODAY = date(2026, 3, 2)
DAYS = Days(TODAY - timedelta(days=20), TODAY)
WIDE, HIGH = 80, 13
ROWS = HIGH - 2
PAIN = steps(0, 10, 2)


def page(**named: object) -> Page:
    return Page("Pain", DAYS, ticks=PAIN, **named)  # pyright: ignore[reportArgumentType]


def drawn(of: Page, width: int = WIDE, height: int = HIGH) -> list[str]:
    return ["".join(span.text for span in line) for line in lines(of, width, height)]


def inside(of: Page) -> list[str]:
    """The rows of the chart itself."""
    return [row[LEFT + 1 :] for row in drawn(of)[:ROWS]]


def fine(rows: Sequence[str]) -> set[tuple[int, int]]:
    """The fine dots of braille letters, by the table of the Unicode standard (chapter 21, Braille Patterns).

    Dots 1, 2, 3 and 7 are the left column from the top, 4, 5, 6 and 8 the right one; dot n is bit n - 1.
    """
    places = {1: (0, 0), 2: (0, 1), 3: (0, 2), 7: (0, 3), 4: (1, 0), 5: (1, 1), 6: (1, 2), 8: (1, 3)}
    return {
        (column * 2 + across, row * 4 + down)
        for row, text in enumerate(rows)
        for column, char in enumerate(text)
        if 0 <= ord(char) - BRAILLE < 256
        for number, (across, down) in places.items()
        if ord(char) - BRAILLE >> number - 1 & 1
    }


def test_the_bits_of_a_cell_are_those_of_the_standard() -> None:
    assert sorted(bit for column in BITS for bit in column) == [1 << n for n in range(8)]


def test_every_number_stands_in_the_row_of_its_value_and_every_date_under_its_day() -> None:
    marks = Marks([1.0] * 11, list(range(11)), "●", "")
    rows = drawn(page(marks=[marks]), height=14)
    assert [row[:LEFT].strip() for row in rows[:12] if row[:LEFT].strip()] == ["10", "8", "6", "4", "2", "0"]
    by_row = {int(row[:LEFT]): row for row in rows[:12] if row[:LEFT].strip()}
    assert all("●" in row and row[LEFT] == "┤" for row in by_row.values())
    axis, dates = rows[-2:]
    assert axis.startswith(" " * LEFT + "└")
    for at, words in DAYS.ticks(WIDE - LEFT - 2):
        place = LEFT + 1 + Room(page(), WIDE - LEFT - 2, ROWS).column(at)
        assert axis[place] == "┬"
        assert dates[place - len(words) // 2 :].startswith(words)


@pytest.mark.parametrize("value", range(10))
def test_a_score_at_its_limit_stands_on_the_line(value: int) -> None:
    """Not above it, where it would read as over the limit."""
    line = Stroke([0, DAYS.end], [value, value])
    rows = inside(page(strokes=[line], marks=[Marks([10], [value], "●", "")]))
    (marked,) = (n for n, row in enumerate(rows) if "●" in row)
    found = {row for _, row in fine(rows)}
    assert len(found) == 1
    assert found <= {marked * 4 + 1, marked * 4 + 2}


@pytest.mark.parametrize(("kind", "on", "off"), [(SOLID, 1, 0), (DASHES, 6, 4), (DOTS, 1, 3)])
def test_each_kind_of_line_has_its_own_pattern_at_any_width(kind: str, on: int, off: int) -> None:
    for cells in (20, 71):
        room = Room(page(), cells, ROWS)
        found = sorted({x for x, _ in dots(room, Stroke([0, DAYS.end], [5, 5], kind))})
        assert found == [n for n in range(2 * cells) if n % (on + off) < on]


def test_a_line_has_no_gap_and_goes_from_point_to_point() -> None:
    room = Room(page(), 40, ROWS)
    path = list(dots(room, Stroke([0, 5, 15], [0, 10, 3])))
    assert all(max(abs(a - c), abs(b - d)) == 1 for (a, b), (c, d) in pairwise(path))
    cells = {(x // 2, y // 4) for x, y in path}
    assert {(room.column(x), room.row(y)) for x, y in ((0, 0), (5, 10), (15, 3))} <= cells


def test_a_point_of_one_value_draws_no_line() -> None:
    assert list(dots(Room(page(), 40, ROWS), Stroke([3], [3]))) == []


def test_points_and_words_stand_before_lines_and_lines_before_shading() -> None:
    of = page(
        bands=[Band(3, 7, "error")],
        strokes=[Stroke([0, DAYS.end], [5, 5], edge="act from 5")],
        marks=[Marks([10], [5], "●", "", values=["5"])],
    )
    rows = inside(of)
    (row,) = (row for row in rows if "●" in row)
    assert "● 5 " in row.replace(chr(BRAILLE + 0x12), " ").replace(chr(BRAILLE + 0x24), " ")
    assert row.rstrip().endswith(" act from 5")
    assert "░" not in row
    assert sum("░" * 20 in other for other in rows) == 4


def test_two_levels_of_one_row_are_both_drawn() -> None:
    of = page(low=0, high=100, strokes=[Stroke([0, 9], [n, n]) for n in (55.5, 60)])
    assert len({row for _, row in fine(inside(of))}) == 2


@pytest.mark.parametrize(("width", "height"), [(0, 0), (LEFT + 3, 10), (80, 2), (9, 3), (10, 3), (200, 60)])
def test_it_fits_whatever_room_there_is(width: int, height: int) -> None:
    rows = drawn(page(marks=[Marks([0, DAYS.end], [0, 10], "●", "")]), width, height)
    assert len(rows) in (0, height)
    assert all(len(row) <= width for row in rows)
