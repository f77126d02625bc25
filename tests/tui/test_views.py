"""The views of the list on their keys: what each shows, the order of those coming in, and a clinic's own."""

from __future__ import annotations

import pytest

from armrise.store.caseload.named_views import NamedView, add_view, drop_view, named_views
from armrise.store.database.place import Store, StoreError
from armrise.tui.app.app import ArmriseApp
from armrise.tui.board.board import BoardScreen
from armrise.tui.case.finding import PAUSE
from armrise.tui.widgets.bars import Head, HeadBar
from armrise.tui.widgets.caselist import CaseList
from armrise.tui.widgets.listing import Listing
from armrise.tui.widgets.views import ALL, SHIPPED, numbered
from armrise.tui.words import standing as words
from tests.tui.conftest import TODAY, a_caseload, a_reason, a_review, a_standing, an_app, settled
from tests.tui.form_store import painted, press, type_in


def listing_of(view: str, *cases, marked: set[str] | None = None) -> Listing:
    listing = Listing()
    listing.sort(cases)
    listing.marked = marked or set()
    listing.view = next(v for v in numbered([("losing", "losing")]).values() if v.name == view)
    return listing


def coming(code: str, at: str | None, **more):
    return a_standing(code, review=a_review(booked_in=0)._replace(booked_at=at), **more)


def heads(listing: Listing) -> list[str]:
    return [group.head for group in listing.groups()]


def test_those_coming_in_today_stand_by_the_hour_and_without_one_last():
    red = (a_reason("possible red flag"),)
    cases = [
        a_standing("NV-1", reasons=red),
        coming("NV-2", "11:00", reasons=red),
        coming("NV-3", None),
        a_standing("NV-4", review=a_review(booked_in=1)),
        coming("NV-5", "09:20"),
        coming("NV-6", "09:20"),
    ]
    listing = listing_of("coming in today", *cases)
    assert listing.found() == ["NV-5", "NV-6", "NV-2", "NV-3"]
    assert heads(listing) == ["TODAY  1 outside this view (1 shows them)", "COMING IN TODAY  4"]
    assert listing.heading("NV-2") == "today"
    listing.filter = "nv-2"
    assert listing.found() == ["NV-2"]
    assert heads(listing) == ["TODAY  1 outside this search (Esc shows them)", "COMING IN TODAY  1"]


@pytest.mark.parametrize(
    ("reason", "at", "said"),
    [
        *(("losing range", "09:20", "here 09:20"), ("possible red flag", None, "here today")),
        *(("review overdue", "09:20", "today 09:20"), ("losing range", "no slot", "none booked")),
    ],
)
def test_a_row_to_be_acted_on_says_that_its_patient_is_coming_in_anyway(reason, at, said):
    reasons = (a_reason(reason),)
    case = a_standing("NV-1", reasons=reasons) if at == "no slot" else coming("NV-1", at, reasons=reasons)
    assert words.booked_shortly(case) == said


def test_none_booked_is_every_row_that_says_so_and_no_other():
    listing = listing_of("none booked", *a_caseload())
    assert set(listing.found()) == {c.code for c in a_caseload() if words.booked(c) == "none booked"}
    whole = listing_of("all", *a_caseload())
    whole.filter = '"none booked"'
    assert whole.found() == listing.found()


def test_rows_stay_in_a_view_until_something_else_is_asked():
    """Also where what was written takes the case out of it, or moves its hour."""
    cases = [coming("NV-1", "09:20"), coming("NV-2", "10:00"), a_standing("NV-3")]
    listing = listing_of("coming in today", *cases)
    assert listing.found() == ["NV-1", "NV-2"]
    later = [
        a_standing("NV-1", review=a_review(booked_in=7)),
        coming("NV-2", "08:00"),
        coming("NV-3", "07:00"),
    ]
    listing.refresh([*later, coming("NV-4", "07:30"), a_standing("NV-5")], admit=True)
    assert listing.found() == ["NV-1", "NV-2", "NV-4"]  # a new case comes in, and the others stay
    assert [words.hour_today(case) for case in listing.cases()[:2]] == ["", "08:00"]
    assert listing.in_view(listing.view) == 3
    listing.sort([*later, coming("NV-4", "07:30"), a_standing("NV-5")])
    assert listing.found() == ["NV-3", "NV-4", "NV-2"]
    listing.filter = "nv-2"
    assert listing.found() == ["NV-2"]


def test_ready_marks_and_a_clinics_own_view():
    assert listing_of("ready", *a_caseload()).found() == ["NV-198"]
    assert listing_of("my marks", *a_caseload(), marked={"NV-187"}).found() == ["NV-187"]
    none = listing_of("my marks", *a_caseload())
    assert none.found() == []
    assert heads(none) == [
        "TODAY  3 outside this view (1 shows them)",
        'No case is in the view "my marks": 1 shows every case again.',
    ]
    own = listing_of("losing", *a_caseload())
    assert own.found() == ["NV-154"]
    assert own.in_view(own.view) == 1


