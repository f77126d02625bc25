"""The morning list driven by keys and by the mouse, over invented cases held in memory."""

from __future__ import annotations

import re
import subprocess
import sys
from datetime import timedelta

import pytest

from armrise.tui.app.help import HelpScreen
from armrise.tui.app.screens import SCREENS
from armrise.tui.board.board import HOW_TO_READ
from armrise.tui.case.case import CaseScreen
from armrise.tui.shell.keyname import is_key
from armrise.tui.shell.say import BlankScreen, SayScreen
from armrise.tui.widgets.caselist import CaseList
from tests.clinic.build import rules
from tests.tui.conftest import FakeDoor, a_caseload, a_pain, a_reason, a_standing, an_app, settled

SMALL, WIDE = (80, 24), (120, 40)


def the_list(app) -> CaseList:
    return app.screen_stack[0].query_one(CaseList)


def painted(app) -> str:
    """The screen as text."""
    strips = app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in strip) for strip in strips)


def line_with(app, text: str) -> str:
    return next((line for line in painted(app).splitlines() if text in line), "")


async def press(pilot, *keys: str) -> None:
    for key in keys:
        await pilot.press(key)
    await settled(pilot)


# what is on the screen


async def test_the_list_stands_in_tiers_with_counts_and_whole_words():
    app = an_app()
    async with app.run_test(size=WIDE) as pilot:
        await settled(pilot)
        screen = painted(app)
    for words in ("TODAY  3", "HARM IF LEFT  2", "CONTACT OWED  3", "MOVE ON  2", "NOTHING NOW  4"):
        assert words in screen
    assert "FICTIONAL CASELOAD" in screen
    assert "rules v1 NOT SIGNED OFF" in screen
    assert "data to 08:05" in screen
    assert "12 active, 1 waiting, 1 on hold, 1 closed but owing" in screen
    assert "Supports and never replaces clinical judgement" in screen


def test_the_legend_names_every_reason_under_its_tier():
    """Ruling 63; both grades of an overdue review are one word here."""
    told = next(line for line in HOW_TO_READ if line.startswith("TODAY: "))
    under = dict(part.split(": ", 1) for part in re.split(r"\. (?=[A-Z])", told))
    for rank in rules().ranks.values():
        assert rank.name.removesuffix(" by a whole interval") in under[rank.tier.upper()]


async def test_a_case_in_hand_stays_under_today():
    app = an_app()
    async with app.run_test(size=WIDE) as pilot:
        await settled(pilot)
        lines = painted(app).splitlines()
    today, harm = (next(n for n, line in enumerate(lines) if head in line) for head in ("TODAY", "HARM IF"))
    assert today < next(n for n, line in enumerate(lines) if "in hand until Fri 6 Mar" in line) < harm


async def test_limits_in_force_lead_the_five_second_view():
    app = an_app()
    async with app.run_test(size=(142, 40)) as pilot:
        await settled(pilot)
        await press(pilot, "down")
        pane = " ".join(" ".join(line[104:] for line in painted(app).splitlines()).split())
    limit = pane.index("no active lift until Sat 14 Mar")
    assert pane.index("NV-121") < limit < pane.index("healing limit broken") < pane.index("NOT YET")
    assert pane.index("NOT YET") < pane.index("not met: rotation") < pane.index("during 1, later 1")
    assert pane.index("baseline 1") < pane.index("Thu 5 Mar") < pane.index("Surgeon's orders prevail.")


async def test_the_terminal_title_carries_no_case():
    app = an_app()
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        assert "NV-" not in f"{app.title}{app.sub_title}{app.screen.title or ''}"


# the cursor


async def test_the_cursor_moves_by_case_and_stops_at_the_ends():
    app = an_app()
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        assert the_list(app).cursor == "NV-110"
        await press(pilot, "j", "down")
        assert the_list(app).cursor == "NV-132"
        await press(pilot, "k", "up", "up")
        assert the_list(app).cursor == "NV-110"
        await press(pilot, "end", "down")
        assert the_list(app).cursor == "NV-264"
        assert "NV-264" in painted(app)
        await press(pilot, "home")
        assert the_list(app).cursor == "NV-110"
        assert "TODAY  3" in painted(app)


