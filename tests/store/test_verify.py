"""A store verified: what is forged or damaged is found, what is right is not accused, nothing is quoted."""

from __future__ import annotations

import contextlib
import json
import re
import shutil
import sqlite3
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from armrise.store.caseload import read as caseload
from armrise.store.caseload.audit import audit_store
from armrise.store.caseload.paper import head_on_paper
from armrise.store.caseload.sweep import sweep
from armrise.store.caseload.taking.take import take_whole
from armrise.store.caseload.timeline import read_timeline
from armrise.store.clinic.audit.period import Period, last_full_month
from armrise.store.clinic.audit.sheet import rule_notes
from armrise.store.database import chain, sqlite
from armrise.store.database.place import Store, StoreError, driver_of
from armrise.store.database.written import case_lines, cases_of, entry_lines, settings_lines, stretches
from armrise.store.entries.filed import CaseloadFile, FileCase
from armrise.store.exchange.out.formats import stamped
from armrise.store.exchange.out.minutes import minute_rows
from armrise.store.exchange.schemas import SCHEMAS
from armrise.store.record.kinds.programme import DoneItem
from armrise.store.verify.last import last_verified, remember_verified
from armrise.store.verify.result import Verified
from armrise.store.verify.verify import verify
from armrise.store.verify.words import as_json, as_text
from armrise.tui.command.main import run
from tests.clinic.build import rules
from tests.store import drafts, landed
from tests.store.test_schema import kept_store

SECRET = "Zebrafish-4711"


