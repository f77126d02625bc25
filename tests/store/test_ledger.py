"""Writing: appended, corrected, undone; refused when somebody was there before, or the clock stands wrong."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from armrise.store.caseload import read as caseload
from armrise.store.caseload.read import UnknownCase
from armrise.store.caseload.recorded import data_version, newest_recorded
from armrise.store.caseload.taking.take import take_whole
from armrise.store.caseload.timeline import read_timeline
from armrise.store.caseload.write import ChangedSinceOpened, Ledger, Refused
from armrise.store.database import desk, sqlite
from armrise.store.database.classes import engine
from armrise.store.database.driver import Connection, Driver
from armrise.store.database.place import Store, StoreError
from armrise.store.entries.filed import CaseloadFile, FileCase
from armrise.store.record.case import KINDS
from armrise.store.record.kinds.programme import DoneItem
from tests.clinic.build import rules
from tests.store import drafts
from tests.store.drafts import Clock, draft, head, open_case

CODE = "T-1"


@pytest.fixture
def ledger(store: Store) -> Ledger:
    """A ledger that checks like the program does, on a case that was assessed."""
    checked = Ledger(store, "TK", Clock())
    checked.register(head())
    start = date(2026, 1, 5)
    placed = draft("step", start, stage="RC1", direction="placing")
    checked.append(CODE, [draft("visit", start), draft("onset", start, what="gradual"), placed])
    return checked


def test_ids_grow_over_all_kinds_and_cases(store: Store) -> None:
    ledger = open_case(store, head("A"), head("B"))
    assert ledger.append("A", [draft("visit"), draft("session"), draft("visit")]) == (1, 2, 3)
    assert ledger.append("B", [draft("morning", pain=3)]) == (4,)
    assert ledger.append("A", []) == ()
    assert caseload.newest_entry(store, "A") == 3
    assert caseload.newest_entry(store, "no such case") == 0


def test_one_action_has_one_instant_and_its_author(store: Store) -> None:
    ledger = open_case(store)
    ledger.append(CODE, [draft("visit", author=""), draft("visit", author="MB")])
    visits = caseload.case(store, CODE).visits
    assert {visit.recorded_at for visit in visits} == {ledger.now.at}
    assert [visit.author for visit in visits] == ["TK", "MB"]
    assert {visit.recorded_on for visit in visits} == {drafts.TODAY}
    assert newest_recorded(store) == ledger.now.at


def test_an_unknown_case_is_refused_with_a_near_one(store: Store) -> None:
    ledger = open_case(store, head("BY-003"))
    with pytest.raises(UnknownCase, match='there is no case "BY-03": did you mean BY-003'):
        ledger.append("BY-03", [draft("visit")])
    with pytest.raises(UnknownCase):
        ledger.undo("BY-03")


def test_a_code_is_given_once(ledger: Ledger) -> None:
    with pytest.raises(Refused, match="T-1 is in the store already"):
        ledger.register(head())


def test_an_unknown_pathway_is_refused(ledger: Ledger) -> None:
    with pytest.raises(Refused, match="pathway"):
        ledger.register(head("T-2", pathway="ZZ"))
    assert caseload.codes(ledger.store) == [CODE]


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        (draft("morning", pain=11), "pain: 11 is out of range"),
        (draft("visit", date(2026, 3, 3)), "2026-03-03 is after the clinic date 2026-03-02"),
        (draft("measure", name="active_flexion", value=Decimal(190)), "value: 190 is out of range"),
        (draft("step", stage="ZZ9", direction="forward"), "stage"),
        (draft("visit", note="two\nlines"), "note"),
    ],
)
def test_what_is_impossible_is_refused_in_words(ledger: Ledger, entry: object, said: str) -> None:
    before = data_version(ledger.store)
    with pytest.raises(Refused) as refused:
        ledger.append(CODE, [draft("visit"), entry])
    assert said in str(refused.value)
    assert "\n" not in str(refused.value)
    assert refused.value.faults
    assert data_version(ledger.store) == before


def test_an_old_fault_does_not_bar_a_new_entry(store: Store, ledger: Ledger) -> None:
    open_unchecked = drafts.Unchecked(store, "TK", ledger.now)
    open_unchecked.append(CODE, [draft("visit", date(2026, 3, 9))])
    ledger.append(CODE, [draft("visit")])
    assert len(caseload.case(store, CODE).visits) == 3


def test_changed_since_opened(store: Store) -> None:
    mine, theirs = open_case(store), drafts.Unchecked(store, "MB", Clock())
    mine.append(CODE, [draft("visit")])
    seen = caseload.newest_entry(store, CODE)
    theirs.append(CODE, [draft("session", date(2026, 3, 1), author=""), draft("morning", pain=2, author="")])
    with pytest.raises(ChangedSinceOpened, match="T-1 changed since you opened it") as refused:
        mine.append(CODE, [draft("visit")], seen=seen)
    said = str(refused.value)
    assert "session of Sun 1 Mar 2026, during" in said
    assert "by MB; morning pain 2 on Mon 2 Mar 2026 by MB" in said
    assert [entry.KIND for entry in refused.value.entries] == ["session", "morning"]
    assert len(caseload.case(store, CODE).visits) == 1
    mine.append(CODE, [draft("visit")], seen=caseload.newest_entry(store, CODE))


def test_another_case_changing_is_no_change(store: Store) -> None:
    ledger = open_case(store, head("A"), head("B"))
    ledger.append("A", [draft("visit")])
    ledger.append("B", [draft("visit")])
    ledger.append("A", [draft("visit")], seen=1)


def test_an_undo_elsewhere_is_a_change(store: Store) -> None:
    ledger = open_case(store)
    ledger.append(CODE, [draft("visit")])
    ledger.undo(CODE)
    with pytest.raises(ChangedSinceOpened, match="correction of Mon 2 Mar 2026"):
        ledger.append(CODE, [draft("visit")], seen=1)


def test_a_correction_replaces_and_keeps_both(ledger: Ledger) -> None:
    (wrong,) = ledger.append(CODE, [draft("session", date(2026, 3, 1), during=7)])
    session = caseload.case(ledger.store, CODE).sessions[0]
    ids = ledger.correct(wrong, "typed 7 for 2", replace(session, during=2))
    assert ids == (wrong + 1, wrong + 2)
    assert [s.during for s in caseload.case(ledger.store, CODE).sessions] == [2]
    with ledger.store.reading() as connection:
        assert connection.execute("SELECT count(*) FROM session").fetchone() == (2,)
        row = connection.execute("SELECT corrects, replaced_by, reason FROM correction").fetchone()
    assert row == (wrong, wrong + 1, "typed 7 for 2")


def test_a_withdrawal_without_replacement(ledger: Ledger) -> None:
    (wrong,) = ledger.append(CODE, [draft("event", event="fall")])
    ledger.correct(wrong, "another patient's fall")
    assert caseload.case(ledger.store, CODE).events == ()


def test_what_cannot_be_corrected(ledger: Ledger) -> None:
    (wrong,) = ledger.append(CODE, [draft("event", event="fall")])
    _, correction = ledger.correct(wrong, "wrong event", draft("event", event="pop"))
    with pytest.raises(Refused, match="is already withdrawn"):
        ledger.correct(wrong, "wrong event")
    with pytest.raises(Refused, match="is a correction"):
        ledger.correct(correction, "wrong event")
    with pytest.raises(Refused, match="there is no entry 999"):
        ledger.correct(999, "wrong event")
    with pytest.raises(Refused, match="reason"):
        ledger.correct(wrong + 1, "x")


def test_undo_withdraws_the_whole_last_action(ledger: Ledger) -> None:
    before = caseload.case(ledger.store, CODE)
    ledger.append(CODE, [draft("visit"), draft("contact", outcome="spoke")])
    said = ledger.undo(CODE)
    assert said == "Undone: T-1 visit on Mon 2 Mar 2026; contact on Mon 2 Mar 2026: spoke."
    assert caseload.case(ledger.store, CODE) == before


def test_undo_of_a_correction_brings_the_first_back(ledger: Ledger) -> None:
    items = (DoneItem(exercise="row", load_class="A1"),)
    (number,) = ledger.append(CODE, [draft("session", date(2026, 3, 1), items=items)])
    before = caseload.case(ledger.store, CODE)
    ledger.correct(number, "wrong day", replace(before.sessions[0], on=date(2026, 2, 28)))
    assert caseload.case(ledger.store, CODE) != before
    assert ledger.undo(CODE).startswith("Undone: T-1 session of Sat 28 Feb 2026, during / later")
    assert caseload.case(ledger.store, CODE) == before


def test_undo_is_once_same_day_and_own_case(store: Store) -> None:
    """Practice notes 4.11: same-day undo, before any other entry of the case."""
    ledger = open_case(store, head("A"), head("B"))
    with pytest.raises(Refused, match="nothing was recorded in it at the keyboard"):
        ledger.undo("A")
    ledger.append("A", [draft("visit")])
    ledger.append("B", [draft("visit")])
    ledger.undo("A")
    with pytest.raises(Refused, match="undone already"):
        ledger.undo("A")
    assert len(caseload.case(store, "B").visits) == 1
    ledger.now.at = datetime(2026, 3, 3, 0, 0, 1, tzinfo=UTC)
    with pytest.raises(Refused, match="was written on Mon 2 Mar 2026, undo is for the same day: correct it"):
        ledger.undo("B")


def test_undo_goes_by_the_clinics_midnight(store: Store) -> None:
    """23:59 London summer time is 22:59 UTC (from memory); a minute later it is another clinic day."""
    ledger = open_case(store, at=datetime(2026, 6, 1, 22, 58, tzinfo=UTC))
    ledger.append(CODE, [draft("visit")])
    ledger.now.at = datetime(2026, 6, 1, 23, 0, tzinfo=UTC)
    with pytest.raises(Refused, match="same day"):
        ledger.undo(CODE)


def test_a_clock_set_wrong_is_noticed(store: Store) -> None:
    ledger = open_case(store)
    ledger.append(CODE, [draft("visit")])
    ledger.now.at -= timedelta(hours=1)
    with pytest.raises(Refused, match="the clock says 2026-03-02 08:00, before the newest entry"):
        ledger.append(CODE, [draft("visit")])
    assert ledger.append(CODE, [draft("visit")], confirmed=True) == (2,)
    ledger.now.at -= timedelta(seconds=30)  # two machines never agree to the second
    ledger.append(CODE, [draft("visit")])
    assert ledger.undo(CODE)


def from_file(*cases: FileCase, zone: str = "Europe/London") -> CaseloadFile:
    return CaseloadFile(drafts.TODAY, zone, False, "", cases)


def test_a_caseload_is_taken_whole(store: Store) -> None:
    """A correction in a file points at positions, in the store at ids."""
    case = (
        draft("visit", date(2026, 2, 1)),
        draft("session", date(2026, 2, 2), during=7, items=(DoneItem(exercise="row", load_class="R1"),)),
        draft("session", date(2026, 2, 2), during=2),
        draft("correction", corrects=2, replaced_by=3, reason="typed 7 for 2"),
    )
    taken = take_whole(store, from_file(FileCase(head("A"), case), FileCase(head("B"), case)))
    assert (len(taken.new_cases), taken.new, taken.known) == (2, 8, 0)
    for code, first in (("A", 1), ("B", 5)):
        record = caseload.case(store, code)
        assert [v.id for v in record.visits] == [first]
        assert [(s.id, s.during, s.author) for s in record.sessions] == [(first + 2, 2, "TK")]
    assert take_whole(store, from_file(FileCase(head("C"), case))).new == 4
    assert caseload.case(store, "C").visits[0].id == 9


def test_a_file_recorded_this_evening_does_not_lock_the_morning_out(store: Store) -> None:
    """A file often knows only the day of recording; a day ahead is a wrong clock all the same."""
    ledger = open_case(store, head("B"))
    evening = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
    take_whole(store, from_file(FileCase(head("A"), (draft("visit", recorded_at=evening),))))
    assert ledger.append("B", [draft("visit")])
    ledger.now.at -= timedelta(days=1)
    with pytest.raises(Refused, match="the clock says 2026-03-01"):
        ledger.append("B", [draft("visit")])


def test_what_came_from_a_file_is_not_undone(store: Store) -> None:
    ledger = open_case(store, head("B"))
    take_whole(store, from_file(FileCase(head("A"), (draft("visit"),))))
    with pytest.raises(Refused, match="nothing to undo in A"):
        ledger.undo("A")


def test_the_drafts_are_left_as_they_were(store: Store) -> None:
    ledger = open_case(store)
    mine = draft("visit")
    ledger.append(CODE, [mine])
    assert mine.id == 0
    assert SimpleNamespace(at=mine.recorded_at).at == drafts.MORNING


def test_a_new_case_and_its_first_entries_are_written_together_or_not_at_all(store: Store) -> None:
    ledger = Ledger(store, "TK", drafts.Clock())
    visit = drafts.draft("visit")
    unknown_stage = drafts.draft("step", stage="RC9", direction="placing")
    with pytest.raises(Refused, match="RC9"):
        ledger.begin(drafts.head("N-1"), [visit, unknown_stage])
    assert caseload.codes(store) == []
    ledger.begin(drafts.head("N-1"), [visit, drafts.draft("step", stage="RC1", direction="placing")])
    record = caseload.case(store, "N-1")
    assert [step.stage for step in record.steps] == ["RC1"]
    assert [v.on for v in record.visits] == [drafts.TODAY]
    with pytest.raises(Refused, match="N-1"):
        ledger.begin(drafts.head("N-1"), [visit])


def test_a_shoulder_has_one_open_case(store: Store) -> None:
    """A second open case of one person and side is refused, and nothing of it is kept."""
    ledger = open_case(store, replace(head("A"), person="P-1"))
    ledger.append("A", [draft("visit")])
    second = replace(head("B"), person="P-1")
    with pytest.raises(Refused, match="A of person P-1 LEFT is not discharged"):
        ledger.begin(second, [draft("visit")])
    assert caseload.codes(store) == ["A"]
    ledger.begin(replace(second, side="RIGHT"), [draft("visit")])
    ledger.append("A", [draft("discharge", outcome="goal met")])
    ledger.begin(replace(second, code="C"), [draft("visit")])
    assert caseload.codes(store) == ["A", "B", "C"]


@pytest.fixture
def statements(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Every statement that reaches SQLite, over whatever connection; "open" for each connection."""
    found: list[str] = []
    connect = sqlite.connect

    def traced(path: Path, **how: Any) -> Any:
        connection: Any = connect(path, **how)
        found.append("open")
        connection.set_trace_callback(found.append)
        return connection

    monkeypatch.setattr(sqlite, "connect", traced)
    return found


