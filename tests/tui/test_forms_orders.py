"""Surgeon's orders and clearances by their keys.

Expected behaviour: section 3.3, 4.13 (20-22) and rulings 8 and 62 of the clinic's practice notes.
"""

from __future__ import annotations

from datetime import date

from armrise.store.clinic.case.standing import Word
from armrise.store.record.kinds.plan import Clearance, Orders
from armrise.store.record.kinds.safety import Onset
from armrise.tui.forms.decisions.clearance import ClearanceScreen
from armrise.tui.forms.decisions.orders import OrdersScreen
from armrise.tui.shell.door import Door
from tests.clinic.build import case, standing_of
from tests.quiet import settle
from tests.tui.form_fakes import FakeDoor, FormApp
from tests.tui.form_store import new_entries, newest, painted, press, type_in


def form(door: Door, code: str) -> FormApp:
    return FormApp(OrdersScreen(door, door.standing(code)))


async def go_to(pilot: object, key: str) -> None:
    pilot.app.screen.query_one(f"#{key}").focus()  # type: ignore[attr-defined]
    await settle(pilot)  # type: ignore[arg-type]


async def test_missing_orders_are_recorded_and_the_case_asks_no_more(door: Door) -> None:
    """BY-102: ten days after surgery, arrived without orders."""
    before = newest(door)
    async with form(door, "BY-102").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "left", "left", "enter")
        await type_in(pilot, "consultant")
        await go_to(pilot, "sling_until")
        await type_in(pilot, "week 7")
        assert "Fri 10 Apr 2026, day 49 after surgery" in painted(pilot)
        await go_to(pilot, "external_rotation_limit")
        await type_in(pilot, "30")
        await press(pilot, "f2")
        shown = painted(pilot)
        assert "surgeon's orders of Sat 28 Feb by consultant; sling until Fri 10 Apr" in shown
        assert "Fri 3 Apr (day 42) -> Fri 10 Apr (day 49), surgeon's order, differs from template" in shown
        assert "then gone: safety answers missing" in shown
        assert new_entries(door, "BY-102", before) == []
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-102", before)
    assert isinstance(stored, Orders)
    assert (stored.on, stored.source, stored.surgeon) == (date(2026, 2, 28), "surgeon", "consultant")
    assert (stored.sling_until, stored.external_rotation_limit) == (date(2026, 4, 10), 30)
    assert (stored.elevation_limit, stored.stage3_from, stored.tear_size) == (None, None, None)
    after = door.standing("BY-102")
    assert "SCR" not in {r.code for r in after.reasons}
    assert any(
        line.startswith("external rotation at most 30 degrees (surgeon's order") for line in after.limits
    )


async def test_a_later_stage_before_an_earlier_is_refused_at_its_field(door: Door) -> None:
    before = newest(door)
    async with form(door, "BY-102").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await go_to(pilot, "stage3_from")
        await type_in(pilot, "day 56")
        await press(pilot, "enter")
        await type_in(pilot, "day 42")
        await press(pilot, "f2")
        assert "PO4 opens on: Fri 3 Apr 2026 is before PO3 opens on, Fri 17 Apr 2026" in painted(pilot)
        assert "day 42" in painted(pilot)
    assert new_entries(door, "BY-102", before) == []


async def test_vague_words_are_kept_as_text_and_the_template_holds(door: Door) -> None:
    before = newest(door)
    async with form(door, "BY-102").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await go_to(pilot, "sling_until")
        await type_in(pilot, "as tolerated")
        await press(pilot, "f2")
        assert "Vague words go in the text" in painted(pilot)
        await press(pilot, *["backspace"] * len("as tolerated"))
        await go_to(pilot, "text")
        await type_in(pilot, "sling as tolerated")
        await press(pilot, "f2")
        assert "the template holds wherever no date or number stands" in painted(pilot)
        assert "no limit changes" in painted(pilot)
        await press(pilot, "enter")
    (stored,) = new_entries(door, "BY-102", before)
    assert isinstance(stored, Orders)
    assert (stored.text, stored.sling_until) == ("sling as tolerated", None)


async def test_what_is_in_force_stands_beside_each_field(door: Door) -> None:
    """BY-003: a large tear, sling and rotation by order."""
    async with form(door, "BY-003").run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        shown = painted(pilot)
        assert "now Wed 11 Mar (day 42), order" in shown
        assert "now 30 degrees, order" in shown
        assert "now Wed 25 Mar (day 56), template" in shown


async def test_new_orders_leave_past_sessions_as_they_were_judged(door: Door) -> None:
    """Practice note 4.13, case 21: the band row of yesterday stays a breach."""
    async with form(door, "BY-003").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        for key in ("stage3_from", "stage4_from"):
            await go_to(pilot, key)
            await type_in(pilot, "today")
        await press(pilot, "f2", "f2")
    assert "LIM" in {r.code for r in door.standing("BY-003").reasons}


async def test_empty_orders_are_not_written(door: Door) -> None:
    before = newest(door)
    async with form(door, "BY-102").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f2")
        assert "Type what the orders say" in painted(pilot)
    assert new_entries(door, "BY-102", before) == []


async def test_a_clearance_is_written_from_the_second_page(door: Door) -> None:
    before = newest(door)
    app = form(door, "BY-072")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f4")
        assert isinstance(pilot.app.screen, ClearanceScreen)
        assert "On record: surgeon, resisted: yes, Fri 27 Feb 2026" in painted(pilot)
        await press(pilot, "1", "2", "w")
        assert "then gone: ready to step forward" in painted(pilot)
        await press(pilot, "f2")
        assert app.result.startswith(
            "Written: BY-072 clearance of resisted work by the surgeon on Mon 2 Mar: withdrawn"
        )
    (stored,) = new_entries(door, "BY-072", before)
    assert isinstance(stored, Clearance)
    assert (stored.by, stored.scope, stored.answer) == ("surgeon", "resisted", "withdrawn")
    assert door.standing("BY-072").verdict.word is Word.NOT_YET


async def test_a_clearance_needs_all_three_answers(door: Door) -> None:
    before = newest(door)
    async with form(door, "BY-072").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f4", "1", "f2")
        assert "for: choose 1 to 2" in painted(pilot)
    assert new_entries(door, "BY-072", before) == []


async def test_a_missing_surgery_date_is_asked_for_and_days_count_from_it() -> None:
    """Practice note 4.13, case 20: no gate opens without it; once known, what changes is listed."""
    record = case("PO1", day=6, onset=-1).record()
    door = FakeDoor(record, standing_of(record))
    async with FormApp(OrdersScreen(door, door.given)).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await go_to(pilot, "sling_until")
        await type_in(pilot, "week 6")
        await press(pilot, "f2")
        assert '"week 6" counts from surgery, whose date is not on record' in painted(pilot)
        await go_to(pilot, "onset")
        await type_in(pilot, "10 Feb")
        await press(pilot, "f2")
        shown = painted(pilot)
        assert "onset: surgery on Tue 10 Feb" in shown
        assert "sling on until no limit -> Tue 24 Mar (day 42), surgeon's order" in shown
        await press(pilot, "f2")
    onset, orders = door.written
    assert isinstance(onset, Onset)
    assert isinstance(orders, Orders)
    assert (onset.what, onset.on) == ("surgery", date(2026, 2, 10))
    assert orders.sling_until == date(2026, 3, 24)