async def test_the_cursor_stays_on_its_case_when_the_data_changes_elsewhere_and_no_row_moves():
    door = FakeDoor()
    app = an_app(door)
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        await press(pilot, *["down"] * 7)
        case, before = the_list(app).cursor, the_list(app).codes
        offset = the_list(app).scroll_offset.y
        door.cases = [c._replace(days_in_stage=(c.days_in_stage or 0) + 1) for c in reversed(door.cases)]
        door.was_changed = True
        app.screen_stack[0].poll()
        await settled(pilot)
        assert the_list(app).codes == before
        assert (the_list(app).cursor, the_list(app).scroll_offset.y) == (case, offset)
        assert "13 rows would move: S sorts" in painted(app)
        assert "23 of 35" in line_with(app, case)
        await press(pilot, "S")
        assert the_list(app).codes != before
        assert the_list(app).cursor == case
        assert case in painted(app)
        assert "S sorts" not in painted(app)


async def test_a_case_that_became_urgent_elsewhere_says_so_where_it_stands():
    door = FakeDoor()
    app = an_app(door)
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(pilot)
        urgent = door.cases[-2]._replace(reasons=(a_reason("new injury", "fell today"),))
        door.cases = [urgent, *door.cases[:-2], door.cases[-1]]
        door.was_changed = True
        app.screen_stack[0].poll()
        await settled(pilot)
        await press(pilot, "end")
        assert "now TODAY: new injury: fell today" in painted(app)
        assert line_with(app, " today   ").split()[0] == "4"


async def test_the_cursor_stays_on_its_case_between_80_and_120_columns():
    app = an_app()
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        await press(pilot, *["down"] * 9)
        case = the_list(app).cursor
        for size in (WIDE, SMALL, (60, 15), WIDE):
            await pilot.resize_terminal(*size)
            await settled(pilot)
            assert the_list(app).cursor == case
            assert case in painted(app)


async def test_the_mouse_selects_and_a_double_click_opens():
    app = an_app()
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        await pilot.click(CaseList, offset=(20, the_list(app)._layout.place("NV-121")))
        await settled(pilot)
        assert the_list(app).cursor == "NV-121"
        await pilot.click(CaseList, offset=(20, 1), times=2)
        await settled(pilot)
        assert isinstance(app.screen, CaseScreen)
        assert app.screen.code == "NV-110"


async def test_a_key_at_the_foot_can_be_clicked():
    app = an_app()
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        column = line_with(app, "? help").index("? help")
        await pilot.click("#keys", offset=(column, 0))
        await settled(pilot)
        assert isinstance(app.screen, HelpScreen)


# the filter


async def test_a_search_narrows_as_typed_and_counts_the_today_cases_it_leaves_out():
    app = an_app()
    async with app.run_test(size=WIDE) as pilot:
        await settled(pilot)
        await press(pilot, "slash", *"overdue")
        assert the_list(app).codes == ["NV-143", "NV-165", "NV-176"]
        assert the_list(app).cursor == "NV-143"
        assert '3 cases for "overdue"' in painted(app)
        assert "TODAY  3 outside this search (Esc shows them)" in painted(app)
        await press(pilot, "enter")  # of three cases none is meant yet
        assert the_list(app).has_focus
        await press(pilot, "slash", *"left passive", "escape", "slash", *"unrelenting")
        assert "TODAY  1, and 2 outside this search (Esc shows them)" in painted(app)
        await press(pilot, "escape")
        assert len(the_list(app).codes) == 14
        assert "outside" not in painted(app)


async def test_the_cursor_goes_to_the_first_match_and_stays_on_it_when_the_search_is_cleared():
    app = an_app()
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        await press(pilot, *["down"] * 8)
        assert the_list(app).cursor == "NV-198"
        await press(pilot, "slash", *"nothing recorded")
        assert the_list(app).cursor == "NV-165"
        await press(pilot, "escape")
        assert the_list(app).cursor == "NV-165"
        await press(pilot, "slash", *"rc2")
        assert the_list(app).cursor == "NV-110"
        await press(pilot, *["backspace"] * 3)
        assert the_list(app).cursor == "NV-110"


async def test_a_number_typed_is_a_code_before_it_is_a_figure_in_somebodys_reason():
    days = a_reason("review overdue", "review overdue: 209 days")
    app = an_app(FakeDoor([a_standing("NV-170", reasons=(days,)), *a_caseload()]))
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        await press(pilot, "slash", *"209")
        assert the_list(app).codes == ["NV-170", "NV-209"]
        assert the_list(app).cursor == "NV-209"
        await press(pilot, "enter")
        assert app.screen.code == "NV-209"