@pytest.mark.parametrize("width", [60, 80, 120])
def test_the_bar_of_views_names_the_one_shown_at_every_width(width):
    named = ("1 all 36", "2 coming in today 7", "3 none booked 12", "4 ready 4", "6 after surgery 3")
    bar = HeadBar()
    bar.head = Head(as_of=TODAY, rules="v1", views=tuple((name, name.startswith("6")) for name in named))
    line = "".join(span.text for span in bar.laid_out(width)[1])
    assert "[6 after surgery 3]" in line
    assert len(line) <= width
    assert ("3 none booked 12" in line) == (width >= 80)


async def test_a_digit_shows_its_view_and_the_next_keys_act_in_it():
    app = an_app()
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        board, cases = app.screen, app.screen.query_one(CaseList)
        assert isinstance(board, BoardScreen)
        await press(pilot, "4")
        assert (cases.codes, cases.cursor) == (["NV-198"], "NV-198")
        assert "4 ready: 1 case" in painted(pilot)
        await press(pilot, "enter")  # one digit is no number: this is about the case in sight
        assert getattr(app.screen, "code", "") == "NV-198"
        await press(pilot, "escape", "6")
        assert board.listing.view.name == "repairs"
        assert cases.codes == ["NV-121"]
        board.forget()  # what the pause does: the next digit is the first again
        await press(pilot, "3")
        assert board.listing.view.name == "none booked"
        board.forget()
        await press(pilot, "2", "0")  # a number now: the view before is left, and every case is looked at
        assert cases.codes == ["NV-209", "NV-220"]
        await press(pilot, "escape")
        assert board.listing.view.name == "none booked"
        await press(pilot, "escape")
        assert board.listing.view is ALL
        assert len(cases.codes) == 14


async def test_a_single_digit_is_forgotten_after_a_pause(monkeypatch):
    monkeypatch.setattr("armrise.tui.case.finding.PAUSE", PAUSE / 50)
    app = an_app()
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        board = app.screen
        assert isinstance(board, BoardScreen)
        await pilot.press("0")
        for _ in range(300):
            await pilot.pause(0.01)
            if not board.typed:
                break
        assert board.typed == ""
        assert "go to" not in painted(pilot)
        await pilot.press("4")
        assert board.listing.view.name == "ready"


async def test_what_is_marked_is_a_view_and_a_mark_taken_away_moves_no_row(app: ArmriseApp):
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        cases = app.screen.query_one(CaseList)
        await press(pilot, "space", "down", "down", "space", "5")
        assert cases.codes == ["BY-007", "BY-003"]
        assert "[5 my marks 2]" in painted(pilot)
        await press(pilot, "space")
        assert cases.codes == ["BY-007", "BY-003"]
        assert "[5 my marks 1]" in painted(pilot)


async def test_the_palette_finds_a_case_by_its_code_before_anything_else(app: ArmriseApp):
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for text in ("27", "by-027"):
            await pilot.press("ctrl+p")
            await type_in(pilot, text)
            for _ in range(200):
                await pilot.pause(0.01)
                if "BY-027 RIGHT" in painted(pilot):
                    break
            await press(pilot, "enter")
            assert getattr(app.screen, "code", "") == "BY-027"
            await press(pilot, "escape")


# in the settings of the store


def test_a_clinics_own_views_are_kept_in_its_store(tmp_path):
    store = Store.create(tmp_path / "own.armrise", zone="Europe/Berlin")
    assert named_views(store) == []
    added = add_view(store, ' TK  ready = tk "step forward" ', ())
    assert added == ("TK ready", 'tk "step forward"')
    add_view(store, "after 12:00 = a=b", ())
    assert named_views(Store.open(store.path)) == [added, NamedView("after 12:00", "a=b")]
    drop_view(store, "tk READY")
    assert [view.name for view in named_views(store)] == ["after 12:00"]


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("Anna", 'view "Anna": say a name and the words to search for'),
        ("= tk", 'view "= tk": say a name and the words to search for'),
        ("Ready = tk", 'view "Ready": there is one of that name'),
        ("mine = tk", 'view "mine": there is one of that name'),
        (f"{'a' * 21} = tk", "allowed are 1 to 20 letters of one line"),
        (f"a = {'b' * 61}", "allowed are 1 to 60 letters of one line"),
        ("a = \x1b[31m", "allowed are 1 to 60 letters of one line"),
    ],
)
def test_a_view_that_cannot_be_is_refused_in_one_sentence(tmp_path, line, said):
    store = Store.create(tmp_path / "own.armrise", zone="Europe/Berlin")
    add_view(store, "mine = ready", ())
    with pytest.raises(StoreError, match=said.replace("(", r"\(")):
        add_view(store, line, [view.name for view in SHIPPED])
    assert named_views(store) == [("mine", "ready")]


def test_there_are_four_of_ones_own_and_only_those_can_be_dropped(tmp_path):
    store = Store.create(tmp_path / "own.armrise", zone="Europe/Berlin")
    for name in "abcd":
        add_view(store, f"{name} = {name}", ())
    with pytest.raises(StoreError, match="there are 4 views of your own already, drop one first"):
        add_view(store, "e = e", ())
    with pytest.raises(StoreError, match=r'view "ready": there is none of your own .* a, b, c, d'):
        drop_view(store, "ready")
    assert list(numbered(named_views(store)))[-1] == "9"
