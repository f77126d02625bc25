"""The door: reading, drafting, writing and undoing on a real store, and the words of the forms."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest

from armrise.store.caseload.read import UnknownCase
from armrise.store.caseload.refusal import ChangedSinceOpened, Refused
from armrise.store.caseload.write import Ledger
from armrise.store.database.place import Store
from armrise.store.exchange.backup.remembered import remember_backup
from armrise.store.record.kinds.paperwork import Correction
from armrise.store.record.phrase import dated
from armrise.tui.shell.door import Door, new_since
from armrise.tui.shell.store_door import StoreDoor
from armrise.tui.words.entries import ago, day, identifying, read_day
from tests.clinic.build import rules
from tests.tui.form_store import NOW, TODAY, new_entries, newest


def test_standings_come_in_list_order_with_the_header(door: Door) -> None:
    """The order is that of section 9 of the clinic's practice notes."""
    codes = [standing.code for standing in door.standings()]
    assert codes[:4] == ["BY-007", "BY-015", "BY-003", "BY-012"]
    assert len(codes) == 36
    head = door.header()
    assert (head["fictional"], head["as_of"], head["rules"]) == (True, TODAY, rules().version)
    assert head["signed_off"] == "NOT SIGNED OFF"
    assert head["backup_age"] is None
    assert isinstance(head["data_until"], datetime)


def test_the_age_of_the_backup_is_told(door: StoreDoor) -> None:
    remember_backup(door.store, NOW - timedelta(days=3), 0)
    assert door.header()["backup_age"] == timedelta(days=3)


def test_a_draft_is_of_today_recorded_now_by_the_author(door: Door) -> None:
    draft = door.draft("contact", outcome="spoke")
    assert (draft.on, draft.recorded_on, draft.recorded_at, draft.author) == (TODAY, TODAY, NOW, "TK")


def test_what_is_appended_is_said_and_read_back(door: Door) -> None:
    before = newest(door)
    opened = door.open("BY-084")
    said = door.append("BY-084", [door.draft("contact", outcome="spoke", load_cut=True)], seen=opened.seen)
    assert said == "Written: BY-084 contact on Mon 2 Mar: spoke, load cut."
    (stored,) = new_entries(door, "BY-084", before)
    assert stored.KIND == "contact"
    assert door.open("BY-084").last == (stored,)
    assert "Undone: BY-084" in door.undo("BY-084")
    assert new_entries(door, "BY-084", before) == []
    assert door.open("BY-084").last == ()


def test_a_change_between_opening_and_writing_is_refused(door: Door) -> None:
    opened = door.open("BY-084")
    Ledger(door.store, "MB", lambda: NOW).append("BY-084", [door.draft("contact", outcome="no answer")])
    with pytest.raises(ChangedSinceOpened):
        door.append("BY-084", [door.draft("contact", outcome="spoke")], seen=opened.seen)
    assert new_since(opened.record, door.record("BY-084"), dated) == [
        "TK wrote contact on Mon 2 Mar 2026: no answer"
    ]


def test_writing_to_the_other_side_is_no_change_of_this_one(door: Door) -> None:
    """BY-099 and BY-100 are one person; each shoulder is a case of its own."""
    opened = door.open("BY-099")
    door.append("BY-100", [door.draft("screen", item="all", answer="no")])
    door.append("BY-099", [door.draft("contact", outcome="spoke")], seen=opened.seen)
    assert [entry.KIND for entry in door.open("BY-099").last] == ["contact"]


def test_entries_of_a_file_are_not_undone(door: Door) -> None:
    assert door.open("BY-084").last == ()


def test_an_impossible_entry_is_refused_whole(door: Door) -> None:
    before = newest(door)
    drafts = [door.draft("contact", outcome="spoke"), door.draft("morning", pain=11)]
    with pytest.raises(Refused, match="11"):
        door.append("BY-084", drafts)
    assert new_entries(door, "BY-084", before) == []


def test_changed_is_false_until_something_is_written_by_anybody(door: Door) -> None:
    assert door.changed() is False
    assert door.changed() is False
    other = Store.open(door.store.path)
    Ledger(other, "MB", lambda: NOW).append("BY-084", [door.draft("contact", outcome="spoke")])
    assert door.changed() is True
    assert door.changed() is False


def test_an_unknown_code_is_one_sentence(door: Door) -> None:
    with pytest.raises(UnknownCase, match="BY-999"):
        door.record("BY-999")


def test_the_clinic_date_may_move_on_while_a_screen_is_open(door: Door) -> None:
    days = iter([date(2026, 3, 2), date(2026, 3, 3)])
    moving = StoreDoor(door.store, door.rules, "TK", lambda: next(days), lambda: NOW)
    assert moving.today == date(2026, 3, 2)
    assert moving.today == date(2026, 3, 3)


@pytest.mark.parametrize(
    ("text", "ahead", "expected"),
    [
        ("-3", False, date(2026, 2, 27)),
        ("+3", True, date(2026, 3, 5)),
        ("27 Feb", False, date(2026, 2, 27)),
        ("Fri 27 feb 2026", False, date(2026, 2, 27)),
        ("2026-02-27", False, date(2026, 2, 27)),
        ("yesterday", False, date(2026, 3, 1)),
        ("thu", False, date(2026, 2, 26)),
        ("thursday", True, date(2026, 3, 5)),
        ("mon", True, date(2026, 3, 9)),
        ("mon", False, date(2026, 2, 23)),
        ("20 Dec", False, date(2025, 12, 20)),
        ("31 feb", False, None),
        ("29 feb", False, None),
        ("5", False, None),
        ("", False, None),
        ("fr", False, None),
        ("2026-13-01", False, None),
    ],
)
def test_a_typed_day(text: str, ahead: bool, expected: date | None) -> None:
    assert read_day(text, TODAY, ahead=ahead) == expected


def test_days_in_words() -> None:
    assert day(TODAY) == "Mon 2 Mar 2026"
    assert [ago(TODAY - timedelta(days=n), TODAY) for n in (0, 1, 5, -1, -3)] == [
        "today",
        "yesterday",
        "5 days ago",
        "tomorrow",
        "in 3 days",
    ]


@pytest.mark.parametrize(
    ("note", "warned"),
    [
        ("Mary will ring", True),
        ("spoke with Mrs Brown", True),
        ("ring 020 7946 0991", True),
        ("Spoke, load cut, ring Thursday", False),
        ("3x10 at 2.5 kg, SPADI 41, 2026", False),
        ("", False),
    ],
)
def test_notes_that_may_identify(note: str, warned: bool) -> None:
    """Practice note 6.3: warn on capitalised words and phone-like digits."""
    assert bool(identifying(note)) is warned


def test_a_withdrawal_alone_can_be_undone_like_any_other_action(door: Door) -> None:
    door.append("BY-084", [door.draft("morning", pain=7)])
    (wrong,) = door.open("BY-084").last
    door.correct("BY-084", wrong, "of another patient")
    (withdrawal,) = door.open("BY-084").last
    assert isinstance(withdrawal, Correction)
    assert wrong.id not in {m.id for m in door.record("BY-084").mornings}
    door.undo("BY-084")
    assert wrong.id in {m.id for m in door.record("BY-084").mornings}
    assert door.open("BY-084").last == ()