async def test_where_nothing_matches_the_cursor_is_on_no_case_and_enter_says_so():
    """No case of TODAY is opened in place of the one that was searched for."""
    app = an_app()
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        await press(pilot, "down", "slash", *"999", "enter")
        assert the_list(app).codes == []
        assert "TODAY  3 outside this search (Esc shows them)" in painted(app)
        assert 'No case matches "999": Esc shows every case again.' in painted(app)
        await press(pilot, "enter")
        assert isinstance(app.screen, SayScreen)
        assert 'No case matches "999"' in painted(app)
        await press(pilot, "enter", "w")
        assert "No case is selected" in painted(app)
        await press(pilot, "enter", "S", "down")  # read anew: still on no case
        assert the_list(app).cursor == ""
        await press(pilot, "escape")
        assert the_list(app).cursor == "NV-121"


async def test_the_cursor_comes_back_to_its_case_when_a_filter_that_matches_nothing_is_cleared():
    app = an_app()
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        await press(pilot, *["down"] * 8, "slash", "underscore")
        assert the_list(app).cursor == ""
        await press(pilot, "escape")
        assert the_list(app).cursor == "NV-198"


async def test_a_case_that_no_longer_matches_leaves_the_cursor_on_a_match_and_on_no_case_of_today():
    door = FakeDoor()
    app = an_app(door)
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        await press(pilot, "slash", *"overdue", "enter")
        assert the_list(app).cursor == "NV-143"
        door.cases = [s for s in door.cases if s.code not in ("NV-143", "NV-165", "NV-176")]
        await press(pilot, "S")
        assert the_list(app).codes == []
        assert the_list(app).cursor == ""


async def test_the_arrows_move_in_the_list_while_a_filter_is_typed():
    app = an_app()
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        await press(pilot, "slash", *"rc", "down", "down")
        assert the_list(app).cursor == "NV-143"


# opening, blank, help, palette


@pytest.mark.parametrize("size", [SMALL, WIDE])
async def test_enter_opens_the_whole_account_and_escape_returns_to_the_case(size, monkeypatch):
    monkeypatch.setattr(
        "armrise.tui.case.case.why_above", lambda a, b: f"{a.code} is above {b.code}: larger rise"
    )
    app = an_app()
    async with app.run_test(size=(size[0], 60)) as pilot:
        await settled(pilot)
        await press(pilot, "down", "enter")
        assert isinstance(app.screen, CaseScreen)
        screen = painted(app)
        for words in ("FICTIONAL CASELOAD", "limits", "all reasons (1)", "NOT YET", "? unknown",
                      "NV-121 is above NV-132: larger rise", "NOT SIGNED OFF"):  # fmt: skip
            assert words in screen
        await press(pilot, "escape")
        assert the_list(app).has_focus
        assert the_list(app).cursor == "NV-121"


async def test_w_says_why_a_case_is_above_the_next(monkeypatch):
    monkeypatch.setattr(
        "armrise.tui.case.actions.why_above", lambda a, b: f"{a.code} is above {b.code}: rank"
    )
    app = an_app()
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        await press(pilot, "w")
        assert isinstance(app.screen, SayScreen)
        assert "NV-110 is above NV-121: rank" in painted(app)
        await press(pilot, "q")
        assert app.screen is app.screen_stack[0]


@pytest.mark.parametrize("key", ["x", "f8"])
async def test_one_key_blanks_and_any_key_returns_without_doing_anything_else(key):
    app = an_app()
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        await press(pilot, "down", key)
        assert isinstance(app.screen, BlankScreen)
        assert "NV-" not in painted(app)
        await press(pilot, "q")
        assert app.is_running
        assert the_list(app).cursor == "NV-121"
        assert app.screen is app.screen_stack[0]


async def test_the_screen_blanks_itself_when_nobody_is_there():
    app = an_app(FakeDoor(rules={"privacy.blank_after_seconds": 60}))
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        assert app.blank_seconds == 60
        app._blank_when_idle()
        await settled(pilot)
        assert not isinstance(app.screen, BlankScreen)
        app._touched -= 61
        app._blank_when_idle()
        await settled(pilot)
        assert isinstance(app.screen, BlankScreen)
        await press(pilot, "a")
        app._blank_when_idle()
        await settled(pilot)
        assert not isinstance(app.screen, BlankScreen)