def transactions(statements: list[str]) -> list[str]:
    return [s for s in statements if s.split()[0] in ("open", "BEGIN", "COMMIT", "ROLLBACK", "SAVEPOINT")]


def readings(statements: list[str], kind: str) -> int:
    """How often the entries of a kind were read for a case."""
    return sum(s.startswith('SELECT e."id"') and f'FROM  "{kind}" e' in s for s in statements)


ALONE = ["open", "BEGIN IMMEDIATE", "COMMIT"]


def test_one_action_is_one_transaction_and_reads_the_case_once(ledger: Ledger, statements: list[str]) -> None:
    """Whatever is written, and by which action: each kind is read once, and the rest is a handful."""
    seen = caseload.newest_entry(ledger.store, CODE)
    for act in (
        lambda: ledger.append(CODE, [draft("visit"), draft("contact", outcome="spoke")], seen=seen),
        lambda: ledger.correct(seen, "not placed yet"),
    ):
        statements.clear()
        act()
        assert transactions(statements) == ALONE
        assert [readings(statements, kind) for kind in ("visit", "step", "referral", "letter")] == [1] * 4
        assert len(statements) < len(KINDS) + 35
    statements.clear()
    ledger.undo(CODE)
    assert transactions(statements) == ALONE
    assert len(statements) < 25


