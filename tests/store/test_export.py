"""A store written as a caseload file and taken into a new store is the same store, whatever stands in it."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from armrise.store.caseload import read as caseload
from armrise.store.caseload import write
from armrise.store.caseload.taking.take import take_whole
from armrise.store.caseload.timeline import read_timeline
from armrise.store.caseload.whole import whole
from armrise.store.database import declared
from armrise.store.database.bulk import insert_cases, insert_entries
from armrise.store.database.place import Store
from armrise.store.exchange.into import caseload_parser
from armrise.store.exchange.into.caseload_file import CaseloadRefused, read
from armrise.store.exchange.out.caseload_json import as_text
from armrise.store.record.case import KINDS
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Correction
from armrise.store.rules.read import load
from tests.store import drafts

RULES = load()
OF_THE_MACHINE = ("setting", "migration", "link", "remembered", "look", "mark", "draft")
"""Tables in which two stores of the same record may differ."""
CHEAP = settings(
    max_examples=4,
    deadline=None,
    suppress_health_check=list(HealthCheck),
    database=None,
    phases=(Phase.explicit, Phase.generate),  # a store of every kind takes minutes to make smaller
)


@pytest.fixture
def unasked(monkeypatch: pytest.MonkeyPatch) -> None:
    """No clinical question: any entry may stand beside any other, as in the stores of these tests."""
    monkeypatch.setattr(caseload_parser, "check_case", lambda *_, **__: [])


def rows(store: Store) -> dict[str, list[Any]]:
    with store.reading() as connection:
        return {
            table.name: connection.execute(f'SELECT * FROM "{table.name}" ORDER BY 1, 2').fetchall()
            for table in declared.tables()
            if table.name not in OF_THE_MACHINE
        }


def moved(store: Store, folder: Path) -> Store:
    """The store written to a file, and a new store that took it; the same record, and the same file again."""
    text = as_text(whole(store, drafts.TODAY))
    file = folder / "export.json"
    file.write_text(text, encoding="utf-8")
    read_back = read(file, RULES)
    for one, other in zip(read_back.cases, whole(store, drafts.TODAY).cases, strict=True):
        assert (one.head, one.numbers, one.actions) == (other.head, other.numbers, other.actions)
        for entry, meant in zip(one.entries, other.entries, strict=True):
            assert repr(entry) == repr(meant)  # 12.50 is not 12.5, 1 is not True
    new = Store.create(folder / "new.armrise", zone=store.zone, clinic_date=store.clinic_date)
    take_whole(new, read_back, RULES)
    assert rows(new) == rows(store)
    assert as_text(whole(new, drafts.TODAY)) == text
    new.path.unlink()
    return new


def may_be_written(entry: Entry) -> bool:
    return not write._field_faults("T-1", replace(entry, recorded_on=entry.on))


@cache
def entries(kind: str) -> st.SearchStrategy[Entry]:
    """Any entry that a form or a file may hold, told whenever and on whatever clock."""
    offsets = st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
    instants = st.datetimes(datetime(1990, 1, 2), datetime(2099, 1, 1), timezones=offsets)
    stamped = st.builds(
        lambda entry, at, on, author: replace(entry, recorded_at=at, recorded_on=on, author=author),
        drafts.records(KINDS[kind]),
        instants,
        drafts.days(),
        st.sampled_from(["", "TK", "Åsa "]),
    )
    return stamped.filter(may_be_written)


@pytest.mark.usefixtures("unasked")
@given(example=st.data())
@CHEAP
def test_every_kind_comes_back_with_every_field(
    tmp_path_factory: pytest.TempPathFactory, empty_store: Path, example: st.DataObject
) -> None:
    """One case with an entry of each kind, a second of that person; some written together."""
    folder = tmp_path_factory.mktemp("kinds")
    path = folder / "old.armrise"
    path.write_bytes(empty_store.read_bytes())
    store = Store.open(path)
    batch = 0
    with store.writing() as connection:
        insert_cases(connection, 1, [drafts.head(), drafts.head("T-2", side="RIGHT", person="P-T-1")])
        for number, kind in enumerate(KINDS, 1):
            made = replace(example.draw(entries(kind)), id=number)
            batch = example.draw(st.sampled_from([0, number, batch]))
            if isinstance(made, Correction):
                made = replace(made, corrects=1, replaced_by=example.draw(st.sampled_from([None, 2])))
            insert_entries(connection, 1, [made], batch=batch)
        insert_entries(connection, 2, [drafts.draft("visit", id=len(KINDS) + 1)], batch=batch)
    moved(store, folder)


ACTIONS = st.lists(
    st.tuples(
        st.sampled_from(["append", "append two", "correct", "replace", "move", "undo"]),
        st.sampled_from(["T-1", "T-2"]),
        st.sampled_from([kind for kind in KINDS if kind != "correction"]),
        st.integers(0, 99),
        st.timedeltas(timedelta(), timedelta(hours=30)),
    ),
    max_size=9,
)


def act(ledger: write.Ledger, action: tuple[str, str, str, int, timedelta], drawn: Entry) -> None:
    what, code, _, which, later = action
    ledger.now.at += later  # type: ignore[attr-defined]
    other = "T-2" if code == "T-1" else "T-1"
    told = read_timeline(ledger.store, code, RULES, drafts.TODAY).told
    found = [one.entry for one in told if not one.withdrawn_by and not isinstance(one.entry, Correction)]
    match what:
        case "append":
            ledger.append(code, [drawn], confirmed=True)
        case "append two":
            ledger.append(code, [drawn, drafts.draft("visit", note=" twice ")], confirmed=True)
        case "undo" if ledger.last_action(code):
            ledger.undo(code)
        case "correct" | "replace" | "move" if found:
            entry = found[which % len(found)]
            if what == "move":
                ledger.move(entry.id, "wrong case", other, entry, confirmed=True)
            else:
                ledger.correct(entry.id, "a slip", drawn if what == "replace" else None, confirmed=True)
        case _:
            pass


@pytest.mark.usefixtures("unasked")
@given(actions=ACTIONS, example=st.data())
@settings(CHEAP, max_examples=8)
def test_whatever_was_done_at_the_keyboard_comes_back(
    tmp_path_factory: pytest.TempPathFactory,
    empty_store: Path,
    actions: list[tuple[str, str, str, int, timedelta]],
    example: st.DataObject,
) -> None:
    """Entries of one action stay together over two cases, and what undid a correction still does."""
    folder = tmp_path_factory.mktemp("done")
    path = folder / "old.armrise"
    path.write_bytes(empty_store.read_bytes())
    store = Store.open(path)
    at = datetime(2026, 3, 28, 22, 30, 0, 123457, tzinfo=UTC)  # the clock goes forward that night
    ledger = drafts.open_case(store, drafts.head(), drafts.head("T-2"), at=at)
    for action in actions:
        act(ledger, action, example.draw(entries(action[2])))
    moved(store, folder)


def test_the_demonstration_comes_back_and_reads_the_same(demo: Store, tmp_path: Path) -> None:
    text = as_text(whole(demo, demo.today()))
    file = tmp_path / "demo.json"
    file.write_text(text, encoding="utf-8")
    new = Store.create(
        tmp_path / "new.armrise", zone=demo.zone, fictional=True, clinic_date=demo.clinic_date, lasting=False
    )
    taken = take_whole(new, read(file, RULES), RULES)
    assert (len(taken.new_cases), taken.known) == (36, 0)
    assert rows(new) == rows(demo)
    assert as_text(whole(new, new.today())) == text
    assert caseload.board(new, today=new.today()) == caseload.board(demo, today=demo.today())


def test_a_part_is_numbered_by_itself_and_tells_nothing_of_the_rest(demo: Store) -> None:
    part = whole(demo, demo.today(), ["BY-100", "BY-099"])
    assert [case.head.code for case in part.cases] == ["BY-099", "BY-100"]  # in the order of registration
    numbers = [number for case in part.cases for number in case.numbers]
    assert sorted(numbers) == list(range(1, len(numbers) + 1))
    with pytest.raises(caseload.UnknownCase, match="did you mean BY-099"):
        whole(demo, demo.today(), ["BY-0999"])


def test_a_decimal_is_written_with_its_digits_and_an_absence_as_its_word(store: Store) -> None:
    ledger = drafts.open_case(store)
    for value in (Decimal("12.50"), Decimal("-0.01"), Decimal("1E+2")):
        ledger.append("T-1", [drafts.draft("measure", name="active_flexion", value=value)])
    ledger.append("T-1", [drafts.draft("session", during=Absence.DECLINED, later=0)])
    text = as_text(whole(store, drafts.TODAY))
    assert [
        line.split('"value": ')[1][:6].rstrip("},") for line in text.splitlines() if '"value"' in line
    ] == [
        "12.50",
        "-0.01",
        "100",
    ]
    assert '"during": "declined", "later": 0' in text
    assert text.isascii()


def test_a_correction_undone_and_made_again_is_no_second_correction(store: Store, tmp_path: Path) -> None:
    """The ledger lets an undone correction be made again; so does a file, with every check on."""
    ledger = write.Ledger(store, "TK", drafts.Clock(), RULES)
    ledger.register(drafts.head())
    (visit,) = ledger.append("T-1", [drafts.draft("visit")])
    ledger.correct(visit, "wrong day")
    ledger.undo("T-1")
    ledger.correct(visit, "wrong day after all")
    file = tmp_path / "x.json"
    file.write_text(as_text(whole(store, drafts.TODAY)))
    corrections = [e for e in read(file, RULES).cases[0].entries if isinstance(e, Correction)]
    assert [c.corrects for c in corrections] == [1, 2, 1]


def test_what_was_withdrawn_may_lie_before_an_episode_withdrawn_with_it(store: Store, tmp_path: Path) -> None:
    ledger = write.Ledger(store, "TK", drafts.Clock(), RULES)
    ledger.register(drafts.head(registered_on=date(2026, 2, 20)))
    early = date(2026, 1, 10)
    (wrong,) = ledger.append("T-1", [drafts.draft("visit", early)])
    (session,) = ledger.append("T-1", [drafts.draft("session", early, during=2)])
    ledger.correct(session, "another patient")
    ledger.correct(wrong, "another patient")
    file = tmp_path / "x.json"
    file.write_text(as_text(whole(store, drafts.TODAY)))
    assert len(read(file, RULES).cases[0].entries) == 4


# what the second format adds


def of_a_store(*entries: dict[str, Any], **more: Any) -> dict[str, Any]:
    case = {"code": "C-1", "person": "P-1", "side": "LEFT", "pathway": "RC", "registered": -60}
    top = {"format": "armrise caseload 2", "clinic_date": "2026-03-02", "zone": "Europe/London"}
    return top | {"note": "x", "cases": [case | {"entries": list(entries)}]} | more


VISIT = {"kind": "visit", "on": -50}


@pytest.mark.parametrize(
    ("entries", "said"),
    [
        (
            [VISIT | {"number": 1}, VISIT],
            "number: is missing, where one entry has a number each needs its own",
        ),
        ([VISIT | {"number": 1}, VISIT | {"number": 1}], "number: 1 is that of case C-1, entry 1 too"),
        ([VISIT | {"number": 2}, VISIT | {"number": 1}], "number: 1 is below the one before it, 2"),
        ([VISIT | {"number": 1, "written_with": 2}], "written_with: 2 is above the entry's own number 1"),
        ([VISIT | {"written_with": 1}], "number: is missing beside written_with"),
        ([VISIT | {"number": 0}], "number: 0 is out of range"),
        ([VISIT | {"number": "1"}], 'number: "1" is no number'),
        ([VISIT | {"recorded_on": "soon"}], 'recorded_on: "soon" is no date'),
    ],
)
def test_a_number_that_cannot_be_is_refused(entries: list[dict[str, Any]], said: str) -> None:
    with pytest.raises(CaseloadRefused) as refused:
        caseload_parser.Parser("x", RULES, caseload_parser.Beside()).file(of_a_store(*entries))
    assert said in str(refused.value)


@pytest.mark.parametrize("field", ["number", "written_with", "recorded_on"])
def test_the_first_format_has_none_of_it(field: str) -> None:
    """A program that reads the first format alone refuses these; so a file that has them says what it is."""
    data = of_a_store(VISIT | {field: 1}, format="armrise caseload 1")
    del data["note"]
    with pytest.raises(CaseloadRefused, match=f'"{field}" is no field of a visit'):
        caseload_parser.Parser("x", RULES, caseload_parser.Beside()).file(data)


def test_another_format_is_refused_by_name() -> None:
    with pytest.raises(CaseloadRefused, match='"armrise caseload 3" is not allowed, allowed is one of'):
        caseload_parser.Parser("x", RULES, caseload_parser.Beside()).file(
            of_a_store(format="armrise caseload 3")
        )


def test_the_clinic_date_of_recording_is_kept_where_the_clock_says_another(store: Store) -> None:
    """A store with a fixed clinic date (the demonstration) records by that date, whatever the clock says."""
    entry = drafts.draft("visit", id=1, recorded_at=datetime(2031, 5, 1, 12, tzinfo=UTC))
    with store.writing() as connection:
        insert_cases(connection, 1, [drafts.head()])
        insert_entries(connection, 1, [entry], batch=0)
    (line,) = [line for line in as_text(whole(store, drafts.TODAY)).splitlines() if '"visit"' in line]
    assert json.loads(line)["recorded_on"] == "2026-03-02"