async def test_help_lists_every_binding_and_the_palette_has_every_action():
    app = an_app()
    async with app.run_test(size=(100, 90)) as pilot:
        await settled(pilot)
        board = app.screen
        bindings = [a.binding for a in board.active_bindings.values() if a.binding.id]
        palette = {command.title.lower() for command in app.get_system_commands(board)}
        await press(pilot, "question_mark")
        assert isinstance(app.screen, HelpScreen)
        shown = painted(app)
    wanted = {"check_in", "contact", "in_hand", "step_forward", "step_back", "undo", "why_above"}
    assert wanted <= {b.id.removeprefix("case.") for b in bindings}
    for binding in bindings:
        assert binding.description in shown
        assert app.get_key_display(binding) in shown
        assert binding.description.lower() in palette


async def test_an_action_of_the_palette_runs():
    app = an_app()
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        commands = {c.title: c.callback for c in app.get_system_commands(app.screen)}
        await commands["Last case"]()
        await settled(pilot)
        assert the_list(app).cursor == "NV-264"


async def test_step_keys_do_not_move_and_every_binding_has_its_own_id():
    app = an_app()
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        ids = [a.binding.id for a in app.screen.active_bindings.values() if a.binding.id]
        steps = {k for k, a in app.screen.active_bindings.items() if "step" in (a.binding.id or "")}
    assert {key for key in steps if is_key(key)} == {"F"}
    assert len(set(ids)) == len(ids) - 2 - 9, "only j and k share the id of an arrow, and the ten digits one"


async def test_a_remapped_key_shows_in_help():
    app = an_app()
    app.set_keymap({"list.sort": "f5"})
    async with app.run_test(size=(100, 90)) as pilot:
        await settled(pilot)
        await press(pilot, "question_mark")
        assert "F5" in line_with(app, "sort again")


# forms


class Form:
    """Stands in for an entry screen: remembers what it was opened with and what it gives back."""

    def __init__(self, answer):
        self.answer, self.opened = answer, []

    def __call__(self, door, standing, **options):
        from textual.screen import ModalScreen

        answer = self.answer
        self.opened.append((standing.code, options))

        class Screen(ModalScreen):
            def on_mount(self):
                self.dismiss(answer)

        return Screen()


@pytest.mark.parametrize(
    ("key", "name", "options"),
    [
        ("c", "CheckInScreen", {}),
        ("p", "ContactScreen", {}),
        ("i", "InHandScreen", {}),
        ("F", "StepScreen", {"direction": "forward"}),
        ("U", "UndoScreen", {}),
    ],
)
async def test_a_key_opens_its_form_about_the_case_and_the_list_is_read_again(
    monkeypatch, key, name, options
):
    form, door = Form("NV-121: contact. Written."), FakeDoor()
    monkeypatch.setattr(f"{SCREENS[name]}.{name}", form)
    app = an_app(door)
    async with app.run_test(size=WIDE) as pilot:
        await settled(pilot)
        before = door.readings
        await press(pilot, "down", key)
        await settled(pilot)
        assert form.opened == [("NV-121", options)]
        assert door.readings == before + 1
        assert "NV-121: contact. Written." in painted(app)
        assert the_list(app).cursor == "NV-121"


async def test_a_cancelled_form_reads_nothing_again(monkeypatch):
    form, door = Form(None), FakeDoor()
    monkeypatch.setattr("armrise.tui.forms.visit.checkin.CheckInScreen", form)
    app = an_app(door)
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        before = door.readings
        await press(pilot, "c")
        assert door.readings == before


# states


async def test_an_empty_store_says_how_to_fill_it():
    app = an_app(FakeDoor([]))
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        assert "No cases yet." in painted(app)
        assert "armrise load FILE" in painted(app)
        assert "armrise demo" in painted(app)
        await press(pilot, "enter", "down", "w")
        assert "No case is selected" in painted(app)


async def test_a_refusal_of_the_store_is_one_sentence_on_the_screen():
    from armrise.store.database.place import StoreError

    app = an_app(error=StoreError("there is no store at X: create it, or give the path of another one"))
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        assert "there is no store at X" in painted(app)
        assert "Traceback" not in painted(app)
        await press(pilot, "c")
        assert "the caseload could not be opened" in painted(app)
        assert app.is_running


async def test_a_store_open_for_reading_says_so_and_writes_nothing():
    app = an_app(FakeDoor(read_only=True))
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        assert "READ ONLY" in painted(app)
        await press(pilot, "c")
        assert isinstance(app.screen, SayScreen)
        assert "reading only" in painted(app)


async def test_a_failing_poll_leaves_the_list_standing():
    door = FakeDoor()
    app = an_app(door)
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)

        def broken():
            raise OSError("disk gone")

        door.changed = broken
        app.screen.poll()
        await settled(pilot)
        assert "disk gone" in painted(app)
        assert "NV-110" in painted(app)


