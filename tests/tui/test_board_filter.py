"""A search never loses a case of the first tier (practice notes 2.3): shown, or counted in its heading."""

from hypothesis import given, settings
from hypothesis import strategies as st

from armrise.tui.widgets.listing import Listing, moving
from armrise.tui.widgets.search import about, wanted
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


def matches(told: str, text: str) -> bool:
    return all(word in told for word in wanted(text))


def shown(listing: Listing) -> list[str]:
    return [code for group in listing.groups() for code in group.codes]


@settings(max_examples=150, deadline=None)
@given(caseloads, typed)
def test_a_search_never_loses_a_today_case(cases, text):
    listing = Listing()
    listing.sort(cases)
    listing.filter = text.strip()
    found = {s.code for s in cases if matches(about(s), text.strip())}
    urgent = {s.code for s in cases if s.tier == "today"}
    assert set(shown(listing)) == found
    assert listing.outside() == len(urgent - found)
    heads = [group.head for group in listing.groups() if group.tier == "today"]
    assert bool(heads) == bool(urgent)
    assert not urgent - found or f"{len(urgent - found)} outside" in heads[0]


@settings(max_examples=100, deadline=None)
@given(caseloads, caseloads, typed)
def test_a_refresh_moves_no_row_and_counts_a_case_that_became_urgent(before, after, text):
    listing = Listing()
    listing.sort(before)
    listing.refresh(after)
    unfiltered = shown(listing)
    assert unfiltered == shown_of(before)
    listing.filter = text.strip()
    now = {s.code: s for s in after}
    urgent = {code for code in unfiltered if now.get(code, listing.case(code)).tier == "today"}
    left_out = urgent - set(shown(listing))
    assert listing.outside() >= len(left_out)
    assert not left_out or listing.groups()[0].tier == "today"
    assert [code for code in unfiltered if code in set(shown(listing))] == shown(listing)


def shown_of(cases):
    listing = Listing()
    listing.sort(cases)
    return shown(listing)


def test_every_word_has_to_match_somewhere():
    case = a_standing("NV-7", side="LEFT", reasons=(a_reason("losing range", "passive rotation 60 to 42"),))
    for text in ("left rotation", "nv-7 RC2 tk", "losing", '"rotation 60" left'):
        assert matches(about(case), text)
    for text in ("left fs1", '"60 rotation"'):
        assert not matches(about(case), text)


def test_a_new_case_waits_for_the_next_sort_and_says_that_something_changed():
    listing = Listing()
    listing.sort([a_standing("NV-1")])
    listing.refresh([a_standing("NV-1"), a_standing("NV-2")])
    assert listing.moves == 1
    assert shown(listing) == ["NV-1"]
    listing.refresh([a_standing("NV-1"), a_standing("NV-2")], admit=True)
    assert shown(listing) == ["NV-1", "NV-2"]
    listing.sort([a_standing("NV-1")])
    listing.refresh([a_standing("NV-1")._replace(days_in_stage=23)])
    assert listing.moves == 0


def test_a_case_admitted_stands_at_its_place_and_moves_no_two_others():
    low, high = (a_reason("nothing recorded"),), (a_reason("review overdue"),)
    before = [a_standing("NV-1", reasons=high), a_standing("NV-2", reasons=low), a_standing("NV-3")]
    listing = Listing()
    listing.sort(before)
    new = a_standing("NV-9", reasons=high)
    listing.refresh([before[1], new, before[0], before[2]], admit=True)
    assert shown(listing) == ["NV-9", "NV-1", "NV-2", "NV-3"]
    assert listing.moves == 1
    assert [listing.after(code).code for code in ("NV-9", "NV-1", "NV-2")] == ["NV-1", "NV-2", "NV-3"]


@given(st.permutations(range(6)), st.integers(0, 6))
def test_as_many_rows_move_as_sorting_moves_and_no_more(sorted_now, kept):
    """All but the longest run that stays in order; rows that come and go count too."""
    order = [(str(n), "none") for n in range(kept)]
    now = [(str(n), "none") for n in sorted_now]
    longest = max(len(run) for run in rising([n for n in sorted_now if n < kept]))
    assert moving(order, now) == 6 - longest
    assert moving(now, now) == 0
    assert moving([("0", "today")], [("0", "none")]) == 1


def rising(numbers):
    """Every rising choice of these numbers in their order."""
    found = [[]]
    for number in numbers:
        found += [[*run, number] for run in found if not run or run[-1] < number]
    return found


def test_done_is_what_was_written_and_changed_something_until_it_is_undone_or_sorted():
    first, changed = a_standing("NV-1"), a_standing("NV-1", days_in_stage=23)
    listing = Listing()
    listing.sort([first, a_standing("NV-2")])
    listing.refresh([changed, a_standing("NV-2", days_in_stage=23)])
    assert not listing.done("NV-1")
    listing.wrote("NV-1")
    assert [listing.done(code) for code in ("NV-1", "NV-2", "NV-3")] == [True, False, False]
    listing.refresh([first, a_standing("NV-2")])
    assert not listing.done("NV-1")
    listing.refresh([changed])
    assert listing.done("NV-1")
    assert listing.gone == {"NV-2"}
    listing.sort([changed])
    assert not listing.done("NV-1")
    assert not listing.gone