@pytest.fixture(scope="module")
def written(empty_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two cases and five actions more, all in one file, to be copied."""
    path = Path(shutil.copy(empty_store, tmp_path_factory.mktemp("verify") / "whole"))
    ledger = drafts.open_case(Store.open(path), drafts.head("T-1"), drafts.head("T-2"))
    item = {"exercise": "row", "load_class": "R1", "sets": 3}
    session = drafts.draft("session", during=2, items=(DoneItem(**item),))
    ledger.append("T-1", [drafts.draft("visit", note=SECRET)])
    ledger.append("T-1", [session, drafts.draft("contact", outcome="spoke")])
    ledger.append("T-2", [drafts.draft("visit", interval=21)])
    ledger.correct(1, "typed in the wrong case")
    ledger.append("T-2", [drafts.draft("finding", name="wound dry", answer="yes")])
    return path


@pytest.fixture
def path(written: Path, tmp_path: Path) -> Path:
    """A copy of the test's own."""
    return Path(shutil.copy(written, tmp_path / "store"))


def of(path: Path, expect: str = "") -> Verified:
    return verify(driver_of(path), expect=expect)


def forge(path: Path, *statements: str) -> None:
    """What may be done with the file and SQLite alone: the guards go, the deed is done, the guards return."""
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as foreign:
        guards = foreign.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        foreign.execute("PRAGMA ignore_check_constraints = ON")
        foreign.execute("BEGIN")
        for name, _ in guards:
            foreign.execute(f'DROP TRIGGER "{name}"')
        for statement in statements:
            foreign.execute(statement)
        for _, sql in guards:
            foreign.execute(sql)
        foreign.execute("COMMIT")
        foreign.execute("PRAGMA wal_checkpoint(TRUNCATE)")


# What is right


def test_a_store_as_it_was_written_is_sound(path: Path) -> None:
    found = of(path)
    assert found.faults == ()
    assert (found.cases, found.entries, found.actions) == (2, 6, 8)
    assert len(found.right) == 8
    assert found.head is not None
    assert found.head.number == 8
    assert found.first_broken is None
    assert "that what was typed was true" in found.not_checked


@pytest.mark.parametrize("version", range(1, landed.NEWEST + 1))
def test_a_store_of_every_landed_schema_is_sound_once_it_is_opened(tmp_path: Path, version: int) -> None:
    """Its chain is begun over what was there; that of schema 5 on is the one it had."""
    kept = kept_store(version, tmp_path)
    if version < landed.NEWEST:
        assert "made by an older armrise" in of(kept).faults[0]
    Store.open(kept)
    found = of(kept)
    assert found.faults == ()
    assert found.begun is not None
    assert found.begun.about == ("begun" if version < 5 else "made")
    assert ("Chain begun" in as_text(found)) == (version < 5)
    assert found.entries > 30


def test_a_store_whose_chain_was_begun_later_goes_on(tmp_path: Path) -> None:
    kept = kept_store(4, tmp_path)
    ledger = drafts.Unchecked(Store.open(kept), "TK", drafts.Clock(landed.NOW))
    ledger.append("T-1", [drafts.draft("visit")], confirmed=True)
    found = of(kept)
    assert (found.faults, found.actions) == ((), 2)


def test_a_store_that_is_thrown_away_says_that_it_has_no_chain(tmp_path: Path) -> None:
    store = Store.create(tmp_path / "s", zone="UTC", lasting=False)
    drafts.open_case(store).append("T-1", [drafts.draft("visit")])
    found = of(store.path)
    assert found.faults == ()
    assert "thrown away" in found.not_checked[0]


# What is forged


FORGED: dict[str, tuple[str, str]] = {
    "a text changed": ("UPDATE visit SET note = 'other' WHERE id = 1", "action 4 of .* does not follow"),
    "a number changed": ("UPDATE session SET during = 9", "action 5 of .* covers contact, session of T-1"),
    "an exercise changed": ("UPDATE session_item SET sets = 4", "action 5 of"),
    "an exercise taken away": ("DELETE FROM session_item", "action 5 of"),
    "a case changed": ("UPDATE cases SET side = 'RIGHT' WHERE id = 2", "action 3 of"),
    "a setting changed": ("UPDATE setting SET value = 'UTC' WHERE name = 'zone'", "action 1 of"),
    "a setting added": ("INSERT INTO setting VALUES ('clinic date', '2020-01-01')", "action 1 of"),
    "a day moved": ("UPDATE visit SET happened_on = '2026-02-01' WHERE id = 4", "action 6 of"),
    "a kind changed": ("UPDATE entry SET kind = 'contact' WHERE id = 4", "entry 4 has no row of its kind"),
    "an entry without its row": ("DELETE FROM visit WHERE id = 4", "entry 4 has no row of its kind"),
    "a row without its line": ("UPDATE contact SET id = 4", "contact 4 stands there without its line"),
    "an entry taken away": (
        "DELETE FROM finding; DELETE FROM entry WHERE id = 6",
        "action 8 of .* covers nothing that is there now of no case",
    ),
    "an entry added": (
        "INSERT INTO entry VALUES (7, 1, 'visit', 7, 0)",
        "beyond the last link stand entries: 1, cases: 0",
    ),
    "a case added": (
        "INSERT INTO cases SELECT 3, 'T-3', person, side, pathway, clinician, referrer, registered_on, "
        "dominance, age_band FROM cases WHERE id = 1",
        "stand entries: 0, cases: 1",
    ),
    "an entry before the first": ("INSERT INTO entry VALUES (-5, 1, 'visit', -5, 0)", "action 1 of"),
    "an entry far away": (
        "INSERT INTO entry VALUES (9000000000000000000, 1, 'visit', 1, 0)",
        "stand entries: 1,",
    ),
    "a correction of another case": (
        "UPDATE correction SET corrects = 4",
        "correction 5 names an entry of another case",
    ),
    "another instant": ("UPDATE entry SET recorded_at_utc = 5 WHERE id = 4", "visit 4 has another case or"),
    "links gone": ("DELETE FROM link WHERE number > 6", "stand entries: 2, cases: 0"),
    "every link gone": ("DELETE FROM link", "the chain is gone"),
    "a link gone": ("DELETE FROM link WHERE number = 6", "does not follow"),
    "a link's instant": ("UPDATE link SET at_utc = 0 WHERE number = 6", "action 6 of Thu 1 Jan 1970"),
    "a guard gone": ("DROP TABLE mark", "mark is missing"),
    "a table of another's": ("CREATE TABLE zebra (a)", "1 tables, indexes or triggers are there that no"),
    "a value no rule allows": (
        "UPDATE session SET during = 99",
        "session 2: during does not hold what it may hold",
    ),
    "a date that is none": (
        "UPDATE visit SET happened_on = 'soon' WHERE id = 4",
        "visit 4: its values make no entry of that kind",
    ),
    "another schema": ("PRAGMA user_version = 9", "made by a newer armrise"),
    "another program": ("PRAGMA application_id = 7", "does not carry the mark of armrise"),
}


@pytest.mark.parametrize("name", FORGED)
def test_what_is_forged_is_found(path: Path, name: str) -> None:
    statements, words = FORGED[name]
    forge(path, *statements.split("; "))
    found = of(path)
    assert not found.sound
    assert any(re.search(words, fault) for fault in found.faults), found.faults
    assert SECRET not in as_text(found)
    assert as_text(found).startswith("STORE NOT SOUND")


def test_a_guard_that_is_gone_is_found(path: Path) -> None:
    with contextlib.closing(sqlite3.connect(path)) as foreign:
        foreign.execute("DROP TRIGGER cases_no_replace")
    assert of(path).faults == ("cases_no_replace is missing",)


def test_the_first_action_that_does_not_follow_is_named(path: Path) -> None:
    forge(path, "UPDATE session SET during = 9", "UPDATE visit SET interval = 14 WHERE id = 4")
    first = of(path).first_broken
    assert first is not None
    assert (first.number, first.codes, first.kinds) == (5, ("T-1",), ("contact", "session"))


# A head on paper


def remade(path: Path) -> None:
    """The whole chain made anew, as one may who has the file and this program."""
    with contextlib.closing(sqlite.connect(path)) as connection:
        old = list(chain.links(connection))
        cases, before, rows = cases_of(connection, 0, 2**62), chain.Link(0, 0, "", 0, 0, ""), []
        for link in old:
            hasher = chain.Hasher(before.hash, link)
            hasher.add(settings_lines(connection) if link.number == 1 else ())
            hasher.add(case_lines(row for row in cases if before.cases < row[0] <= link.cases))
            for stretch in stretches(connection, before.entries, link.entries):
                for _, lines in entry_lines(stretch):
                    hasher.add(lines)
            before = link._replace(hash=hasher.result())
            rows.append(before)
    forge(path, *(f"UPDATE link SET hash = '{row.hash}' WHERE number = {row.number}" for row in rows))


def test_a_head_on_paper_tells_a_chain_that_was_made_anew(path: Path) -> None:
    """Ruling of the task: a chain alone does not prove it, so its head is printed."""
    paper = head_on_paper(Store.open(path)).split(",")[0]
    assert of(path, paper).sound
    forge(path, "UPDATE visit SET note = 'other' WHERE id = 1")
    remade(path)
    assert of(path).sound
    found = of(path, paper)
    assert found.faults == ("the head that was asked for does not occur in the chain",)
    assert "does not occur in this chain" in as_text(found)


def test_a_head_says_at_which_action_it_was(path: Path) -> None:
    paper = of(path).head
    assert paper is not None
    ledger = drafts.Unchecked(Store.open(path), "TK", drafts.Clock())
    ledger.append("T-2", [drafts.draft("visit")], confirmed=True)
    for typed in (paper.short, paper.short.upper(), paper.hash, paper.short.replace(" ", "")):
        found = of(path, typed)
        assert found.sound
        assert found.occurs == paper
        said = " ".join(as_text(found).split())
        assert "occurs: action 8," in said
        assert "actions written since: 1" in said


@pytest.mark.parametrize("typed", ["ab12", "nothing like it", "g" * 16, "a" * 65])
def test_what_is_no_head_is_refused(path: Path, typed: str) -> None:
    with pytest.raises(StoreError, match="is no head of a chain: give its digits and letters"):
        of(path, typed)


def test_the_head_is_printed_in_minutes_and_audit(path: Path) -> None:
    store = Store.open(path)
    head = head_on_paper(store)
    assert len(head.split(",")[0]) == 39
    said = f"Head of the store's chain: {head}."
    assert said in [row.text for row in minute_rows(sweep(store, rules(), drafts.TODAY))]
    first, last = last_full_month(drafts.TODAY)
    assert said in rule_notes(audit_store(store, rules(), Period(first, last, drafts.TODAY)))


# What is damaged


def test_a_row_that_cannot_be_read_is_named_and_not_quoted(path: Path) -> None:
    """In the list, in the case, in its history, and by the verification."""
    forge(path, f"UPDATE visit SET note = CAST(x'ff' || '{SECRET}' AS TEXT) WHERE id = 4")
    store = Store.open(path)
    readings: list[Callable[[], object]] = [
        lambda: caseload.standings(store, rules(), drafts.TODAY),
        lambda: caseload.case(store, "T-2"),
        lambda: read_timeline(store, "T-2", rules(), drafts.TODAY),
    ]
    for reading in readings:
        with pytest.raises(StoreError, match=r"^visit 4 of the store cannot be read") as told:
            reading()
        assert str(told.value).endswith("armrise verify, then restore a backup")
        assert SECRET not in str(told.value)
    assert any(fault.startswith("visit 4: cannot be read") for fault in of(path).faults)
    assert SECRET not in as_text(of(path))


@pytest.mark.parametrize(
    "change",
    [
        "visit SET happened_on = 'soon' WHERE id = 4",
        "visit SET source = x'05' WHERE id = 4",
        "visit SET interval = 'often' WHERE id = 4",
        "visit SET recorded_at_utc = 9000000000000000000 WHERE id = 4",
        "cases SET registered_on = 'soon' WHERE id = 2",
        "cases SET person = x'00ff' WHERE id = 2",
    ],
)
def test_values_that_make_no_entry_are_named(path: Path, change: str) -> None:
    forge(path, f"UPDATE {change}")
    row = "cases 2" if change.startswith("cases") else "visit 4"
    with pytest.raises(StoreError, match=f"^{row} of the store cannot be read"):
        caseload.case(Store.open(path), "T-2")
    assert not of(path).sound


@pytest.mark.parametrize(
    ("change", "wrong"),
    [
        ("recorded_on = '2026-03-01'", True),
        ("recorded_at_utc = recorded_at_utc - 86400000000", True),
        ("recorded_offset_minutes = -600", True),  # the evening before, on such a clock
        ("recorded_on = '2026-03-01', recorded_at_utc = recorded_at_utc - 86400000000", False),
    ],
)
def test_the_clinic_date_of_an_entry_is_that_of_its_instant(path: Path, change: str, wrong: bool) -> None:
    """By the offset that the entry carries: whatever the zone's rules are today."""
    forge(path, f"UPDATE visit SET {change} WHERE id = 4")
    said = "visit 4: recorded_on is not the date of its instant"
    assert (said in of(path).faults) is wrong


def test_a_date_that_came_in_a_file_or_was_fixed_is_not_accused(written: Path, tmp_path: Path) -> None:
    """A file may come from a clinic on the other side of the date line; a fixed date is no clock's."""
    store = Store.open(shutil.copy(written, tmp_path / "came"))
    told = {"recorded_at": drafts.MORNING, "recorded_on": drafts.TODAY - timedelta(days=1)}
    came = FileCase(drafts.head("T-9"), (drafts.draft("visit", drafts.TODAY - timedelta(days=3), **told),))
    take_whole(store, CaseloadFile(drafts.TODAY, store.zone, False, "", (came,)))
    assert of(store.path).sound
    day = drafts.TODAY - timedelta(days=40)
    fixed = Store.create(tmp_path / "fixed", zone="UTC", fictional=True, clinic_date=day)
    drafts.open_case(fixed).append("T-1", [drafts.draft("visit", day)])
    assert of(fixed.path).sound


def test_a_damaged_file_is_told_of_without_a_traceback(path: Path, tmp_path: Path) -> None:
    whole = path.read_bytes()
    for name, content in (("empty", b""), ("text", b"a letter\n" * 900), ("half", whole[: len(whole) // 2])):
        damaged = tmp_path / name
        damaged.write_bytes(content)
        assert not of(damaged).sound
    with pytest.raises(StoreError, match="there is no store at"):
        of(tmp_path / "missing")


# The command, and what is remembered


def test_the_command_says_by_its_exit_code(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["verify", "--store", str(path)]) == 0
    assert capsys.readouterr().out.startswith("STORE SOUND\n")
    forge(path, "UPDATE session SET during = 9")
    assert run(["verify", "--store", str(path), "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert told["first_that_does_not_follow"]["number"] == 5
    judge = Draft202012Validator(json.loads(json.dumps(SCHEMAS["verify"]())))
    judge.validate(told)
    judge.validate(json.loads(json.dumps(stamped("verify", as_json(of(path, "ab12 cd34 ef56 7890"))))))
    assert run(["verify", "--store", str(path), "--expect", "no"]) == 1
    assert "is no head of a chain" in capsys.readouterr().err


def test_nothing_is_written_by_verifying(path: Path) -> None:
    before = path.read_bytes()
    path.chmod(0o400)
    assert of(path).sound
    assert path.read_bytes() == before


def test_the_last_verification_is_remembered(path: Path) -> None:
    store = Store.open(path)
    assert last_verified(store) is None
    found = of(path)
    remember_verified(store, found)
    last = last_verified(store)
    assert last is not None
    assert last.sound
    assert abs(last.at - found.at).total_seconds() < 1
    assert of(path).sound
    with store.writing() as connection:
        connection.execute("UPDATE remembered SET value = 'sound' WHERE name = 'last verification'")
    assert last_verified(store) is None


def test_how_far_it_is_is_told_and_it_can_be_stopped(path: Path) -> None:
    told: list[tuple[int, int]] = []
    verify(driver_of(path), tell=lambda done, of: told.append((done, of)))
    assert told == [(6, 6)]

    def stop(*_: int) -> None:
        raise InterruptedError

    with pytest.raises(InterruptedError):
        verify(driver_of(path), tell=stop)