def test_a_refused_action_is_rolled_back(ledger: Ledger, statements: list[str]) -> None:
    with pytest.raises(Refused):
        ledger.append(CODE, [draft("morning", pain=11)])
    assert transactions(statements) == ["open", "BEGIN IMMEDIATE", "ROLLBACK"]
    assert not any(s.startswith("INSERT") for s in statements)


def test_what_is_read_takes_no_lock(ledger: Ledger, statements: list[str]) -> None:
    assert ledger.last_action(CODE)
    assert transactions(statements)[:2] == ["open", "BEGIN"]


def test_a_store_has_one_engine(ledger: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    """And a store as it was known has its own, which cannot write."""
    made: list[object] = []
    over = engine.engine_over

    def counted(place: Driver, connect: Callable[[], Connection]) -> object:
        made.append(connect)
        return over(place, connect)

    monkeypatch.setattr(engine, "engine_over", counted)
    store = Store.open(ledger.store.path)
    for marked in (True, False, True):
        desk.mark(store, "TK", CODE, marked)
        read_timeline(store, CODE, rules(), drafts.TODAY)
    assert len(made) == 1
    then = store.as_known(drafts.MORNING)
    assert then.engine is not store.engine
    with pytest.raises(StoreError, match="cannot be written"):
        Ledger(then, "TK", Clock()).append(CODE, [draft("visit")])
