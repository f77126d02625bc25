"""The rows of the list at every width, worked out without a screen: what is cut, how many are in sight.

What must hold was measured: of 36 reasons 30 were cut at 80 columns and 32 where the pane opened, and 7 cases
stood whole on a screen of 24 lines, 15 on one of 40.
"""

from __future__ import annotations

import statistics
from collections import Counter
from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path

import pytest

from armrise.store.caseload.read import standings
from armrise.store.clinic.case.standing import Standing
from armrise.store.database.place import Store
from armrise.tui.board.board import PANE, PANE_FROM, PANE_WIDER, PANE_WIDER_FROM
from armrise.tui.widgets.columns import Plan
from armrise.tui.widgets.layout import Layout
from armrise.tui.widgets.listing import Listing
from armrise.tui.widgets.rows import WHOLE, Look, Span, case_lines, folded, heads, shortened
from armrise.tui.words import standing as words
from tests.clinic.build import rules
from tests.tui.conftest import TODAY, a_caseload, a_reason, a_review, a_standing
from tests.tui.planned import plan

FURNITURE = 5
"""Two lines of head, one of headings, two at the foot."""


@pytest.fixture(scope="module")
def demo(made: Path) -> list[Standing]:
    return standings(Store.open(made), rules(), TODAY)


def list_width(window: int) -> int:
    """The cells of the list, its scroll bar not counted, in a window of that width."""
    pane = PANE_WIDER if window >= PANE_WIDER_FROM else PANE if window >= PANE_FROM else 0
    return window - pane - 1


def in_window(cases: Sequence[Standing], window: int) -> Plan:
    return plan(cases, list_width(window))


def text_of(case: Standing, p: Plan, *, opened: bool = False, compact: bool = False) -> list[str]:
    lines = case_lines(case, p, Look(case.tier, opened, compact))
    return ["".join(span.text for span in line) for line in lines]


def said(case: Standing, p: Plan, **look: bool) -> str:
    """The words of a row, its lines joined."""
    return " ".join(" ".join(text_of(case, p, **look)).split())


def whole(case: Standing, p: Plan, **look: bool) -> bool:
    """True when the row says its reason to the end; the name of the stage may be cut before it."""
    first, *more = text_of(case, p, **look)
    return "…" not in " ".join([first[p.reason_at :], *more])


# what is cut


def test_no_reason_of_the_first_tiers_is_cut_and_none_more_than_in_a_narrower_window(demo):
    before: set[str] = set()
    for window in range(60, 201):
        p = in_window(demo, window)
        uncut = {case.code for case in demo if whole(case, p)}
        assert {case.code for case in demo if case.tier in WHOLE} | before <= uncut, window
        before = uncut
    assert len(before) > 15


@pytest.mark.parametrize("window", [60, 61, 79, 80, 100, 120, 141, 142, 161, 162, 200])
def test_the_row_under_the_cursor_is_whole_and_no_line_is_longer_than_its_room(demo, window):
    p = in_window(demo, window)
    for case in demo:
        opened = text_of(case, p, opened=True)
        assert all(len(line) <= p.body for line in (*opened, *text_of(case, p))), case.code
        assert whole(case, p, opened=True), case.code
        told = iter(" ".join(opened).split())
        assert all(word in told for word in words.why(case).split()), case.code


@pytest.mark.parametrize("window", [60, 68, 79, 80, 96, 109, 120, 141, 142, 160, 200])
def test_no_number_is_cut_and_columns_stand_one_below_the_other(window):
    cases = a_caseload()
    p = in_window(cases, window)
    for case in cases:
        first = text_of(case, p)[0]
        assert first.startswith(f"{case.code} {'' if p.gap == 1 else ' '}{case.side}")
        assert "10/10/10" in first or case.code != "NV-165"
        assert first[p.reason_at - 1] == " "
        assert words.verdict_short(case) == first[p.reason_at - p.gap - 9 : p.reason_at].strip()
        if window >= 80 and case.days_in_stage is not None:
            assert f"{case.days_in_stage} of {case.usual_days}" in first


def test_columns_are_those_of_the_caseload_whatever_is_shown(demo):
    listing = Listing()
    listing.sort(demo)
    before = plan(listing.cases(), 79)
    listing.filter = "rc2"
    assert plan(listing.cases(), 79) == before


def test_the_trend_is_left_out_below_100_columns_and_the_usual_days_are_not(demo):
    assert in_window(demo, 99).trend == 0
    assert in_window(demo, 101).trend == 7
    assert in_window(demo, 80).usual


# how many are in sight


def laid_out(cases: Sequence[Standing], p: Plan, opened: str = "", *, compact: bool = False) -> list[str]:
    """The code of the case on each line of the list; empty for a heading."""
    by_tier: dict[str, list[str]] = {}
    height: dict[str, int] = {}
    for case in cases:
        by_tier.setdefault(case.tier, []).append(case.code)
        height[case.code] = len(text_of(case, p, compact=compact))
    layout = Layout(by_tier.values(), height.__getitem__)
    if opened:
        case = next(c for c in cases if c.code == opened)
        layout.open(opened, len(text_of(case, p, opened=True)))
    return [row.code for y in range(layout.height) if (row := layout.row(y))]


def in_sight(lines: list[str], lists: int) -> list[tuple[int, Counter[str]]]:
    """For each scroll position which cases stand whole in that many lines."""
    every = Counter(lines)
    windows = ((at, Counter(lines[at : at + lists])) for at in range(max(1, len(lines) - lists + 1)))
    return [
        (at, Counter({code: n for code, n in seen.items() if code and n == every[code]}))
        for at, seen in windows
    ]


