"""The case screen and the patient's view over the demo caseload in a real store, driven by keys."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from armrise.tui.board.board import BoardScreen
from armrise.tui.case.account import further
from armrise.tui.case.case import CaseScreen
from armrise.tui.case.patient import PatientScreen
from armrise.tui.case.reading import CaseReading
from armrise.tui.shell.frame import BURST
from armrise.tui.shell.say import BlankScreen, SayScreen
from armrise.tui.widgets.listing import Listing
from tests.tui.case_store import at_case, press
from tests.tui.conftest import a_standing
from tests.tui.form_store import NOW, painted, until

SMALL = (80, 24)


async def test_the_five_seconds_stand_whole_on_the_smallest_screen(app):
    async with app.run_test(size=SMALL) as pilot:
        await at_case(pilot, "BY-003", "enter")
        told = painted(pilot)
    parts = [
        "BY-003 RIGHT PO2 Protected passive, day 19 of usual 28, day 33 after surgery",
        "none booked; review due in 3 days FICTIONAL CASELOAD",
        "do phone today (p), then correct the plan (d); no answer: try again today",
        "limits surgeon's order of Wed 28 Jan: external rotation at most 30 degrees; No lifting",
        "sling on until Wed 11 Mar",
        "why healing limit broken: band row (light resisted work) on day 32 after surgery",
        "pain during 1, later 1, next morning 1; yesterday, baseline 1",
        "last 14 mornings 1 1 1 · 1 1 1 · 1 1 1 · 1 1",
        "NOT YET now needs seen",
        "x not met limit breach open: stop the forbidden load see why",
        "x not met days in stage day 19 28 days, Wed 11 Mar",
    ]
    places = [told.index(part) for part in parts]
    assert places == sorted(places)


@pytest.mark.parametrize(
    ("code", "said"),
    [
        (
            "BY-018",
            "NOT YET now needs seen ▌x not met load back first scaption raise to 3 x 8 at 1.5",
        ),
        ("BY-036", "verdict REFER: QuickDASH 38 to 57 (lower is better), worse by more than error (17)"),
        ("BY-078", "▌x not met external rotation strength 64 % (6.4 of 10 kg) 70 % or more 10 d ago"),
        ("BY-045", "UNKNOWN now needs seen ▌? unknown red-flag screen, in full"),
        (
            "BY-069",
            "READY now needs seen ▌+ met good sessions of light resisted work 3 3",
        ),
    ],
)
async def test_the_verdict_says_in_one_line_what_it_rests_on(app, code, said):
    """Rulings 68 and 78: the load to take back by name and dose; a referral by what it is for."""
    async with app.run_test(size=(109, 40)) as pilot:
        await at_case(pilot, code, "enter")
        assert said in painted(pilot)


async def test_what_stands_in_the_way_is_said_once_and_in_words(app):
    async with app.run_test(size=(109, 100)) as pilot:
        await at_case(pilot, "BY-096", "enter")
        told = painted(pilot)
    assert "? unknown answer the message first see why" in told
    assert told.count("urgent message: today, not answered") == 1
    assert "message contact on Mon 2 Mar: message received; the strap of my sling has torn" in told
    assert "urgent message harm if left; since today" in told
    assert "x not met FX3 opens day 30 day 42, Sat 14 Mar" in told


async def test_a_long_finding_stands_on_the_page_once(app):
    """Four times it stood under why, all reasons, in the way and observed."""
    async with app.run_test(size=(109, 60)) as pilot:
        await at_case(pilot, "BY-027", "enter")
        told = painted(pilot)
    assert told.count("60 to 58 to 45 to 42 degrees") == 1
    assert told.count("during 3, later 2, next morning 2") == 1
    assert "losing range harm if left; open 3 days, since Fri 27 Feb" in told


async def test_changed_and_said_follow(app):
    async with app.run_test(size=(109, 100)) as pilot:
        await at_case(pilot, "BY-102", "enter")
        told = painted(pilot)
    for text in (
        "changed you have not opened this case before",
        "say this We are waiting for your surgeon's instructions",
        "Keep the sling on until Fri 3 Apr.",
        "x not met days in stage day 10 14 days, Fri 6 Mar",
        "to mind in this stage and pathway",
        "no leaning on the hand",
        "Surgeon's orders prevail.",
        "does not see imaging",
        "rules v3 NOT SIGNED OFF",
    ):
        assert text in told, text


async def test_enter_opens_the_criterion_under_the_cursor_with_its_source_and_history(app):
    """Down and k go from row to row; at the end of the table they scroll; Esc and q go one level back."""
    async with app.run_test(size=SMALL) as pilot:
        await at_case(pilot, "BY-078", "enter", "enter")
        told = painted(pilot)
        for text in (
            "not met external rotation strength at least 70 % of the other side",
            "64 % (6.4 of 10 kg), needs 70 % or more of the other side; Fri 20 Feb, 10 days ago",
            "at this pace in about 15 weeks (8 to 18), from 4 values since Fri 12 Dec",
            "source: design of this project (design)",
            "judged by, newest first",
            "external rotation strength: 6.4 kg on Fri 20 Feb",
            "external rotation strength RIGHT: 10 kg on",
        ):
            assert text in told, text
        await press(pilot, "escape", "down", "down", "k", "enter")
        assert "met 3 good sessions of light resisted work, 3 x 10 or more" in painted(pilot)
        assert "session of Sat 28 Feb" in painted(pilot)
        await press(pilot, "q", *["down"] * 5, *["pagedown"] * 3)
        told = painted(pilot)
        assert "own past cases took a median of 35 days in this stage (7 of 14 still there)" in told
        assert "BY-078 LEFT RC2 Base load" in told
        await press(pilot, *["pageup"] * 3, *["up"] * 4)
        assert "▌x not met external rotation strength 64 %" in painted(pilot)
        await press(pilot, "q")
        assert isinstance(pilot.app.screen, BoardScreen)
        await at_case(pilot, "BY-087", "enter", "enter", "down")
        assert isinstance(pilot.app.screen, CaseScreen)
        assert "closed on Wed 25 Feb: goal met FICTIONAL CASELOAD" in painted(pilot)


async def test_the_mornings_stand_beside_the_table_where_there_is_room(app):
    async with app.run_test(size=(110, 30)) as pilot:
        await at_case(pilot, "BY-018", "enter")
        told = painted(pilot)
        assert "pain on the last 14 mornings" in told
        assert " 3 - - - - - - - - - - - - - - limit" in told
        assert "last 14 mornings ·" not in told
        await pilot.resize_terminal(109, 30)
        for _ in range(200):
            await pilot.pause(0.01)
            told = painted(pilot)
            if "last 14 mornings ·" in told:
                break
    assert "last 14 mornings · 2 · 2 · 2 · 2 · 2 2 6 6 ·" in told
    assert "limit 3" not in told
    assert "- -" not in told


async def test_a_look_is_noted_on_leaving_and_what_came_since_is_said(app, door):
    async with app.run_test(size=(120, 60)) as pilot:
        await at_case(pilot, "BY-069", "enter")
        assert door.last_look("BY-069") is None
        await press(pilot, "escape")
        assert door.last_look("BY-069") is not None
        assert door.last_look("BY-018") is None
        await press(pilot, "enter")
        assert "changed nothing new since Mon 2 Mar 20:00" in painted(pilot)
        await press(pilot, "escape")
        door.now = lambda: NOW + timedelta(minutes=9)
        door.append("BY-069", [door.draft("screen", item="motor or sensory loss", answer="yes")])
        await press(pilot, "S", "enter")
        told = painted(pilot)
    assert "1 safety answer; came: possible red flag; gone: ready to step forward; " in told
    assert "verdict READY -> REFER" in told
    assert "say this Go to hospital today. New numbness or weakness of the arm." in told  # ruling 85


async def test_a_store_for_reading_keeps_no_look(app, door):
    door.store.read_only = True
    async with app.run_test(size=SMALL) as pilot:
        await at_case(pilot, "BY-069", "enter", "escape")
    assert door.last_look("BY-069") is None


async def test_leaving_the_program_from_a_case_notes_the_look_too(app, door):
    async with app.run_test(size=SMALL) as pilot:
        await at_case(pilot, "BY-069", "enter")
        await pilot.press("ctrl+q")
    assert door.last_look("BY-069") is not None


async def test_brackets_walk_through_the_list_in_its_order_and_take_the_cursor_along(app, door):
    async with app.run_test(size=SMALL) as pilot:
        await at_case(pilot, "BY-015", "enter", "right_square_bracket")
        assert "BY-003 RIGHT" in painted(pilot)
        assert door.last_look("BY-015") is not None
        await press(pilot, "left_square_bracket", "left_square_bracket")
        assert "BY-007 LEFT" in painted(pilot)
        await press(pilot, "left_square_bracket")
        assert isinstance(pilot.app.screen, SayScreen)
        assert "BY-007 is the first of the list." in painted(pilot)
        await press(pilot, "escape", "escape")
        assert isinstance(pilot.app.screen, BoardScreen)
        assert pilot.app.screen.in_view().code == "BY-007"


def test_beside_keeps_to_the_rows_shown():
    listing = Listing()
    listing.sort([a_standing("NV-1"), a_standing("NV-2", side="LEFT"), a_standing("NV-3")])
    assert listing.beside("NV-1", 1).code == "NV-2"
    listing.filter = "right"
    assert listing.beside("NV-1", 1).code == "NV-3"
    assert listing.beside("NV-2", 1).code == "NV-3"
    assert listing.beside("NV-3", 1) is None
    assert listing.beside("NV-1", -1) is None
    assert listing.beside("NV-9", 1) is None


def test_a_closed_case_has_nothing_to_say_and_says_so():
    told = [p.text for p in further(a_standing("NV-1"), reading=CaseReading("nothing new", (), ()))]
    assert "nothing: the case is closed" in told


# patient beside me

REASONS = re.compile(
    r"overdue|attend|respond|READY|NOT YET|REFER|STEP BACK|verdict|criteri|flare|breach|broken|red flag|"
    r"today case|harm|baseline|BY-(?!018)\d|active|closed but owing"
)


@pytest.mark.parametrize("start", [["t"], ["enter", "t"]])
async def test_the_patients_view_shows_one_case_and_no_word_that_judges(app, start):
    async with app.run_test(size=(80, 60)) as pilot:
        await at_case(pilot, "BY-018", *start)
        assert isinstance(pilot.app.screen, PatientScreen)
        told = painted(pilot)
        assert not REASONS.search(told), REASONS.search(told)
        for text in (
            "FICTIONAL CASELOAD",
            "Your RIGHT shoulder, Mon 2 Mar 2026",
            "Keep pain in the exercises and later that day to 4 of 10 or less",
            "side-lying external rotation: 3 sets of 10 to 14, 1.5 kg, 3 times a week",
            "Mon 2 Mar 09:20, today",
            "the shoulder turns hot, red or swollen",
        ):
            assert text in told, text


async def test_nothing_but_back_leaves_the_patients_view(app):
    async with app.run_test(size=SMALL) as pilot:
        await at_case(pilot, "BY-018", "enter", "t")
        await press(pilot, "question_mark", "ctrl+p", "ctrl+c", "enter", "c", "F", "g", "f1", "space")
        assert isinstance(pilot.app.screen, PatientScreen)
        assert pilot.app.is_running
        await press(pilot, "f8")
        assert isinstance(pilot.app.screen, BlankScreen)
        assert "BY-018" not in painted(pilot)
        await press(pilot, "down")
        assert isinstance(pilot.app.screen, PatientScreen)
        await pilot.pause(2 * BURST)  # as long as a hand takes at least
        await press(pilot, "x")
        assert isinstance(pilot.app.screen, BlankScreen)
        await press(pilot, "down")
        await pilot.pause(2 * BURST)
        await press(pilot, "escape")
        assert isinstance(pilot.app.screen, CaseScreen)
        await press(pilot, "ctrl+p")
        assert not isinstance(pilot.app.screen, CaseScreen)


async def test_the_list_never_shows_through_while_the_case_is_read(app, monkeypatch):
    monkeypatch.setattr(PatientScreen, "read", lambda self: None)
    async with app.run_test(size=SMALL) as pilot:
        await at_case(pilot, "BY-018", "t")
        keys = "Esc leaves this view e writes the sheet for paper F8 blanks the screen"
        assert painted(pilot) == f"FICTIONAL CASELOAD One moment ... {keys}"


async def test_e_writes_the_patients_sheet_beside_the_store_and_says_where(app, door):
    async with app.run_test(size=SMALL) as pilot:
        await at_case(pilot, "BY-018", "t", "e")
        path = door.store.folder / "sheet-BY-018-2026-03-02.html"
        await until(lambda: "Written to" in painted(pilot))
        assert path.name in painted(pilot).replace(" ", "")
    html = path.read_text(encoding="utf-8")
    assert "Your RIGHT shoulder, Mon 2 Mar 2026" in html
    assert not REASONS.search(re.sub(r"<style>.*?</style>|<[^>]*>", "", html, flags=re.DOTALL))


async def test_the_patients_view_works_follows_the_record(app, door):
    async with app.run_test(size=(80, 40)) as pilot:
        await at_case(pilot, "BY-018", "t")
        door.append("BY-018", [door.draft("event", event="fall")])
        pilot.app.screen_stack[0].read_again()
        await press(pilot, "down")
        told = painted(pilot)
    assert "We need to see you first" in told
    assert "scaption" not in told