async def test_a_window_too_small_says_so():
    app = an_app()
    async with app.run_test(size=(50, 12)) as pilot:
        await settled(pilot)
        assert "This window is 50 by 12; armrise needs 60 by 15" in " ".join(painted(app).split())
        await pilot.resize_terminal(80, 24)
        await settled(pilot)
        assert "NV-110" in painted(app)


async def test_keys_before_the_caseload_is_there_are_answered_in_words():
    app = an_app()
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        app.door = None
        await press(pilot, "c")
        assert "still being read" in painted(app)


async def test_a_referral_that_waits_and_a_closed_case_that_owes_nothing_are_off_the_list():
    cases = [
        a_standing("NV-1"),
        a_standing("NV-2", status="closed"),
        a_standing("NV-3", status="waiting"),
        a_standing("NV-4", status="waiting", reasons=(a_reason("possible red flag"),)),
    ]
    door = FakeDoor(cases)
    door.backup_age = timedelta(hours=2)
    app = an_app(door)
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        assert the_list(app).codes == ["NV-4", "NV-1"]
        assert "1 active, 1 waiting, 0 on hold, 0 closed but owing" in painted(app)


async def test_only_referrals_waiting_is_said_in_words():
    app = an_app(FakeDoor([a_standing("NV-3", status="waiting")]))
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        assert "1 referral waiting for a first visit" in painted(app)


def test_nothing_of_the_store_but_words_is_imported_for_the_first_frame():
    """House rule: the frame is painted before the store is read; the table classes come after the rows."""
    code = """
import sys, armrise.tui.app.app
heavy = ("sqlite3", "sqlmodel", "sqlalchemy", "pydantic", "pendulum", "click", "ssl", "hashlib")
ours = {m: of for m, of in sys.modules.items() if m.startswith("armrise.store")}
print(sorted(m for m, of in ours.items() if not hasattr(of, "__path__")))
print([m for m in sys.modules if m.split(".")[0] in heavy])
import asyncio, ssl
asyncio.run(asyncio.sleep(0))
"""
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    words = [
        "clinic.standing.do_words",
        "clinic.standing.words",
        "record.light",
        "record.visible",
        "record.words",
    ]
    assert told.stdout.splitlines() == [repr([f"armrise.store.{name}" for name in words]), "[]"]


async def test_nothing_asked_is_still_a_list():
    app = an_app(FakeDoor([a_standing("NV-1")]))
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        assert "NOTHING NOW  1" in painted(app)


# what was written, and what is new


async def test_rows_stay_when_something_was_written_and_only_s_sorts_them(monkeypatch):
    """Cursor and scroll stay too; the row has its new words and a mark, also after its case was opened."""
    door = FakeDoor()
    monkeypatch.setattr(f"{SCREENS['CheckInScreen']}.CheckInScreen", Form("NV-154: check-in. Written."))
    app = an_app(door)
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        await press(pilot, *["down"] * 4)
        codes, offset = the_list(app).codes, the_list(app).scroll_offset.y
        assert the_list(app).cursor == "NV-154"
        changed = door.cases[4]._replace(reasons=(), pain=a_pain(9, 9, 9))
        door.cases = [*door.cases[:4], *door.cases[5:], changed]
        for keys in (["c"], ["enter", "c", "escape"]):
            await press(pilot, *keys)
            await settled(pilot)
            assert (the_list(app).codes, the_list(app).scroll_offset.y) == (codes, offset)
            assert the_list(app).cursor == "NV-154"
            line = line_with(app, "NV-154 RIGHT")
            assert line.startswith("▌ ✓NV-154")
            assert "9/9/9" in line
            assert "NOTHING NOW: " in line
            assert "1 row would move: S sorts" in painted(app)
        await press(pilot, "S")
        assert the_list(app).codes[-1] == "NV-154"
        assert "✓" not in painted(app)
        assert "S sorts" not in painted(app)


async def test_a_case_that_left_the_list_keeps_its_row_and_says_so_until_it_is_sorted(monkeypatch):
    door = FakeDoor()
    monkeypatch.setattr(f"{SCREENS['CheckInScreen']}.CheckInScreen", Form("NV-154: discharged. Written."))
    app = an_app(door)
    async with app.run_test(size=WIDE) as pilot:
        await settled(pilot)
        await press(pilot, *["down"] * 4)
        door.cases[4] = door.cases[4]._replace(status="closed", reasons=())
        await press(pilot, "c")
        await settled(pilot)
        assert "closed: off the list with the next sort" in line_with(app, "✓NV-154")
        assert app.screen.in_view().status == "closed"
        await press(pilot, "S")
        assert "NV-154" not in painted(app)


