"""The history of a case, corrections of any entry and recording any kind, by their keys.

Expected behaviour: sections 4.12, 4.13 and 6.2 of the clinic's practice notes.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from armrise.store.caseload.write import Ledger
from armrise.store.record.case import KINDS
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import Finding, Measure, Target
from armrise.store.record.kinds.paperwork import Decision, Discharge
from armrise.store.record.kinds.plan import Orders, Step
from armrise.store.record.kinds.safety import Onset
from armrise.tui.case.history import HistoryScreen, WholeScreen
from armrise.tui.case.history_list import EntryList
from armrise.tui.case.record import RecordScreen, kinds
from armrise.tui.forms.kit.correct import CorrectScreen
from armrise.tui.forms.kit.entry import EntryScreen
from armrise.tui.shell.door import Door
from tests.quiet import settle
from tests.tui import form_store
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import NOW, TODAY, new_entries, newest, press, type_in

CORRECTED = "BY-027"
SEEN = TODAY - timedelta(days=3)
"""Its last visit."""
"""The demo case with external rotation of the LEFT arm entered under RIGHT."""


def painted(pilot: Any) -> str:
    """The text on the screen, folded lines joined, without the mark before each line under the cursor."""
    return " ".join(form_store.painted(pilot).replace("▌", " ").split())


def history(door: Door, code: str) -> FormApp:
    return FormApp(HistoryScreen(door, door.standing(code)))  # type: ignore[arg-type]


def entry_of(door: Door, code: str, kind: type[Entry], **holding: Any) -> Any:
    """The one entry of a kind that holds these values."""
    every = [one.entry for one in door.timeline(code).told]
    return next(
        e for e in every if type(e) is kind and all(getattr(e, name) == v for name, v in holding.items())
    )


def at(app: FormApp, entry: Entry) -> EntryList:
    """Put the cursor on an entry."""
    entries = app.screen.query_one(EntryList)
    assert entries.go_to(entry.id)
    return entries


async def fill(pilot: Any, key: str, words: str) -> None:
    """Type words in one field of a form, in place of what stands there."""
    line = pilot.app.screen.query_one(f"#{key}")
    line.focus()
    await settle(pilot)
    line.input.value = ""
    await type_in(pilot, words)


# the timeline


async def test_a_correction_is_shown_struck_in_words_and_linked(door: Door) -> None:
    wrong = entry_of(door, CORRECTED, Measure, value=Decimal(65), name="passive_external_rotation", side=None)
    app = history(door, CORRECTED)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        entries = at(app, wrong)
        await settle(pilot)
        shown = painted(pilot)
        assert "WITHDRAWN Fri 23 Jan 2026 by TK: external rotation of the LEFT arm was entered under" in shown
        assert "instead: passive external rotation at side LEFT: 65 degrees" in shown
        struck = [row for row in entries._rows if row.entry == wrong.id and row.style == "gone"]
        assert struck
        assert entries.styles_named()["gone"].strike
        await press(pilot, "l")
        assert entries.cursor == door.timeline(CORRECTED).of(wrong.id).withdrawn_by.id
        await press(pilot, "l")
        right = entry_of(door, CORRECTED, Measure, side="LEFT", value=Decimal(65), on=wrong.on)
        assert entries.cursor == right.id
        await press(pilot, "L", "L")
        assert entries.cursor == wrong.id


async def test_newest_first_and_every_entry_is_there(door: Door) -> None:
    app = history(door, CORRECTED)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        entries = app.screen.query_one(EntryList)
        told = door.timeline(CORRECTED).told
        assert entries.ids == [one.entry.id for one in reversed(told)]
        assert f"{len(told)} entries, 1 withdrawn newest first" in painted(pilot)
        assert "Sat 28 Feb 2026, 2 days ago" in painted(pilot)
        await press(pilot, "end")
        assert entries.cursor == told[0].entry.id
        await press(pilot, "home", "down")
        assert entries.cursor == told[-2].entry.id


async def test_the_filter_goes_through_the_groups_and_a_link_leads_out_of_it(door: Door) -> None:
    app = history(door, CORRECTED)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        entries = app.screen.query_one(EntryList)
        groups: list[set[str]] = []
        for _ in range(4):
            await press(pilot, "f")
            by_id = door.timeline(CORRECTED)
            groups.append({by_id.of(i).entry.KIND for i in entries.ids})
        assert groups[0] == {"session", "morning", "measure"} & groups[0]
        assert "session" in groups[0]
        assert "measure" in groups[1]
        assert "session" not in groups[1]
        assert "step" in groups[2]
        assert groups[3] <= {"appointment", "attendance", "letter", "background", "orders"}
        await press(pilot, "f")
        assert len(entries.ids) == len(door.timeline(CORRECTED).told)


async def test_an_entry_opens_with_every_field(door: Door) -> None:
    app = history(door, CORRECTED)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        at(app, entry_of(door, CORRECTED, Measure, name="passive_external_rotation", on=SEEN))
        await press(pilot, "enter")
        assert isinstance(app.screen, WholeScreen)
        shown = painted(pilot)
        for words in ("method goniometer", "side the affected side", "recorded Fri 27 Feb 2026", "by TK",
                      "source clinician measured", "came in a file", "limited by left empty"):  # fmt: skip
            assert words in shown
        await press(pilot, "escape")
        assert isinstance(app.screen, HistoryScreen)


async def test_late_and_double_entries_say_so(door: Door) -> None:
    ledger = Ledger(door.store, "TK", lambda: NOW)
    ledger.append("BY-084", [door.draft("morning", on=TODAY - timedelta(days=6), pain=2)])
    for _ in range(2):
        ledger.append("BY-084", [door.draft("session", during=9, later=9)])
    app = history(door, "BY-084")
    async with app.run_test(size=(80, 60)) as pilot:
        await settle(pilot)
        shown = painted(pilot)
        assert shown.count("duplicate? the same check-in was recorded within minutes") == 2
        assert "recorded 6 days later" in shown


async def test_two_thousand_entries_are_painted_and_not_mounted(door: Door) -> None:
    ledger = Ledger(door.store, "TK", lambda: NOW)
    many = [door.draft("contact", outcome="no answer", note=f"try {n}") for n in range(2000)]
    from armrise.store.database.bulk import insert_entries

    with door.store.writing() as connection:
        case_id = connection.execute("SELECT id FROM cases WHERE code = 'BY-084'").fetchone()[0]
        first = connection.execute("SELECT max(id) FROM entry").fetchone()[0] + 1
        from dataclasses import replace

        insert_entries(connection, case_id, [replace(e, id=first + n) for n, e in enumerate(many)], batch=0)
    assert ledger.author == "TK"
    app = history(door, "BY-084")
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        entries = app.screen.query_one(EntryList)
        assert len(entries.ids) > 2000
        assert len(list(app.screen.query("*"))) < 30
        await press(pilot, "end", "pageup", "home")
        assert "try 1999" in painted(pilot)


async def test_a_value_is_confirmed_as_measured(door: Door) -> None:
    """Practice note 4.12: unknown for verdicts until confirmed."""
    ledger = Ledger(door.store, "TK", lambda: NOW)
    active, _ = ledger.append(
        "BY-084",
        [
            door.draft("measure", name="active_flexion", value=Decimal(150), rater="TK"),
            door.draft("measure", name="passive_flexion", value=Decimal(120), rater="TK"),
        ],
    )
    before = newest(door)
    app = history(door, "BY-084")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        app.screen.query_one(EntryList).go_to(active)
        await settle(pilot)
        assert "contradicts passive flexion: 120 degrees" in painted(pilot)
        await press(pilot, "y")
        assert "Confirmed as measured" in painted(pilot)
        await press(pilot, "y")
        assert isinstance(app.screen, HistoryScreen)
    (stored,) = new_entries(door, "BY-084", before)
    assert isinstance(stored, Measure)
    assert (stored.confirmed, stored.value, stored.on) == (True, Decimal(150), TODAY)
    told = door.timeline("BY-084").of(active)
    assert told is not None
    assert told.withdrawn_by is not None
    assert told.withdrawn_by.reason == "confirmed as measured"


# corrections


async def test_an_entry_is_withdrawn_with_its_reason(door: Door) -> None:
    entry = entry_of(door, CORRECTED, Measure, name="passive_external_rotation", on=SEEN)
    app = history(door, CORRECTED)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        at(app, entry)
        await press(pilot, "C", "1")
        await press(pilot, "f2")
        assert "reason: at least 3 characters, 0 typed" in painted(pilot)
        await type_in(pilot, "read off wrong")
        shown = painted(pilot)
        assert "Will withdraw: passive external rotation at side: 42 degrees" in shown
        assert "then gone: losing range" in shown
        await press(pilot, "f2")
        assert isinstance(app.screen, HistoryScreen)
        assert "Withdrawn: BY-027 passive external rotation at side: 42 degrees" in painted(pilot)
    told = door.timeline(CORRECTED).of(entry.id)
    assert told is not None
    assert told.withdrawn_by is not None
    assert told.withdrawn_by.reason == "read off wrong"
    assert told.replaced_by is None


async def test_an_entry_is_replaced_with_every_field_prefilled_and_its_day_changeable(door: Door) -> None:
    entry = entry_of(door, CORRECTED, Measure, name="passive_external_rotation", on=SEEN)
    before = newest(door)
    app = FormApp(CorrectScreen(door, door.standing(CORRECTED), entry))
    async with app.run_test(size=(80, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "2")
        await type_in(pilot, "typed 42 for 52")
        assert "Nothing is changed yet" in painted(pilot)
        await fill(pilot, "field-value", "abc")
        await press(pilot, "f2")
        assert 'value: "abc" is no number, allowed is a number from -20 to 200' in painted(pilot)
        await fill(pilot, "field-value", "52")
        await fill(pilot, "field-on", "-1")
        shown = painted(pilot)
        assert "Will withdraw: passive external rotation at side: 42 degrees" in shown
        assert "and write instead: passive external rotation at side: 52 degrees" in shown
        assert new_entries(door, CORRECTED, before) == []
        await press(pilot, "f2")
    (stored,) = new_entries(door, CORRECTED, before)
    assert isinstance(stored, Measure)
    assert (stored.value, stored.on) == (Decimal(52), TODAY - timedelta(days=1))
    assert (stored.method, stored.position, stored.rater) == (entry.method, entry.position, entry.rater)


async def test_a_range_only_the_store_knows_is_refused_at_the_field(door: Door) -> None:
    entry = entry_of(door, CORRECTED, Measure, name="passive_external_rotation", on=SEEN)
    app = FormApp(CorrectScreen(door, door.standing(CORRECTED), entry))
    async with app.run_test(size=(80, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "2")
        await type_in(pilot, "typed wrong")
        await fill(pilot, "field-value", "180")
        await press(pilot, "f2")
        shown = painted(pilot)
        assert "180 is out of range, allowed for passive_external_rotation is -20 to 110" in shown
        assert app.screen.query_one("#field-value").fault
        assert app.result == "not dismissed"


async def test_a_corrected_onset_lists_the_stage_gates_that_moved(door: Door) -> None:
    """Practice note 4.13, case 20."""
    entry = entry_of(door, "BY-003", Onset)
    before = newest(door)
    app = FormApp(CorrectScreen(door, door.standing("BY-003"), entry))
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "2")
        await type_in(pilot, "date of the letter")
        was = entry.on
        new = was + timedelta(days=7)
        await fill(pilot, "field-on", new.isoformat())
        shown = painted(pilot)
        assert "then stages open: PO1 Wed 28 Jan -> Wed 4 Feb; PO2 Wed 11 Feb -> Wed 18 Feb" in shown
        await press(pilot, "f2")
        assert app.result != "not dismissed"
    (stored,) = new_entries(door, "BY-003", before)
    assert isinstance(stored, Onset)
    assert (stored.on, stored.operation) == (new, entry.operation)


async def test_a_discharge_is_corrected(door: Door) -> None:
    entry = entry_of(door, "BY-087", Discharge)
    before = newest(door)
    app = FormApp(CorrectScreen(door, door.standing("BY-087"), entry))
    async with app.run_test(size=(80, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "2")
        await type_in(pilot, "was patient choice")
        await fill(pilot, "field-outcome", "patient ch")
        await fill(pilot, "field-letter", "n")
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-087", before)
    assert isinstance(stored, Discharge)
    assert (stored.outcome, stored.letter, stored.on) == ("patient choice", False, entry.on)


async def test_a_step_may_change_its_day_but_not_its_stage(door: Door) -> None:
    """The criteria and the healing dates are asked by the step itself; a correction passes none by."""
    entry = entry_of(door, CORRECTED, Step, direction="forward")
    before = newest(door)
    app = FormApp(CorrectScreen(door, door.standing(CORRECTED), entry))
    async with app.run_test(size=(80, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "2")
        await type_in(pilot, "a day late")
        await fill(pilot, "field-stage", "RC4")
        assert "A step's stage is not typed anew" in painted(pilot)
        await press(pilot, "f2")
        assert new_entries(door, CORRECTED, before) == []
        await fill(pilot, "field-stage", entry.stage)
        await fill(pilot, "field-on", (entry.on - timedelta(days=1)).isoformat())
        await press(pilot, "f2")
    (stored,) = new_entries(door, CORRECTED, before)
    assert isinstance(stored, Step)
    assert (stored.stage, stored.on) == (entry.stage, entry.on - timedelta(days=1))


async def test_an_entry_goes_to_the_case_it_belongs_to(door: Door) -> None:
    """Practice note 6.2: wrong-patient entry."""
    entry = entry_of(door, CORRECTED, Measure, name="passive_external_rotation", on=SEEN)
    before = newest(door)
    app = FormApp(CorrectScreen(door, door.standing(CORRECTED), entry))
    async with app.run_test(size=(80, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "3")
        await type_in(pilot, "wrong patient open")
        await fill(pilot, "code", CORRECTED.lower())
        await press(pilot, "f2")
        assert f"{CORRECTED} is this case" in painted(pilot)
        await fill(pilot, "code", "by-084")
        assert "and write in BY-084: passive external rotation at side: 42 degrees" in painted(pilot)
        await press(pilot, "f2")
        assert "Moved from BY-027 to BY-084, written in both" in str(app.result)
    (stored,) = new_entries(door, "BY-084", before)
    assert isinstance(stored, Measure)
    assert stored.value == Decimal(42)
    told = door.timeline(CORRECTED).of(entry.id)
    assert told is not None
    assert told.moved_to is not None
    assert told.moved_to.code == "BY-084"
    shown = history(door, "BY-084")
    async with shown.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        at(shown, stored)
        await settle(pilot)
        assert "moved here from BY-027: belongs to BY-084, was entered in BY-027: wrong patient" in painted(
            pilot
        )


async def test_escape_corrects_nothing(door: Door) -> None:
    entry = entry_of(door, CORRECTED, Measure, name="passive_external_rotation", on=SEEN)
    before = newest(door)
    app = FormApp(CorrectScreen(door, door.standing(CORRECTED), entry))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "1", "escape")
    assert app.result is None
    assert newest(door) == before


async def test_a_withdrawn_entry_and_a_correction_say_why_they_are_not_corrected(door: Door) -> None:
    wrong = entry_of(door, CORRECTED, Measure, value=Decimal(65), name="passive_external_rotation", side=None)
    app = history(door, CORRECTED)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        at(app, wrong)
        await press(pilot, "C")
        assert "This entry is withdrawn already" in painted(pilot)
        await press(pilot, "l", "C")
        assert "A correction is not corrected" in painted(pilot)


# another entry


def test_every_kind_has_a_line_of_meaning() -> None:
    assert {kind for kind, record in KINDS.items() if record.MEANING} == set(kinds())


async def test_the_kind_is_chosen_by_a_part_of_its_word_or_its_number(door: Door) -> None:
    before = newest(door)
    app = FormApp(RecordScreen(door, door.standing("BY-084")))  # type: ignore[arg-type]
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "FICTIONAL CASELOAD" in painted(pilot)
        await type_in(pilot, "shrug")
        await press(pilot, "enter")
        assert isinstance(app.screen, EntryScreen)
        await type_in(pilot, "shrug")
        await press(pilot, "enter", "y", "f2")
        assert "finding, shrug seen: yes" in str(app.result)
    (stored,) = new_entries(door, "BY-084", before)
    assert isinstance(stored, Finding)
    assert (stored.name, stored.answer, stored.on, stored.author) == ("shrug seen", "yes", TODAY, "TK")


async def test_a_discharge_is_left_to_the_form_that_asks_what_is_open(door: Door) -> None:
    """Practice note 4.13, case 25: only after the review is answered; an open red flag blocks."""
    app = FormApp(RecordScreen(door, door.standing("BY-084")))  # type: ignore[arg-type]
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await type_in(pilot, "discharge")
        await press(pilot, "enter")
        assert isinstance(app.screen, RecordScreen)
        assert "discharge: press a d in the list or the case" in painted(pilot)


async def test_leaving_a_form_goes_back_to_the_kinds(door: Door) -> None:
    before = newest(door)
    app = FormApp(RecordScreen(door, door.standing("BY-084")))  # type: ignore[arg-type]
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await type_in(pilot, str(kinds().index("orders") + 1))
        await press(pilot, "enter")
        assert isinstance(app.screen, EntryScreen)
        assert app.screen.kind == "orders"
        await press(pilot, "escape")
        assert isinstance(app.screen, RecordScreen)
        await press(pilot, "escape")
    assert app.result is None
    assert newest(door) == before


RECORDED: list[tuple[str, dict[str, str], type[Entry], dict[str, Any]]] = [
    ("orders", {"surgeon": "consultant", "sling_until": "+14", "external_rotation_limit": "30"}, Orders,
     {"sling_until": TODAY + timedelta(days=14), "external_rotation_limit": 30, "elevation_limit": None}),
    ("target", {"measure": "passive flex", "value": "150", "reason": "enough for the helm"}, Target,
     {"measure": "passive_flexion", "value": Decimal(150)}),
    ("decision", {"about": "stalled", "note": "plan reviewed with the patient"}, Decision,
     {"about": "stalled"}),
    ("onset", {"what": "gradual", "on": "1 Jan 2026"}, Onset, {"what": "gradual", "on": date(2026, 1, 1)}),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "texts", "of", "held"), RECORDED, ids=[row[0] for row in RECORDED])
async def test_a_kind_is_recorded_through_its_form(
    door: Door, kind: str, texts: dict[str, str], of: type[Entry], held: dict[str, Any]
) -> None:
    before = newest(door)
    app = FormApp(EntryScreen(door, door.standing("BY-084"), kind))
    async with app.run_test(size=(80, 34)) as pilot:
        await settle(pilot)
        for name, words in texts.items():
            await fill(pilot, f"field-{name}", words)
        await press(pilot, "f2")
        assert app.result != "not dismissed", painted(pilot)
    (stored,) = new_entries(door, "BY-084", before)
    assert type(stored) is of
    assert {name: getattr(stored, name) for name in held} == held


async def test_what_is_needed_is_said_and_nothing_is_half_written(door: Door) -> None:
    before = newest(door)
    app = FormApp(EntryScreen(door, door.standing("BY-084"), "target"))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "still needed: measure, value, reason" in painted(pilot)
        await fill(pilot, "field-value", "150")
        await press(pilot, "f2")
        assert "measure: is missing" in painted(pilot)
        assert app.screen.query_one("#field-value").value == "150"
    assert newest(door) == before


async def test_orders_that_say_nothing_are_not_written(door: Door) -> None:
    """Empty orders would answer "orders missing" while nobody has read any."""
    before = newest(door)
    app = FormApp(EntryScreen(door, door.standing("BY-003"), "orders"))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f2")
        assert "Nothing typed yet" in painted(pilot)
    assert newest(door) == before


async def test_a_form_left_is_brought_back(door: Door) -> None:
    entry = entry_of(door, CORRECTED, Measure, name="passive_external_rotation", on=SEEN)
    standing = door.standing(CORRECTED)
    finding = EntryScreen.again(
        door, standing, EntryScreen(door, standing, "finding").kept_as().split(":")[1]
    )
    assert finding.kind == "finding"
    about = CorrectScreen(door, standing, entry).kept_as().split(":")[1]
    assert CorrectScreen.again(door, standing, about).entry == entry


async def test_the_form_of_a_step_only_places(door: Door) -> None:
    """A step forward asks the criteria and the healing date; this form asks neither."""
    before = newest(door)
    app = FormApp(EntryScreen(door, door.standing("BY-084"), "step"))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await fill(pilot, "field-stage", "RC3")
        await fill(pilot, "field-direction", "forward")
        await press(pilot, "f2")
        assert '"forward" is not in the list' in painted(pilot)
    assert newest(door) == before
