"""Lines of a list with one row opened: which line is what, where a case begins, what a page is."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from armrise.tui.widgets.layout import Layout, Row

HEIGHTS = {"a": 2, "b": 1, "c": 3}


def a_layout() -> Layout:
    return Layout([["a", "b"], ["c"]], HEIGHTS.__getitem__)


def test_the_first_heading_is_no_line_and_the_others_are():
    layout = a_layout()
    shown = [layout.row(y) for y in range(layout.height + 1)]
    assert shown == [
        Row(0, "a", 0),
        Row(0, "a", 1),
        Row(0, "b", 0),
        Row(1),
        *(Row(1, "c", n) for n in range(3)),
        None,
    ]
    assert Layout([[], ["c"]], HEIGHTS.__getitem__).row(0) == Row(0)


def test_opening_a_row_moves_those_below_and_no_other():
    layout = a_layout()
    layout.open("b", 3)
    assert [layout.place(code) for code in "abc"] == [0, 2, 6]
    assert [layout.row(y) for y in (2, 3, 4, 5)] == [Row(0, "b", 0), Row(0, "b", 1), Row(0, "b", 2), Row(1)]
    layout.open("", 0)
    assert [layout.place(code) for code in "abc"] == [0, 2, 4]


@given(st.lists(st.lists(st.integers(1, 4), max_size=5), max_size=4), st.integers(1, 7), st.data())
def test_every_line_of_every_case_is_there_once_in_order(groups, opened_height, data):
    height = {f"{g}.{n}": lines for g, group in enumerate(groups) for n, lines in enumerate(group)}
    layout = Layout(
        [[f"{g}.{n}" for n in range(len(group))] for g, group in enumerate(groups)], height.__getitem__
    )
    if height:
        opened = data.draw(st.sampled_from(sorted(height)))
        layout.open(opened, opened_height)
        height = {**height, opened: opened_height}
    layout.settle(data.draw(st.integers(0, 20)))
    drawn = data.draw(st.integers(0, 20))
    looked_at = layout.row(drawn)
    layout.settle(len(height) + len(groups))
    assert layout.settled
    assert layout.row(drawn) == looked_at
    shown = [row for y in range(layout.height) if (row := layout.row(y)) and row.code]
    assert [(row.code, row.line) for row in shown] == [(c, n) for c in height for n in range(height[c])]
    for code, lines in height.items():
        assert layout.row(layout.place(code)) == next(row for row in shown if row.code == code)
        assert layout.height_of(code) == lines
    assert layout.row(layout.height) is None


def test_a_page_goes_on_by_at_least_one_case_and_stops_at_the_ends():
    layout = Layout([list("abcdefgh")], lambda code: 9 if code == "d" else 1)
    assert [layout.paged("a", 3), layout.paged("c", 3), layout.paged("d", 3)] == ["d", "d", "e"]
    assert layout.paged("e", 30) == "h"
    assert [layout.paged("h", -3), layout.paged("e", -3), layout.paged("b", -30)] == ["e", "d", "a"]