async def test_marks_stand_before_the_code_and_are_letters_where_only_letters_can_be_shown(monkeypatch):
    for letters, news, done in (("C.UTF-8", "•", "✓"), ("C", ".", "+")):
        monkeypatch.setenv("LC_ALL", letters)
        app = an_app()
        async with app.run_test(size=SMALL) as pilot:
            await settled(pilot)
            listing = app.screen.listing
            listing.news, listing.marked = {"NV-121", "NV-132"}, {"NV-132"}
            listing.wrote("NV-143")
            listing.refresh([case._replace(days_in_stage=7) for case in listing.cases()])
            app.screen.lay_out()
            await settled(pilot)
            assert line_with(app, "NV-121").startswith(f"  {news}NV-121")
            assert line_with(app, "NV-132").startswith(f" *{news}NV-132")
            assert line_with(app, "NV-143").startswith(f"  {done}NV-143")
            assert line_with(app, "NV-110").startswith("▌  NV-110" if news == "•" else ">  NV-110")


# how much of each row, and the pane


async def test_one_key_shows_one_line_a_case_and_every_row_again():
    app = an_app()
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        before = painted(app)
        await press(pilot, "L")
        codes = [line[3:9] for line in painted(app).splitlines() if line[3:6] == "NV-"]
        assert codes == the_list(app).codes
        await press(pilot, "down", "enter", "escape", "up")
        assert [line[3:9] for line in painted(app).splitlines() if line[3:6] == "NV-"] == codes
        await press(pilot, "L")
        assert painted(app) == before


async def test_the_pane_stands_by_itself_where_the_list_keeps_100_columns_and_elsewhere_by_its_key():
    app = an_app()
    async with app.run_test(size=(141, 40)) as pilot:
        await settled(pilot)
        pane = app.screen.query_one("#pane")
        assert not pane.display
        await pilot.resize_terminal(142, 40)
        await settled(pilot)
        assert pane.display
        assert the_list(app).size.width >= 100
        await press(pilot, "tab")
        assert not pane.display
        await pilot.resize_terminal(80, 24)
        await settled(pilot)
        await press(pilot, "tab")
        assert pane.region.width == 80
        assert the_list(app).size.width == 80
        assert the_list(app).size.height >= 8
        assert "NV-110  LEFT" in painted(app) or "NV-110 LEFT" in painted(app)
        await press(pilot, "down")
        assert "no active lift until Sat 14 Mar" in painted(app)


async def test_an_empty_list_shows_no_key_that_acts_on_a_case():
    app = an_app(FakeDoor([]))
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        assert "check-in" not in painted(app)
        assert "sort" not in painted(app)
        assert "? help" in painted(app)


async def test_pages_and_clicks_know_rows_of_several_lines():
    app = an_app()
    async with app.run_test(size=(80, 15)) as pilot:
        await settled(pilot)
        shown = the_list(app)
        await press(pilot, "pagedown")
        assert shown.codes.index(shown.cursor) >= 2
        await press(pilot, "pagedown", "pageup", "pageup", "pageup")
        assert shown.cursor == "NV-110"
        assert shown._layout.height_of("NV-121") > 1
        await pilot.click(CaseList, offset=(20, shown._layout.place("NV-121") + 1))
        await settled(pilot)
        assert shown.cursor == "NV-121"
        await press(pilot, "end")
        lines = [line for line in painted(app).splitlines() if "NV-264" in line]
        assert len(lines) == 1


async def test_the_end_of_the_sweep_sorts_and_a_look_at_another_list_does_not(app):
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        board, before = app.screen, the_list(app).codes
        board.listing.sort(board.listing.cases()[::-1])
        board.lay_out()
        turned = the_list(app).codes
        for key in ("A", "N", "enter"):
            await press(pilot, key)
            assert app.screen is not board
            await press(pilot, "escape")
            assert the_list(app).codes == turned != before
        await press(pilot, "W")
        await press(pilot, "escape")
        assert the_list(app).codes == before


async def test_a_case_reopened_is_the_one_under_the_cursor(app):
    async with app.run_test(size=SMALL) as pilot:
        await settled(pilot)
        await press(pilot, "E", "0", "8", "7", "enter", "n", *"pain", "f2")
        assert the_list(app).cursor == "BY-087"
        assert "✓BY-087" in painted(app)
