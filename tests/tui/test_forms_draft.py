"""What is typed in a form and not written: kept, offered, brought back, forgotten, never written by itself.

Common practice, no source: an interrupted entry is either there again or said to be lost.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

from armrise.store.database import desk
from armrise.store.database.place import Store, StoreError
from armrise.store.record.kinds.pain import Session
from armrise.store.record.kinds.safety import Event, Screen
from armrise.tui.forms.decisions.inhand import InHandScreen
from armrise.tui.forms.decisions.step import StepScreen
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.fields import Pick, Score
from armrise.tui.forms.kit.keeping import DROP
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.red_flags.rows import FlagRow
from armrise.tui.forms.red_flags.screen import RedFlagScreen
from armrise.tui.forms.visit.checkin import AnythingNew, CheckInScreen
from armrise.tui.forms.visit.contact import ContactScreen
from armrise.tui.shell.door import Door
from armrise.tui.shell.store_door import StoreDoor
from tests.clinic.build import rules
from tests.quiet import settle
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import NOW, new_entries, newest, painted, press, type_in

CODE = "BY-069"
OFFER = "Not written, typed Mon 2 Mar 20:00: F5 brings it back, F6 forgets it."


def later(door: Door, instant: datetime) -> Door:
    """The same author at the same store, opened again at another instant."""
    return StoreDoor(door.store, door.rules, door.author, door.store.local(instant).date(), lambda: instant)


async def kept(pilot: Pilot[Any]) -> None:
    """What a moment without a key does."""
    pilot.app.screen.keep_now()  # type: ignore[attr-defined]
    await settle(pilot)


async def type_and_stop(screen: Any, *keys: str) -> None:
    """Type into a form, and have the application end with the form open."""
    async with FormApp(screen).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *keys)
        await kept(pilot)


async def test_a_check_in_left_open_comes_back_and_is_written_only_when_asked(door: Door) -> None:
    before = newest(door)
    await type_and_stop(CheckInScreen(door, door.standing(CODE)), "n", "4", "z")
    assert newest(door) == before
    app = FormApp(CheckInScreen(door, door.standing(CODE)))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert OFFER in painted(pilot)
        during, again = app.form.query_one("#during", Score), app.form.query_one("#later", Score)
        assert (during.value, again.value) == ("", "")
        await press(pilot, "f5")
        assert (during.value, again.value) == ("4", "z")
        assert '"z" is not 0 to 9' in painted(pilot)  # the mark stands where it stood
        assert OFFER not in painted(pilot)
        await press(pilot, "f2")
        assert newest(door) == before  # a field is at fault
        again.focus()
        await press(pilot, "2", "f2")
    (stored,) = [e for e in new_entries(door, CODE, before) if isinstance(e, Session)]
    assert (stored.during, stored.later) == (4, 2)
    assert door.unwritten() == []


async def test_the_day_comes_back_as_the_date_it_was(door: Door) -> None:
    """ "Yesterday" of Monday is Sunday, also on Wednesday; the form of Wednesday begins at Tuesday."""
    await type_and_stop(CheckInScreen(door, door.standing(CODE)), "n", "4")
    on_wednesday = later(door, NOW + timedelta(days=2))
    app = FormApp(CheckInScreen(on_wednesday, on_wednesday.standing(CODE)))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "It is of an earlier day: look at its dates." in painted(pilot)
        day = app.form.query_one("#day", DayField)
        assert day.chosen == date(2026, 3, 3)
        await press(pilot, "f5")
        assert day.chosen == date(2026, 3, 1)
        assert app.form.query_one("#during", Score).value == "4"


async def test_a_day_that_may_no_longer_be_chosen_stays_and_is_marked(door: Door) -> None:
    await type_and_stop(CheckInScreen(door, door.standing(CODE)), "n", "4")
    weeks_later = later(door, NOW + timedelta(days=20))
    app = FormApp(CheckInScreen(weeks_later, weeks_later.standing(CODE)))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f5")
        day = app.form.query_one("#day", DayField)
        assert day.value == "2026-03-01"
        assert "more than 14 days back" in day.fault
        before = newest(door)
        await press(pilot, "f2")
        assert newest(door) == before


async def test_esc_keeps_what_was_typed_also_what_came_just_before(door: Door) -> None:
    before = newest(door)
    async with FormApp(CheckInScreen(door, door.standing(CODE))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("n", "4", "escape")
        await settle(pilot)
    kept_now = door.left_unwritten(CODE, "CheckInScreen")
    assert kept_now is not None
    assert kept_now.fields["during"] == "4"
    assert newest(door) == before


async def test_esc_right_after_opening_loses_neither_what_waits_nor_what_is_typed(door: Door) -> None:
    """Left before the case is read, and before it is known what waits."""
    await type_and_stop(CheckInScreen(door, door.standing(CODE)), "n", "4")
    hour_later = later(door, NOW + timedelta(hours=1))
    screen = CheckInScreen(hour_later, door.standing(CODE))
    screen._arrive = lambda opened: None  # type: ignore[method-assign]
    async with FormApp(screen).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n", "7", "escape")
    app = FormApp(CheckInScreen(hour_later, door.standing(CODE)))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f5")
        assert app.form.query_one("#during", Score).value == "7"
        assert OFFER in painted(pilot)


async def test_what_was_emptied_again_is_no_draft(door: Door) -> None:
    async with FormApp(CheckInScreen(door, door.standing(CODE))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n", "4")
        await kept(pilot)
        pilot.app.screen.query_one("#during").focus()
        await press(pilot, "backspace")
        pilot.app.screen.query_one("#new").focus()
        await press(pilot, "backspace", "escape")
    assert door.unwritten() == []


async def test_f6_twice_drops_what_is_typed_and_once_asks(door: Door) -> None:
    app = FormApp(CheckInScreen(door, door.standing(CODE)))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f6")
        assert DROP not in painted(pilot), "nothing is typed"
        await press(pilot, "n", "4")
        await kept(pilot)
        await press(pilot, "f6")
        assert DROP in painted(pilot)
        await press(pilot, "2")
        assert DROP not in painted(pilot)
        await press(pilot, "f6")
        assert app.result == "not dismissed", "something else was typed: asked anew"
        assert door.unwritten() != []
        await press(pilot, "f6")
        assert app.result is None
    assert door.unwritten() == []


async def test_what_cannot_be_kept_is_said_as_lost(door: Door, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: Any) -> None:
        raise StoreError("no room left on the disk")

    async with FormApp(CheckInScreen(door, door.standing(CODE))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        monkeypatch.setattr(desk, "keep_draft", full)
        await press(pilot, "n", "4", "escape")
        said = painted(pilot)
    assert f"What was typed could not be kept (Check-in, {CODE}): no room left on the disk." in said


async def test_esc_after_a_look_leaves_what_waited(door: Door) -> None:
    await type_and_stop(CheckInScreen(door, door.standing(CODE)), "n", "4")
    async with FormApp(CheckInScreen(door, door.standing(CODE))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "escape")
    assert [w.at for w in door.unwritten()] == [NOW]


async def test_f6_forgets(door: Door) -> None:
    await type_and_stop(CheckInScreen(door, door.standing(CODE)), "n", "4")
    async with FormApp(CheckInScreen(door, door.standing(CODE))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f6")
        assert OFFER not in painted(pilot)
        assert door.unwritten() == []
        await press(pilot, "f5")
        assert pilot.app.screen.query_one("#during", Score).value == ""


async def test_typing_anew_beside_what_waits_loses_neither(door: Door) -> None:
    await type_and_stop(CheckInScreen(door, door.standing(CODE)), "n", "4")
    hour_later = later(door, NOW + timedelta(hours=1))
    await type_and_stop(CheckInScreen(hour_later, door.standing(CODE)), "n", "7")
    app = FormApp(CheckInScreen(door, door.standing(CODE)))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "typed Mon 2 Mar 21:00" in painted(pilot)
        await press(pilot, "f6")
        assert OFFER in painted(pilot)
        await press(pilot, "f5")
        assert app.form.query_one("#during", Score).value == "4"


async def test_what_is_written_beside_a_waiting_draft_does_not_take_it_away(door: Door) -> None:
    await type_and_stop(ContactScreen(door, door.standing(CODE)), "s")
    async with FormApp(ContactScreen(door, door.standing(CODE))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "a")
        await kept(pilot)
        await press(pilot, "f2")
    assert [(w.form, w.at) for w in door.unwritten()] == [("ContactScreen", NOW)]
    after = later(door, NOW + timedelta(minutes=5))
    async with FormApp(ContactScreen(after, after.standing(CODE))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "You have written about this case since" in painted(pilot)


async def test_texts_choices_and_what_was_emptied_come_back(door: Door) -> None:
    code = "BY-007"
    screen = InHandScreen(door, door.standing(code))
    async with FormApp(screen).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await type_in(pilot, "rang the ward")
        await press(pilot, "enter", "backspace")
        await kept(pilot)
    app = FormApp(InHandScreen(door, door.standing(code)))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert app.form.query_one("#until", Line).value == "+3"
        await press(pilot, "f5")
        assert app.form.query_one("#action", Line).value == "rang the ward"
        assert app.form.query_one("#until", Line).value == ""


async def test_forms_of_one_case_and_authors_are_kept_apart(door: Door) -> None:
    await type_and_stop(ContactScreen(door, door.standing(CODE)), "s")
    other = StoreDoor(door.store, door.rules, "AB", door.today, door.now)
    for screen in (
        CheckInScreen(door, door.standing(CODE)),
        ContactScreen(other, door.standing(CODE)),
        ContactScreen(door, door.standing("BY-007")),
    ):
        async with FormApp(screen).run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            assert "Not written" not in painted(pilot)


async def test_a_step_turned_to_staying_comes_back_so(door: Door) -> None:
    code = "BY-069"
    screen = StepScreen(door, door.standing(code))
    async with FormApp(screen).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f4", "1")
        await type_in(pilot, "wants")
        await kept(pilot)
    app = FormApp(StepScreen(door, door.standing(code)))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "Step forward" in painted(pilot)
        await press(pilot, "f5")
        assert "Stay, with reason" in painted(pilot)
        assert app.form.query_one("#category", Pick).value
        assert app.form.query_one("#reason", Line).value == "wants"


async def test_red_flag_answers_come_back_with_the_check_in(door: Door) -> None:
    """Taken over from the list: they are kept with the check-in, and nowhere else any more."""
    before = newest(door)
    screen = CheckInScreen(door, door.standing(CODE))
    async with FormApp(screen).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "y", "3")
        pilot.app.screen.query_one("#event-0").focus()
        await press(pilot, "y", "f2")
        assert [w.form for w in door.unwritten()] == ["CheckInScreen"]
    app = FormApp(CheckInScreen(door, door.standing(CODE)))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f5")
        assert "2 answered, written with this" in painted(pilot)
        await press(pilot, "f2")
    stored = new_entries(door, CODE, before)
    (answer,) = [e for e in stored if isinstance(e, Screen)]
    (event,) = [e for e in stored if isinstance(e, Event)]
    assert (answer.answer, answer.severity, event.on) == ("yes", 3, date(2026, 3, 2))


async def test_a_red_flag_list_not_finished_is_asked_again(door: Door) -> None:
    """The program ends inside the list: the yes alone would hide what was answered, so it is not put back."""
    screen = CheckInScreen(door, door.standing(CODE))
    async with FormApp(screen).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "y", "3")
        await kept(pilot)
        assert isinstance(pilot.app.screen, RedFlagScreen)
    app = FormApp(CheckInScreen(door, door.standing(CODE)))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f5")
        assert app.form.query_one("#new", AnythingNew).value == ""
        assert "The red-flag list was not finished" in painted(pilot)
        app.form.query_one("#new").focus()
        await press(pilot, "y", "f5")
        assert app.screen.query_one("#flag-0", FlagRow).value == "3"


async def test_a_store_for_reading_keeps_nothing(made: Path) -> None:
    store = Store.open(made, read_only=True)
    door = StoreDoor(store, rules(), "TK", date(2026, 3, 2), lambda: NOW)
    door.keep_unwritten(CODE, "CheckInScreen", {"during": "4"})
    assert door.unwritten() == []


async def test_a_draft_that_cannot_be_kept_is_said(door: Door, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: Any) -> None:
        raise StoreError("no room left on the disk")

    monkeypatch.setattr(desk, "keep_draft", full)
    async with FormApp(CheckInScreen(door, door.standing(CODE))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n", "4")
        await kept(pilot)
        assert "What you type is not kept in case of a fault: no room left on the disk." in painted(pilot)
        monkeypatch.undo()
        assert pilot.app.screen.query_one("#during", Score).value == "4"


async def test_typing_is_kept_by_itself_after_a_moment(door: Door) -> None:
    async with FormApp(CheckInScreen(door, door.standing(CODE))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n", "4")
        for _ in range(100):
            await pilot.pause(0.05)
            if door.unwritten():
                break
        found = door.left_unwritten(CODE, "CheckInScreen")
        assert found is not None
        assert found.fields["during"] == "4"


@pytest.mark.parametrize(
    "form", [CheckInScreen, ContactScreen, InHandScreen, StepScreen], ids=lambda f: f.__name__
)
async def test_opening_and_leaving_a_form_keeps_nothing(door: Door, form: type[FormScreen]) -> None:
    async with FormApp(form(door, door.standing("BY-007"))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        pilot.app.screen.keep_soon()  # type: ignore[attr-defined]
        await kept(pilot)
        assert door.unwritten() == []


def test_drafts_are_told_the_newest_first(door: Door) -> None:
    door.keep_unwritten("BY-007", "ContactScreen", {"note": "a"}, datetime(2026, 3, 1, 9, 0, tzinfo=UTC))
    door.keep_unwritten(CODE, "CheckInScreen", {"during": "4"})
    assert [(w.code, w.form) for w in door.unwritten()] == [
        (CODE, "CheckInScreen"),
        ("BY-007", "ContactScreen"),
    ]
