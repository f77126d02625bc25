"""The page of a case, its table and the mornings, laid out without a screen for the demonstration."""

from __future__ import annotations

from datetime import date

import pytest

from armrise.store.clinic.case.standing import Standing, Truth
from armrise.tui.case import mornings
from armrise.tui.case.account import by_order
from armrise.tui.case.act_keys import act_keys
from armrise.tui.case.head import laid_head
from armrise.tui.case.page import Told, laid_page
from armrise.tui.case.reading import read
from armrise.tui.case.table import missing_first, table
from armrise.tui.widgets.bars import Head
from armrise.tui.widgets.rows import Line, Span
from armrise.tui.words.standing import do_line
from tests.tui.conftest import TODAY, a_criterion, a_standing
from tests.tui.form_store import open_copy

SCREEN, FOOT = 24, 2
KEYS = act_keys({})


@pytest.fixture(scope="module")
def told(made, tmp_path_factory) -> list[Told]:
    door = open_copy(made, tmp_path_factory.mktemp("table") / "demo.armrise")
    return [Told(s, do_line(s, KEYS), "", "", read(door, s.code)) for s in door.standings()]


def text(lines: list[Line]) -> list[str]:
    return ["".join(span.text for span in line).rstrip() for line in lines]


def missing(s: Standing) -> int:
    return sum(result.state is not Truth.MET for result in missing_first(s))


def rows_of_page(s: Standing) -> int:
    """Lines of the page in sight on a screen of 80 by 24: those that its head and the foot leave."""
    return SCREEN - FOOT - len(laid_head(s, s.code, Head(fictional=True), 78))


def test_what_is_missing_stands_on_the_first_screen(told) -> None:
    """Do, limits, why, pain, verdict, and every row that is not met or unknown."""
    over = {}
    for one in told:
        page, rows = laid_page(one, 79), rows_of_page(one.standing)
        if page.places:
            assert page.places[0][1] <= rows
        ends = [end for _, end in page.places[: missing(one.standing)]]
        over[one.standing.code] = max(ends, default=0) - rows
    assert {code: more for code, more in over.items() if more > 0} == {}


def test_what_the_reason_or_the_first_row_says_is_not_said_again(told) -> None:
    """The verdict's word then heads the table, with nothing of it lost: BY-007 refers, BY-042 is unknown."""
    pages = {o.standing.code: " ".join(" ".join(text(laid_page(o, 79).lines)).split()) for o in told}
    assert "REFER now needs seen" in pages["BY-007"]
    assert "possible red flag: hot, swollen, feverish" in pages["BY-007"]
    assert "UNKNOWN now needs seen ? unknown red-flag question" in pages["BY-042"]
    assert "verdict REFER: second event: slipped out of joint on Sat 28 Feb" in pages["BY-015"]
    assert "AD4 opens Sat 28 Mar (day 84 after injury)" not in pages["BY-015"]
    assert "AD4 opens day 58 day 84, Sat 28 Mar" in pages["BY-015"]
    assert "62 days ago, baseline 2 UNKNOWN" in pages["BY-042"], "no morning in 14 days: said by the 62"


@pytest.mark.parametrize("width", [58, 79, 109, 159])
def test_no_line_is_wider_than_the_page_and_no_word_is_lost(told, width) -> None:
    for one in told:
        page = laid_page(one, width)
        lines = text(page.lines)
        assert max(map(len, lines)) < width
        for result, (first, end) in zip(missing_first(one.standing), page.places, strict=True):
            row = set(" ".join(lines[first:end]).split())
            opened = result.parts and result.state is not Truth.MET
            name = result.text if opened else result.what or result.text
            assert {*str(result.state).split(), *name.split()} <= row


def test_rows_stand_by_what_is_missing_and_say_it_in_words() -> None:
    s = a_standing("NV-1")
    head, rows = table(s, missing_first(s), 78, Span("NOT YET"))
    assert " ".join(text([head])[0].split()) == "NOT YET now needs seen"
    assert [" ".join(" ".join(text(row)).split()) for row in rows] == [
        "x not met rotation strength 62 % at least 70 % 4 d ago",
        "? unknown active flexion nothing recorded at least 90 %",
        "+ met three good sessions of 3 3 in a row 1 d ago light resisted work",
    ]


def test_a_row_says_what_stands_above_by_a_word_and_a_number_from_memory_as_one(told) -> None:
    by_code = {one.standing.code: one for one in told}
    pages = {
        code: " ".join(" ".join(text(laid_page(one, 100).lines)).split()) for code, one in by_code.items()
    }
    assert "pain not settling see why" in pages["BY-018"]
    assert "target 45" in pages["BY-099"]
    assert "badge sensation lost no no 10 d ago" in pages["BY-105"]  # wanted is "no", under its name once
    assert "other shoulder is sore too" not in pages["BY-099"].partition("caution")[0]
    doubted = a_criterion("rest pain", "2 or less", "4", Truth.NOT_MET)._replace(status="from memory")
    rows = table(a_standing("NV-1"), [doubted], 78, Span(""))[1]
    assert "2 or less (from memory)" in " ".join(" ".join(text(rows[0])).split())


def test_ways_of_which_nothing_is_on_record_take_one_row_and_others_a_row_each(told) -> None:
    by_code = {one.standing.code: " ".join(" ".join(text(laid_page(one, 79).lines)).split()) for one in told}
    assert "? unknown no apprehension on testing, or unchanged and accepted not asked" in by_code["BY-015"]
    assert "apprehension unchanged and accepted" not in by_code["BY-015"]
    ways = [
        a_criterion(f"way {name}", "yes", now, Truth.UNKNOWN)._replace(observed_on=None)
        for name, now in (("one", "not asked"), ("two", "declined"))
    ]
    known = a_criterion("way three", "yes", "no", Truth.NOT_MET)
    for parts, rows in ((ways, 1), ([*ways, known], 4)):
        both = a_criterion("one way or another", "", "", Truth.UNKNOWN)._replace(parts=tuple(parts))
        ((*lines,),) = table(a_standing("NV-1"), [both], 78, Span(""))[1]
        assert len(lines) == rows


def test_limits_of_one_order_stand_behind_its_name_once() -> None:
    limits = [
        "external rotation at most 30 degrees (surgeon's order of Wed 28 Jan)",
        "order of Wed 28 Jan: No lifting yet.",
        "sling on until Wed 11 Mar (surgeon's order of Wed 4 Feb)",
        "sling on until Fri 3 Apr (template)",
    ]
    assert by_order(limits) == [
        "surgeon's order of Wed 28 Jan: external rotation at most 30 degrees; No lifting yet",
        "surgeon's order of Wed 4 Feb: sling on until Wed 11 Mar",
        "sling on until Fri 3 Apr (template)",
    ]


def test_the_mornings_in_numbers_and_as_a_chart() -> None:
    s = a_standing("NV-1", trend=(None, None, None, 2, None, 6, 3), as_of=date(2026, 3, 2))
    assert mornings.in_numbers(s) == "last 7 mornings  · · · 2 · 6 3"
    assert text(mornings.chart(s, 3, ascii_only=True)) == [
        "pain on the last 7 mornings",
        " 6            *",
        " 5",
        " 4",
        " 3  - - - - - - * limit",
        " 2        *",
        " 1",
        " 0",
        "   24 Feb   2 Mar",
    ]
    assert not any("limit" in line for line in text(mornings.chart(s, None)))
    silent = a_standing("NV-1", trend=(None,) * 14)
    assert mornings.in_numbers(silent) == "no morning told in the last 14 days"
    assert silent.as_of == TODAY