@pytest.mark.parametrize(("window", "height", "least"), [(80, 24, 10), (120, 40, 20)])
def test_so_many_cases_stand_whole_on_the_screen(demo, window, height, least):
    """The mean over every scroll position: no row opened, and with the cursor on each case in sight."""
    p, room = in_window(demo, window), height - FURNITURE
    found = [len(seen) for _, seen in in_sight(laid_out(demo, p), room)]
    opened = [
        len(seen)
        for case in demo
        for _, seen in in_sight(laid_out(demo, p, case.code), room)
        if case.code in seen
    ]
    print(f"{window}x{height}: {statistics.mean(found):.2f}, opened {statistics.mean(opened):.2f}")
    assert statistics.mean(found) >= least
    assert statistics.mean(opened) >= least


def test_one_line_a_case_shows_as_many_as_there_are_lines(demo):
    p = in_window(demo, 80)
    lines = laid_out(demo, p, compact=True)
    assert len(lines) == len(demo) + 4
    assert "…" not in said(demo[0], p, compact=True, opened=True)


# what a row says


def test_the_row_under_the_cursor_says_what_to_do_the_review_and_the_visit_with_its_hour():
    visit = a_review(16, 28, 3)._replace(booked_at="09:20")
    case = a_standing("NV-7", stage="RC3", stage_name="Build", review=visit)
    p = in_window([case], 80)
    assert "RC3 Build" not in said(case, p)
    opened = said(case, p, opened=True)
    for told in ("RC3 Build", "review due in 16 d", "Thu 5 Mar 09:20"):
        assert told in opened


def test_the_next_visit_stands_on_every_row_of_the_first_tiers(demo):
    for window in (60, 80, 100, 120, 160):
        p = in_window(demo, window)
        for case in demo:
            if case.tier in WHOLE:
                assert words.booked_shortly(case) in said(case, p), (window, case.code)


def test_a_reason_in_hand_says_until_when_by_what_and_which_it_is():
    told = a_reason("possible red flag", "possible red flag: night pain", hand=4, action="referral sent")
    case = a_standing("NV-1", reasons=(told,))
    p = in_window([case], 80)
    assert "in hand until Fri 6 Mar: possible red flag (referral sent)" in said(case, p)
    assert "night pain" in said(case, p, opened=True)


def test_other_reasons_are_counted_where_it_is_narrow_and_named_where_it_is_not():
    reasons = (a_reason("losing range", "losing range: 60 to 42, same rater"), a_reason("review overdue"))
    case = a_standing("NV-1", reasons=reasons)
    assert "losing range: 60 to 42, same rater; 1 more reason" in said(case, in_window([case], 80))
    wide = said(case, in_window([case], 120))
    assert "also" in wide
    assert "more reason" not in wide


def test_what_the_verdict_says_is_not_said_again_beside_it():
    case = a_standing("NV-1", status="on hold", hold_until=TODAY + timedelta(days=9))
    held = case._replace(verdict=case.verdict._replace(word="ON HOLD", line="on hold until Wed 11 Mar"))
    assert "ON HOLD until Wed 11 Mar" in said(held, in_window([held], 120))


def under(heading: str, case: Standing) -> str:
    lines = case_lines(case, in_window([case], 200), Look(heading))
    return " ".join("".join(span.text for line in lines for span in line).split())


def test_a_row_that_stayed_under_another_heading_says_where_it_belongs():
    broken, answered = a_reason("new injury"), a_reason("losing range", hand=3)
    assert "now TODAY: new injury" in under("move on", a_standing("NV-1", reasons=(broken,)))
    assert "YET in hand until" in under("harm if left", a_standing("NV-1", reasons=(answered,)))
    assert "NOTHING NOW: rotation strength" in under("harm if left", a_standing("NV-1"))
    assert "NOTHING NOW" not in under("none", a_standing("NV-1"))


def test_a_case_that_left_the_list_says_so_and_nothing_else():
    case = a_standing("NV-1", status="closed", reasons=(a_reason("losing range"),))
    p = in_window([case], 80)
    lines = case_lines(case, p, Look("harm if left", gone=True))
    told = " ".join("".join(span.text for line in lines for span in line).split())
    assert "closed: off the list with the next sort" in told
    assert "losing range" not in told


def test_verdicts_weigh_by_what_they_ask():
    weights = {"REFER": "strong", "STEP BACK ADVISED": "strong", "READY": "", "NOT YET": "muted"}
    for word, style in weights.items():
        case = a_standing("NV-1")
        case = case._replace(verdict=case.verdict._replace(word=word))
        line = case_lines(case, in_window([case], 120), Look("none"))[0]
        shown = next(s for s in line if s.text.strip() == word.removesuffix(" ADVISED"))
        assert shown.style == style


def test_folded_breaks_between_words_and_a_word_too_long_within():
    assert folded("one two three", 7, 9) == ["one two", "three"]
    assert folded("one two", 0, 9) == ["", "one two"]
    assert folded("abcdefghij", 4, 4) == ["abcd", "efgh", "ij"]


def test_a_reason_cut_to_one_line_is_cut_between_words_and_never_within_a_number():
    assert shortened("due on day 42, 10 days ago", 13) == "due on day…"
    assert shortened("day 42, 10 days ago", 9) == "day 42…"
    assert shortened("due on day 42", 13) == "due on day 42"
    assert shortened("unpronounceable", 8) == "unprono…"


def test_the_heads_stand_over_their_columns_and_make_room_for_a_long_heading(demo):
    p = in_window(demo, 120)
    line = "".join(span.text for span in heads(p, []))
    assert line.index("reason") == 3 + p.reason_at
    assert "day of" not in "".join(s.text for s in heads(p, [Span("HARM IF LEFT  1 of 11 of all of them")]))
