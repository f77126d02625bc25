"""Filters never lose a case of the first tier (practice notes 2.3), whatever is typed."""

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from armrise.tui.widgets.listing import Listing, matches
from tests.tui.conftest import RANKS, a_reason, a_standing

reasons = st.lists(
    st.builds(
        lambda name, hand, sentence: a_reason(name, sentence, hand=hand),
        st.sampled_from(sorted(RANKS)),
        st.sampled_from([None, 3]),
        st.text(max_size=12),
    ),
    max_size=3,
).map(lambda found: tuple(sorted(found, key=lambda r: r.rank)))
caseloads = st.lists(
    st.tuples(reasons, st.sampled_from(["LEFT", "RIGHT"]), st.sampled_from(["RC2", "PO1", "FS3"])),
    max_size=12,
).map(
    lambda rows: [
        a_standing(f"NV-{n:03}", reasons=r, side=side, stage=stage) for n, (r, side, stage) in enumerate(rows)
    ]
)
typed = st.one_of(st.text(max_size=15), st.sampled_from(["rc2", "left po1", "review", "zzz", " ", "TK"]))


def shown(listing: Listing) -> list[str]:
    return [s.code for group in listing.groups() for s in group.shown]


@settings(max_examples=150, deadline=None)
@given(caseloads, typed)
def test_a_filter_never_loses_a_today_case(cases, text):
    listing = Listing()
    listing.sort(cases)
    listing.filter = text
    urgent = {s.code for s in cases if s.tier == "today"}
    assert urgent <= set(shown(listing))
    assert listing.outside() == sum(not matches(s, text) for s in cases if s.code in urgent)
    assert {s.code for s in cases if matches(s, text)} <= set(shown(listing))


@settings(max_examples=100, deadline=None)
@given(caseloads, caseloads, typed)
def test_a_refresh_moves_no_row_and_hides_no_case_that_became_urgent(before, after, text):
    listing = Listing()
    listing.sort(before)
    listing.refresh(after)
    unfiltered = shown(listing)
    assert unfiltered == shown_of(before)
    listing.filter = text
    now = {s.code: s for s in after}
    urgent = {code for code in unfiltered if now.get(code, listing.case(code)).tier == "today"}
    assert urgent <= set(shown(listing))
    assert [code for code in unfiltered if code in set(shown(listing))] == shown(listing)


def shown_of(cases):
    listing = Listing()
    listing.sort(cases)
    return shown(listing)


def test_every_word_has_to_match_somewhere():
    case = a_standing("NV-7", side="LEFT", reasons=(a_reason("losing range", "passive rotation 60 to 42"),))
    assert matches(case, "left rotation")
    assert matches(case, "nv-7 RC2 tk")
    assert matches(case, "losing")
    assert not matches(case, "left fs1")


def test_a_new_case_waits_for_the_next_sort_and_says_that_something_changed():
    listing = Listing()
    listing.sort([a_standing("NV-1")])
    listing.refresh([a_standing("NV-1"), a_standing("NV-2")])
    assert listing.moves == 1
    assert shown(listing) == ["NV-1"]
    listing.refresh([replace(a_standing("NV-1"), days_in_stage=23)])
    assert listing.moves == 0
