"""The check-in by its keys: what is stored, what is shown, what is refused.

Expected behaviour: sections 1.4, 4.2 and 4.13 of the clinic's practice notes.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from armrise.store.caseload.write import Ledger
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.measured import Measure
from armrise.store.record.kinds.pain import Morning, Session
from armrise.store.record.kinds.safety import Event, Screen
from armrise.tui.forms.programme.sets import SetsField
from armrise.tui.forms.red_flags.screen import RedFlagScreen
from armrise.tui.forms.visit.checkin import CheckInScreen
from armrise.tui.shell.door import Door
from tests.quiet import settle
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import NOW, new_entries, newest, painted, press, type_in, until

SUNDAY = date(2026, 3, 1)
MONDAY = date(2026, 3, 2)


def check_in(door: Door, code: str) -> FormApp:
    return FormApp(CheckInScreen(door, door.standing(code)))


async def test_bare_digits_store_a_session_of_yesterday(door: Door) -> None:
    before = newest(door)
    app = check_in(door, "BY-084")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "this morning, after Sunday's exercises (Sun 1 Mar)" in painted(pilot)
        await press(pilot, "n", "3", "2", "2")
        assert "during / later / next morning 3 / 2 / 2" in painted(pilot)
        assert new_entries(door, "BY-084", before) == []
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-084", before)
    assert isinstance(stored, Session)
    assert (stored.on, stored.during, stored.later, stored.morning) == (SUNDAY, 3, 2, 2)
    assert (stored.author, stored.source, stored.recorded_on) == ("TK", "patient reported", MONDAY)
    assert stored.note == "asked: anything new (fever, numbness, fall, weight loss, unsteady): no"
    assert "session of Sun 1 Mar" in app.result


async def test_ten_declined_and_not_asked_are_three_things(door: Door) -> None:
    before = newest(door)
    app = check_in(door, "BY-084")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n", "x", "d", "f2")
    (stored,) = new_entries(door, "BY-084", before)
    assert isinstance(stored, Session)
    assert (stored.during, stored.later, stored.morning) == (10, Absence.DECLINED, Absence.NOT_ASKED)


async def test_zero_is_data(door: Door) -> None:
    """Practice note 4.13, case 2: pain 0 throughout is data."""
    before = newest(door)
    async with check_in(door, "BY-084").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n", "0", "0", "0", "0", "f2")
    session, waking = new_entries(door, "BY-084", before)
    assert isinstance(session, Session)
    assert (session.during, session.later, session.morning) == (0, 0, 0)
    assert isinstance(waking, Measure)
    assert (waking.name, waking.value, waking.on) == ("night_waking", Decimal(0), MONDAY)


async def test_one_then_nought_is_said_not_guessed(door: Door) -> None:
    async with check_in(door, "BY-084").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n", "1", "0")
        assert "Taken as during 1, later 0; for ten press x." in painted(pilot)


async def test_a_session_without_its_morning_gets_a_morning(door: Door) -> None:
    ledger = Ledger(door.store, "TK", lambda: NOW)
    ledger.append("BY-084", [door.draft("session", on=SUNDAY, during=3, later=2)])
    before = newest(door)
    async with check_in(door, "BY-084").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "on record" in painted(pilot)
        await press(pilot, "n", "4")
        assert "morning pain 4 on Mon 2 Mar" in painted(pilot)
        assert "(for Sunday's session)" in painted(pilot)
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-084", before)
    assert isinstance(stored, Morning)
    assert (stored.on, stored.pain) == (MONDAY, 4)


async def test_a_morning_after_a_rest_day_makes_no_session(door: Door) -> None:
    """Practice note 4.3: a rest day is nothing; ruling 30: its morning counts."""
    before = newest(door)
    async with check_in(door, "BY-084").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n", "down", "down", "2", "f2")
    (stored,) = new_entries(door, "BY-084", before)
    assert isinstance(stored, Morning)
    assert stored.pain == 2


async def test_a_second_session_of_a_day_is_kept_beside_the_first(door: Door) -> None:
    """Practice note 4.13, case 8: two check-ins of one day are both kept."""
    ledger = Ledger(door.store, "TK", lambda: NOW)
    ledger.append("BY-084", [door.draft("session", on=SUNDAY, during=3, later=2, morning=2)])
    before = newest(door)
    async with check_in(door, "BY-084").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n", "5", "4", "f2")
    (stored,) = new_entries(door, "BY-084", before)
    assert isinstance(stored, Session)
    assert (stored.ordinal, stored.during, stored.morning) == (2, 5, Absence.NOT_ASKED)


async def test_todays_session_has_its_morning_tomorrow(door: Door) -> None:
    before = newest(door)
    async with check_in(door, "BY-084").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f3", "right", "enter")
        assert "their next morning is tomorrow" in painted(pilot)
        await press(pilot, "n", "3", "2", "f2")
    (stored,) = new_entries(door, "BY-084", before)
    assert isinstance(stored, Session)
    assert (stored.on, stored.morning) == (MONDAY, Absence.NOT_ASKED)


@pytest.mark.parametrize(
    ("typed", "day"), [("-3", date(2026, 2, 27)), ("27 feb", date(2026, 2, 27)), ("thu", date(2026, 2, 26))]
)
async def test_another_day_may_be_typed(door: Door, typed: str, day: date) -> None:
    before = newest(door)
    async with check_in(door, "BY-063").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f3")
        await type_in(pilot, typed)
        await press(pilot, "enter", "n", "3", "2", "2", "f2")
    (stored,) = new_entries(door, "BY-063", before)
    assert stored.on == day


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("-15", "is more than 14 days back"),
        ("+1", "lies ahead"),
        ("31 feb", '"31 feb" is no date'),
    ],
)
async def test_an_impossible_day_is_marked_kept_and_not_written(door: Door, typed: str, words: str) -> None:
    before = newest(door)
    async with check_in(door, "BY-063").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f3")
        await type_in(pilot, typed)
        await press(pilot, "enter")
        assert words in painted(pilot)
        assert typed in painted(pilot)
        await press(pilot, "tab", "n", "3", "f2")
        assert words in painted(pilot)
    assert new_entries(door, "BY-063", before) == []


@pytest.mark.parametrize(
    ("key", "words"),
    [("full_stop", "never repeated"), ("h", '"h" is not 0 to 9, x for 10, or d for declined')],
)
async def test_an_impossible_score_is_marked_at_its_field(door: Door, key: str, words: str) -> None:
    """Practice note 1.3: the repeat key is for measurements; pain is asked."""
    before = newest(door)
    app = check_in(door, "BY-084")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n", key)
        assert words in painted(pilot)
        await press(pilot, "down", "2", "f2")
        assert words in painted(pilot)
        assert app.result == "not dismissed"
        await press(pilot, "3", "f2")
    (stored,) = new_entries(door, "BY-084", before)
    assert isinstance(stored, Session)
    assert stored.during == 3


async def test_nights_woken_are_at_most_seven(door: Door) -> None:
    before = newest(door)
    async with check_in(door, "BY-084").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n", "3", "2", "2", "8")
        assert '"8" is not 0 to 7' in painted(pilot)
        await press(pilot, "f2")
        assert new_entries(door, "BY-084", before) == []


async def test_sets_are_written_beside_what_was_asked(door: Door) -> None:
    items = [
        door.draft("programme item", on=SUNDAY, exercise="wall slide", load_class="A1", sets=3, reps=12),
        door.draft(
            "programme item",
            on=SUNDAY,
            exercise="side-lying rotation",
            load_class="R1",
            sets=3,
            reps=10,
            load=Decimal("1.5"),
        ),
    ]
    Ledger(door.store, "TK", lambda: NOW).append("BY-084", items)
    before = newest(door)
    async with check_in(door, "BY-084").run_test(size=(80, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "n", "3", "2", "2", "tab")
        rows = list(pilot.app.screen.query("SetsField"))
        typed = {"wall slide": ["3"], "side-lying rotation": ["r", *"2x8", "at", "1", "enter"]}
        for row in rows:
            row.focus()
            await press(pilot, *typed.get(row.item.exercise, []))  # type: ignore[attr-defined]
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-084", before)
    assert isinstance(stored, Session)
    done = {item.exercise: item for item in stored.items}
    slide, rotation = done["wall slide"], done["side-lying rotation"]
    assert (slide.sets, slide.sets_asked, slide.reps, slide.load_class) == (3, 3, 12, "A1")
    assert (rotation.sets, rotation.sets_asked, rotation.reps, rotation.load) == (2, 3, 8, Decimal(1))


@pytest.mark.parametrize(
    ("code", "width", "shown"),
    [
        ("BY-069", 80, "  side-lying external rotation not recorded sets, of 3 x 12 at 2.5 kg"),
        ("BY-069", 60, "  side-lying external rotation\n                            not recorded sets, of 3"),
        ("BY-087", 80, "  hauling practice with a line not recorded sets, of 2 x 10"),
    ],
)
async def test_the_name_of_an_exercise_is_never_cut(door: Door, code: str, width: int, shown: str) -> None:
    app = check_in(door, code)
    async with app.run_test(size=(width, 30)) as pilot:
        await settle(pilot)
        names = [row.item.exercise for row in app.form.walk_children(SetsField)]
        strips = app.screen._compositor.render_strips()
        lines = "\n".join(strip.text.strip("│").removeprefix(" ").rstrip() for strip in strips)
        assert all(name in lines for name in names)
        assert shown in lines


async def test_something_new_opens_the_list_and_is_written_with_the_check_in(door: Door) -> None:
    before = newest(door)
    async with check_in(door, "BY-084").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "y")
        assert isinstance(pilot.app.screen, RedFlagScreen)
        assert "a clean list rules nothing out" in painted(pilot)
        await press(pilot, "2", "n", "d", "f2")
        assert new_entries(door, "BY-084", before) == []
        await press(pilot, "f2")
    stored = [e for e in new_entries(door, "BY-084", before) if isinstance(e, Screen)]
    assert [(s.answer, s.severity) for s in stored] == [("yes", 2), ("no", None), ("declined", None)]
    assert stored[0].item == "hot or swollen joint, or unwell"
    assert any(reason.code == "RED" for reason in door.standing("BY-084").reasons)


async def test_a_new_event_is_written_on_its_day(door: Door) -> None:
    before = newest(door)
    async with check_in(door, "BY-084").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "y", "a")
        await press(pilot, "a")  # the list is longer than the screen: its rest is looked at first
        await press(pilot, "y")
        pilot.app.screen.query_one("#event-day").focus()
        await press(pilot, "left", "left", "f2", "f2")
    stored = new_entries(door, "BY-084", before)
    screens = [e for e in stored if isinstance(e, Screen)]
    events = [e for e in stored if isinstance(e, Event)]
    assert [(s.item, s.answer) for s in screens] == [("all", "no")]
    assert [(e.event, e.on) for e in events] == [("fall", date(2026, 2, 28))]


async def test_leaving_with_a_red_flag_typed_keeps_it_and_writes_nothing(door: Door) -> None:
    before = newest(door)
    app = check_in(door, "BY-084")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "y", "3", "f2", "escape")
    assert app.result is None
    assert new_entries(door, "BY-084", before) == []
    kept = door.left_unwritten("BY-084", "CheckInScreen")
    assert kept is not None
    assert '"severity": 3' in kept.fields[".flags"]


async def test_the_list_left_is_said_kept_and_the_question_is_open_again(door: Door) -> None:
    app = check_in(door, "BY-084")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "y", "3", "escape")
        await until(lambda: "Kept unwritten: Red-flag screen, BY-084." in painted(pilot))
        assert "Nothing was chosen on the red-flag list, so nothing new is recorded." in painted(pilot)
        assert app.form.new.value == ""
        assert door.left_unwritten("BY-084", "CheckInScreen:red-flag list") is not None


async def test_escape_writes_nothing(door: Door) -> None:
    before = newest(door)
    app = check_in(door, "BY-084")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n", "3", "2", "2", "escape")
    assert app.result is None
    assert new_entries(door, "BY-084", before) == []


async def test_an_empty_check_in_writes_nothing_and_says_so(door: Door) -> None:
    before = newest(door)
    app = check_in(door, "BY-084")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f2")
        assert "Nothing typed yet" in painted(pilot)
    assert app.result == "not dismissed"
    assert new_entries(door, "BY-084", before) == []


async def test_a_change_since_opening_shows_both_and_keeps_what_was_typed(door: Door) -> None:
    """Practice note 4.13, case 42: the second save is refused, both are shown."""
    before = newest(door)
    async with check_in(door, "BY-084").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n", "3", "2", "2")
        other = Ledger(door.store, "MB", lambda: NOW)
        draft = door.draft("contact", outcome="spoke")
        from dataclasses import replace

        other.append("BY-084", [replace(draft, author="MB")])
        await press(pilot, "f2")
        shown = painted(pilot)
        assert "Changed since you opened it: MB wrote contact" in shown
        assert "during / later / next morning 3 / 2 / 2" in shown
        assert [type(e).__name__ for e in new_entries(door, "BY-084", before)] == ["Contact"]
        await press(pilot, "f2")
    assert [type(e).__name__ for e in new_entries(door, "BY-084", before)] == ["Contact", "Session"]


async def test_an_undo_elsewhere_before_opening_is_no_change_since(door: Door) -> None:
    ledger = Ledger(door.store, "TK", lambda: NOW)
    ledger.append("BY-084", [door.draft("contact", outcome="spoke")])
    ledger.undo("BY-084")
    before = newest(door)
    app = check_in(door, "BY-084")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n", "3", "2", "2", "f2")
    assert "Written" in app.result
    assert len(new_entries(door, "BY-084", before)) == 1


async def test_an_exercise_that_nobody_prescribed_is_recorded_and_breaks_the_limit(door: Door) -> None:
    """Practice note 4.13, case 30: more than prescribed in a healing stage breaks its limit."""
    assert not [r for r in door.standing("BY-096").reasons if r.code == "LIM"]
    before = newest(door)
    async with check_in(door, "BY-096").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n", "1", "down")
        pilot.app.screen.query_one("#also").focus()
        await type_in(pilot, "band row")
        await press(pilot, "f2")
        assert '"band row" needs its load class' in painted(pilot)
        assert new_entries(door, "BY-096", before) == []
        pilot.app.screen.query_one("#also").input.value = "band row R1 3x10"  # type: ignore[attr-defined]
        await settle(pilot)
        assert "(band row: not on the programme)" in painted(pilot)
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-096", before)
    assert isinstance(stored, Session)
    (row,) = [item for item in stored.items if item.exercise == "band row"]
    assert (row.load_class, row.sets, row.reps, row.sets_asked) == ("R1", 3, 10, None)
    assert [r.severity for r in door.standing("BY-096").reasons if r.code == "LIM"] == [3]


async def test_the_sling_is_asked_only_while_it_is_to_be_worn(door: Door) -> None:
    before = newest(door)
    async with check_in(door, "BY-084").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "sling left off" not in painted(pilot)
    async with check_in(door, "BY-102").run_test(size=(80, 30)) as pilot:
        await settle(pilot)
        assert "sling left off early?" in painted(pilot)
        pilot.app.screen.query_one("#sling").focus()
        await press(pilot, "y", "f2")
    (stored,) = new_entries(door, "BY-102", before)
    assert isinstance(stored, Session)
    assert stored.sling_off is True


@pytest.mark.parametrize(
    ("keys", "told", "shown"),
    [
        (("f", "3"), "yes", "3 of 3, whole arc"),
        (("p", "3"), "no", "3 of 3, part of the arc"),
        (("f", "f", "3"), None, "3 of 3"),
        (("f", "backspace", "3"), None, "3 of 3"),
    ],
)
async def test_whether_the_whole_arc_was_done_is_one_key_before_the_sets(
    door: Door, keys: tuple[str, ...], told: str | None, shown: str
) -> None:
    """Ruling 82: an exercise climbs only by the whole arc, and what is not told is not the whole."""
    before = newest(door)
    async with check_in(door, "BY-084").run_test(size=(80, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "n", "3", "2", "2")
        pilot.app.screen.query_one(SetsField).focus()
        await press(pilot, *keys)
        assert shown in painted(pilot)
        await press(pilot, "f2")
    (stored,) = [e for e in new_entries(door, "BY-084", before) if isinstance(e, Session)]
    (done,) = stored.items
    assert (done.sets, done.full_arc) == (3, told)


async def test_94_the_first_check_in_asks_the_usual_morning(door: Door) -> None:
    """BY-105 has no session yet; a case with sessions is not asked."""
    before = newest(door)
    async with check_in(door, "BY-105").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n", "3", "4", "5")
        assert pilot.app.focused is pilot.app.screen.query_one("#usual")
        await press(pilot, "4", "f2")
    (stored,) = new_entries(door, "BY-105", before)
    assert isinstance(stored, Session)
    assert (stored.during, stored.later, stored.morning, stored.usual_morning) == (3, 4, 5, 4)
    async with check_in(door, "BY-084").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "usual morning pain" not in painted(pilot)


async def test_94_a_usual_morning_without_a_session_is_not_lost_but_refused(door: Door) -> None:
    before = newest(door)
    async with check_in(door, "BY-105").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        pilot.app.screen.query_one("#usual").focus()
        await press(pilot, "4", "f2")
        assert "usual morning pain: is kept with a session" in painted(pilot)
    assert new_entries(door, "BY-105", before) == []
