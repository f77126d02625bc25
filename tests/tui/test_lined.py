"""What a key works out of a list: rows laid out once, searched by what they say, found by number."""

from __future__ import annotations

import re

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from armrise.tui.widgets import jump, lined, search
from armrise.tui.widgets.caselist import CaseList
from armrise.tui.widgets.lined import Lined
from armrise.tui.widgets.listing import Listing
from armrise.tui.widgets.views import SHIPPED
from tests.tui.conftest import FakeDoor, a_caseload, a_reason, a_standing, an_app, settled
from tests.tui.form_store import press

KEYS = {"phone": "p"}


@pytest.fixture
def laid(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The codes of the rows that are laid out, one after the other."""
    found: list[str] = []
    before = lined.case_lines

    def noted(case, columns, look):
        found.append(case.code)
        return before(case, columns, look)

    monkeypatch.setattr(lined, "case_lines", noted)
    return found


def shown(listing: Listing, rows: Lined, *, compact: bool = False) -> dict[str, int]:
    """The height of every row shown, asked for as the list does."""
    rows.see(100, compact=compact, keys=KEYS, ascii_only=False)
    groups = listing.groups()
    known = rows.heights(groups)
    return {
        code: high or rows.height(code)
        for number, group in enumerate(groups)
        for code, high in zip(group.codes, known(number, group.codes), strict=True)
    }


def test_a_row_is_laid_out_once_for_every_search_view_and_mark_and_again_only_when_it_says_something_else(
    laid: list[str],
) -> None:
    listing = Listing()
    listing.sort(a_caseload())
    rows = Lined(listing)
    heights = shown(listing, rows)
    whole = {case.code for case in listing.cases() if case.tier in ("today", "harm if left")}
    assert set(laid) == whole, "a row of one line need not be laid out to know that"
    laid.clear()
    listing.filter = "o"
    assert shown(listing, rows).items() <= heights.items()
    listing.filter, listing.view = "", SHIPPED[2]
    listing.marked.add("NV-110")
    assert shown(listing, rows).items() <= heights.items()
    listing.view = SHIPPED[0]
    assert set(shown(listing, rows, compact=True).values()) == {1}
    assert shown(listing, rows) == heights
    assert laid == []
    longer = listing.cases()[0]._replace(tried="tried 08:41, no answer" * 5)
    listing.refresh([longer, *listing.cases()[1:]])
    assert shown(listing, rows)[longer.code] > heights[longer.code]
    assert set(laid) == {longer.code}


def test_a_case_that_became_urgent_is_said_whole_where_it_stands() -> None:
    quiet, urgent = (
        a_standing("NV-1"),
        a_standing("NV-1", reasons=(a_reason("possible red flag", "hot " * 60),)),
    )
    listing = Listing()
    listing.sort([a_standing("NV-0"), quiet])
    rows = Lined(listing)
    assert shown(listing, rows) == {"NV-0": 1, "NV-1": 1}
    listing.refresh([urgent, a_standing("NV-0")])
    assert shown(listing, rows)["NV-1"] > 1


def test_words_are_put_together_once_for_what_a_case_says_and_some_at_a_time(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: list[str] = []
    monkeypatch.setattr(search, "about", lambda case: asked.append(case.code) or case.code.casefold())
    listing = Listing()
    cases = [a_standing(f"NV-{number}") for number in range(5)]
    listing.sort(cases)
    assert listing.learn(2)
    listing.filter = "nv-4"
    assert listing.found() == ["NV-4"]
    assert sorted(asked) == [case.code for case in cases]
    listing.refresh([*cases[1:], cases[0]._replace(days_in_stage=99)])
    assert not listing.learn()
    assert asked[5:] == ["NV-0"]


@given(
    st.text(st.characters(categories=("Nd", "Lu", "Pd")), max_size=8),
    st.from_regex(r"[0-9]{1,3}", fullmatch=True),
)
@example("NV-\u0661\u066227", "27")
def test_the_number_of_a_code_is_its_last_digits_whatever_kind_they_are(code: str, digits: str) -> None:
    """Held against the pattern that says so."""
    last = re.search(r"\d+(?=\D*$)", code)
    assert jump.number_of(code) == (last[0] if last else "")
    assert jump.has(code, digits) == bool(jump.found([code], digits))
    assert jump.best([code, f"{code}7"], digits) == next(iter(jump.found([code, f"{code}7"], digits)), "")


async def test_a_key_paints_the_rows_it_changed_and_the_case_under_the_cursor_comes_back_into_sight(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    cases = [a_standing(f"NV-{number:03}", side="LEFT" if number == 90 else "RIGHT") for number in range(100)]
    app = an_app(FakeDoor(cases))
    async with app.run_test(size=(100, 30)) as pilot:
        await settled(pilot)
        shown_list = app.screen.query_one(CaseList)
        app.screen._compositor.render_strips()  # what is in sight before the key
        painted: list[int] = []
        before = CaseList.refresh

        def noted(self, *regions, **named):
            painted.append(sum(region.height for region in regions) if regions else self.size.height)
            return before(self, *regions, **named)

        monkeypatch.setattr(CaseList, "refresh", noted)
        await press(pilot, "down")
        assert 0 < sum(painted) <= 6
        await press(pilot, "slash", "l", "e", "f", "t")
        assert shown_list.cursor == "NV-090"
        await press(pilot, "down", "escape")
        assert shown_list.cursor == "NV-090"
        top = shown_list.scroll_offset.y
        assert top <= shown_list._layout.place("NV-090") < top + shown_list.size.height


def test_a_search_of_a_long_list_shows_what_it_has_found_so_far_and_then_everything(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(search, "about", lambda case: f"{case.code.casefold()} hot")
    listing = Listing()
    listing.sort([a_standing(f"NV-{number}") for number in range(9)])
    listing.at_once = 3
    listing.filter = "nv-7"
    assert (listing.found(), listing.partly, listing.meant()) == (["NV-7"], True, "NV-7")
    listing.filter = "h"
    assert (listing.found(), listing.partly, listing.meant()) == ([f"NV-{n}" for n in range(6)], True, "")
    listing.filter = "hot nv"
    listing.learn()
    assert listing.search_all()
    assert not listing.search_all()
    assert (len(listing.found()), listing.partly) == (9, False)
    listing.filter = "hot nv-8"
    assert (listing.found(), listing.partly, listing.meant()) == (["NV-8"], False, "NV-8")


def test_a_search_that_found_nothing_so_far_does_not_say_that_there_is_nothing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(search, "about", lambda case: "hot" if case.code == "NV-8" else "")
    listing = Listing()
    listing.sort([a_standing(f"NV-{number}") for number in range(9)])
    listing.at_once, listing.filter = 3, "hot"
    assert (listing.found(), listing.meant()) == ([], "")
    assert listing.nothing() == 'Searching for "hot" ...'
    assert [group.head for group in listing.groups()] == [listing.nothing()]
    assert listing.search_all()
    assert (listing.found(), listing.meant()) == (["NV-8"], "NV-8")


def test_cases_of_today_that_a_search_has_not_come_to_are_counted_as_not_shown_yet(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(search, "about", lambda case: "hot")
    listing = Listing()
    listing.sort([a_standing(f"NV-{n}", reasons=(a_reason("possible red flag"),)) for n in range(5)])
    listing.at_once, listing.filter = 3, "hot"
    assert [group.head for group in listing.groups()] == ["TODAY  3, and 2 not shown yet (Esc shows them)"]
    assert listing.search_all()
    assert [group.head for group in listing.groups()] == ["TODAY  5"]
