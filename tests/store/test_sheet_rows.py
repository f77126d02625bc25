"""Rows of spreadsheets beside a store: taken whole, refused with a reason, there already; never guessed."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from armrise.store.caseload.read import case
from armrise.store.caseload.refusal import Refused
from armrise.store.caseload.timeline import read_timeline
from armrise.store.caseload.write import Ledger
from armrise.store.database.place import Store
from armrise.store.exchange.sheets.files.table import Cell, SheetRefused
from armrise.store.exchange.sheets.mapping import Map, columns_of, map_text, read_map
from armrise.store.exchange.sheets.plan import Plan, kept_map, parse, planned, read_file, understood
from armrise.store.exchange.sheets.repeats import Repeats
from armrise.store.exchange.sheets.report import lines_of
from armrise.store.exchange.sheets.row import Row
from armrise.store.exchange.sheets.take import write
from armrise.store.record.fields import Absence
from armrise.store.rules.read import load
from armrise.store.verify.verify import verify
from tests.store.drafts import MORNING, TODAY, draft, head

RULES = load()
PATIENTS = """code;side;pathway;registered;surgery;operation;referrer;age;visit;next review;stage;stage since
S-001;L;PO;5/1/2026;3 Jan 2026;keyhole repair;surgeon;66;20/1/2026;10 Feb 2026;PO 1;3/1/2026
s-002;right;frozen shoulder;20/1/2026;;;GP;54;20/1/2026;2026-02-20;2;20/1/2026
"""
VISITS = """Code,Visit,Worst pain,Passive ER,Passive ER other side,HBB,ER strength (kg),SPADI
S-001,2026-02-10,3/10,20°,"45,5",T12,,declined
S-002,2026-02-21,5,n/a,,,"3,5",62/100
"""
DIARY = """code,date,during,later,next morning,times,dose
S-002,2026-02-24,3,2,1,2,3/3
S-002,2026-02-25,,,2,0,
S-002,2026-02-26,4,not asked,,,part
S-002,2026-02-27,,,,,
"""
Plans = Callable[..., Plan]


def plan_of(store: Store, text: str | bytes, said: Map | None = None, name: str = "list.csv") -> Plan:
    content = text.encode() if isinstance(text, str) else text
    about = understood(parse(content, name), said or Map(), kept_map(store), codes(store))
    return planned(store, about, RULES, MORNING, "TK")


def codes(store: Store) -> list[str]:
    with store.reading() as connection:
        return [code for (code,) in connection.execute("SELECT code FROM cases")]


def take(store: Store, text: str | bytes, said: Map | None = None, name: str = "list.csv") -> Plan:
    plan = plan_of(store, text, said, name)
    write(store, plan, RULES, "TK", lambda: MORNING)
    return plan


def statuses(plan: Plan) -> list[str]:
    return [row.status for row in plan.rows]


def reasons(plan: Plan) -> str:
    return "\n".join(f"{row.number} {w.column} {w.value} {w.why}" for row in plan.rows for w in row.wrong)


@pytest.fixture
def filled(store: Store) -> Store:
    """A store with the two patients, the day the list came."""
    store.clinic_date = TODAY
    take(store, PATIENTS)
    return store


def test_a_row_a_patient_becomes_a_case_with_what_the_row_says(filled: Store) -> None:
    repaired, frozen = case(filled, "S-001"), case(filled, "s-002")
    assert (repaired.side, repaired.pathway, repaired.referrer) == ("LEFT", "PO", "surgeon")
    assert (repaired.age_band, repaired.registered_on) == ("60s", date(2026, 1, 5))
    (surgery,) = repaired.onsets
    assert (surgery.what, surgery.on, surgery.operation) == ("surgery", date(2026, 1, 3), "keyhole repair")
    assert [(v.on, v.interval) for v in repaired.visits] == [(date(2026, 1, 20), 21)]
    assert [(s.stage, s.on, s.direction) for s in repaired.steps] == [("PO1", date(2026, 1, 3), "placing")]
    assert [(s.stage, s.on) for s in frozen.steps] == [("FS2", date(2026, 1, 20))]
    told = [entry.entry for entry in read_timeline(filled, "S-001", RULES, TODAY).told]
    assert {(entry.author, entry.recorded_on) for entry in told} == {("TK", TODAY)}
    assert verify(filled.driver).sound


def test_a_row_a_visit_becomes_measures_of_its_case(filled: Store) -> None:
    plan = take(filled, VISITS)
    assert statuses(plan) == ["changed", "changed"]
    one, two = case(filled, "S-001"), case(filled, "s-002")
    assert [(m.name, m.value, m.side, m.on) for m in one.measures] == [
        ("worst_pain", 3, None, date(2026, 2, 10)),
        ("passive_external_rotation", 20, None, date(2026, 2, 10)),
        ("passive_external_rotation", Decimal("45.5"), "RIGHT", date(2026, 2, 10)),
        ("hand_behind_back", 8, None, date(2026, 2, 10)),
    ]
    assert [s.total for s in one.scores] == [Absence.DECLINED]
    assert [(m.name, m.value, m.unit) for m in two.measures][1:] == [
        ("passive_external_rotation", Absence.NOT_MEASURED, None),
        ("external_rotation_strength", Decimal("3.5"), "kg"),
    ]
    assert [v.on for v in two.visits] == [date(2026, 1, 20), date(2026, 2, 21)]


def test_a_home_diary_becomes_sessions_and_mornings_typed_late(filled: Store) -> None:
    plan = take(filled, DIARY)
    assert statuses(plan) == ["taken", "taken", "changed", "left"] or statuses(plan) == [
        *["changed"] * 3,
        "left",
    ]
    two = case(filled, "s-002")
    told = [(s.on.day, s.during, s.later, s.morning, s.times, s.dose, s.written) for s in two.sessions]
    assert told == [
        (24, 3, 2, 1, 2, "whole", True),
        (26, 4, Absence.NOT_ASKED, Absence.NOT_ASKED, None, "part", True),
    ]
    assert [(m.on.day, m.pain) for m in two.mornings] == [(26, 2)]


@pytest.mark.parametrize("text", [PATIENTS, VISITS, DIARY])
def test_the_same_file_again_adds_nothing(filled: Store, text: str) -> None:
    take(filled, text)
    again = plan_of(filled, text)
    assert set(statuses(again)) <= {"known", "left"}
    assert (again.entries, again.new_cases) == (0, 0)


def test_what_was_withdrawn_in_the_store_stays_so(filled: Store) -> None:
    take(filled, DIARY)
    ledger = Ledger(filled, "TK", lambda: MORNING, RULES)
    ledger.correct(case(filled, "s-002").sessions[0].id, "typed in the wrong case")
    assert plan_of(filled, DIARY).entries == 0


def test_undo_takes_back_what_was_written_for_one_case(filled: Store) -> None:
    take(filled, VISITS)
    Ledger(filled, "TK", lambda: MORNING, RULES).undo("S-001")
    assert not case(filled, "S-001").measures
    assert case(filled, "s-002").measures
    assert verify(filled.driver).sound


def test_a_row_corrected_in_the_sheet_is_added_and_the_others_are_known(filled: Store) -> None:
    assert statuses(take(filled, VISITS.replace("5,n/a", "11,n/a"))) == ["changed", "refused"]
    assert statuses(plan_of(filled, VISITS)) == ["known", "changed"]


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("S-001,2026-02-10,6-7,,,,,", "two values"),
        ("S-001,2026-02-10,,200,,,,", "out of range"),
        ("S-001,,3,,,,,", "has no date"),
        (",2026-02-10,3,,,,,", "no case code"),
        ("S-009,2026-02-10,3,,,,,", "no case of the store (did you mean"),
        ("Jane Doe,2026-02-10,3,,,,,", "no code"),
        ("S-001,2026-03-09,3,,,,,", "ahead of the clinic date"),
        ("S-001,2025-01-01,3,,,,,", "before the case was registered"),
        ("S-001,2026-02-10,3,32,5,,,,", "has moved them"),
        ("S-001,2026-02-10,3,20,,,", "one is missing"),
    ],
)
def test_a_row_that_cannot_be_taken_is_refused_whole_with_its_reason(
    filled: Store, row: str, why: str
) -> None:
    head_line = VISITS.splitlines()[0]
    plan = plan_of(filled, f"{head_line}\n{row}\nS-002,2026-02-28,2,,,,,\n")
    assert statuses(plan)[0] == "refused"
    assert why in reasons(plan)
    assert statuses(plan)[1] == "taken" or "changed"
    assert {new.row.number for one in plan.cases for new in one.new} <= {3}


def test_rows_that_contradict_each_other_are_all_refused(filled: Store) -> None:
    days = ("10,3", "10,4", "11,4", "11,4")
    text = "\n".join(["code,date,worst pain", *(f"S-001,2026-02-{day}" for day in days)])
    plan = plan_of(filled, text)
    assert statuses(plan) == ["refused", "refused", "taken", "known"]
    assert "than row 3" in reasons(plan)
    assert plan.entries == 1


def test_a_value_other_than_that_of_the_store_is_refused_and_overwrites_nothing(filled: Store) -> None:
    take(filled, VISITS)
    plan = plan_of(filled, VISITS.replace("3/10", "4/10"))
    assert statuses(plan) == ["refused", "known"]
    assert "worst pain (24 h): 3 of 10" in reasons(plan)


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("S-001,R,PO,2026-01-05", "is not what the store has"),
        ("S-010,both,PO,2026-01-05", "two shoulders"),
        ("S-010,L,Knee,2026-01-05", "no pathway of the rules"),
        ("S-010,L,PO,", "says the day it was registered"),
        ("Smith,L,PO,2026-01-05", "may be a name"),
    ],
)
def test_a_case_is_registered_only_by_a_row_that_says_what_it_is(filled: Store, row: str, why: str) -> None:
    plan = plan_of(filled, f"code,side,pathway,registered\n{row}\n")
    assert statuses(plan) == ["refused"]
    assert why in reasons(plan)


def test_two_rows_of_one_new_case_have_to_agree(filled: Store) -> None:
    text = (
        "code,side,pathway,registered\nS-010,L,PO,2026-01-05\ns-010,R,PO,2026-01-05\nS-011,R,RC,2026-01-05\n"
    )
    plan = take(filled, text)
    assert statuses(plan) == ["refused", "refused", "taken"]
    assert set(codes(filled)) == {"S-001", "s-002", "S-011"}


def test_a_shoulder_has_one_open_case(filled: Store) -> None:
    rows = ("S-020,P-1,L,RC", "S-021,P-1,L,FS", "S-022,P-1,R,FS")
    text = "\n".join(["code,person,side,pathway,registered", *(f"{row},2026-01-05" for row in rows)])
    plan = plan_of(filled, text)
    assert statuses(plan) == ["refused", "refused", "taken"]


def test_what_the_store_lacks_of_a_patient_is_added_and_what_it_has_is_not_changed(store: Store) -> None:
    store.clinic_date = TODAY
    Ledger(store, "TK", lambda: MORNING, RULES).begin(head("T-1"), [draft("visit", date(2026, 1, 5))])
    plan = take(store, "code,age,referrer\nT-1,54,GP\n")
    assert statuses(plan) == ["taken"]
    assert (case(store, "T-1").age_band, case(store, "T-1").referrer) == ("50s", "GP")
    assert statuses(plan_of(store, "code,age\nT-1,57\nT-1,\n")) == ["known", "left"]
    assert "is not what the store has" in reasons(plan_of(store, "code,age\nT-1,64\n"))


def test_dates_in_doubt_are_refused_until_the_map_says(filled: Store) -> None:
    text = "code,date,worst pain\nS-001,03/02/2026,3\n"
    assert "may be either" in reasons(plan_of(filled, text))
    plan = take(filled, text, Map(dates={"date": "day first"}))
    assert case(filled, "S-001").measures[0].on == date(2026, 2, 3)
    assert statuses(plan) == ["taken"]
    assert statuses(plan_of(filled, text)) == ["known"], "what was said of a heading is remembered"


def test_what_headings_mean_is_remembered_with_the_store(filled: Store) -> None:
    text = "code,date,Schmerz\nS-001,2026-02-10,3\n"
    assert statuses(plan_of(filled, text)) == ["left"]
    take(filled, text, Map({"schmerz": "worst pain"}))
    assert statuses(plan_of(filled, text)) == ["known"]
    assert "as the last time" in "\n".join(lines_of(plan_of(filled, text), RULES))


def test_names_are_left_out_whatever_the_map_says(filled: Store) -> None:
    text = "code,date,worst pain,Patient name\nS-001,2026-02-10,3,Jane Doe\n"
    plan = take(filled, text, Map({"patient name": "referrer"}))
    account = "\n".join(lines_of(plan, RULES))
    assert "names somebody: never taken" in account
    assert "Jane" not in account
    assert b"Jane" not in filled.path.read_bytes()


def test_two_columns_of_one_meaning_mean_nothing_until_chosen(filled: Store) -> None:
    text = "code,date,worst pain,pain worst,rest pain\nS-001,2026-02-10,3,4,1\n"
    plan = plan_of(filled, text)
    assert [new.entry.name for one in plan.cases for new in one.new] == ["rest_pain"]  # pyright: ignore
    assert "another column means worst pain too" in "\n".join(lines_of(plan, RULES))


def test_a_map_says_the_same_again_and_refuses_what_it_does_not_know(filled: Store, tmp_path: Path) -> None:
    plan = plan_of(filled, PATIENTS)
    columns = plan.understood.sheets[0].columns
    file = tmp_path / "map.toml"
    file.write_text(map_text(columns, {"pathway": "RC"}), encoding="utf-8")
    said = read_map(file)
    again = columns_of(plan.understood.sheets[0].layout, said, Map())
    assert [one.meaning for one in again] == [one.meaning for one in columns]
    assert said.always == {"pathway": "RC"}
    for text, why in (
        ('[columns]\n"x" = "worst pian"', "did you mean"),
        ('[dates]\n"x" = "american"', "day first"),
        ('[always]\n"SPADI" = "3"', "cannot hold for every row"),
        ("[other]", 'not "other"'),
        ("[columns]\nx = 3", "holds lines such as"),
        ("[columns", "no map of columns"),
    ):
        file.write_text(text, encoding="utf-8")
        with pytest.raises(SheetRefused, match=why):
            read_map(file)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("date,worst pain\n2026-02-10,3\n", "No column is the case code"),
        ("code,worst pain\nS-001,3\n", "needs the date"),
        ("code,during\nS-001,3\n", "needs the date of each day"),
        ("code,stage\nS-001,2\n", '"stage" needs "in stage since"'),
        ("one\ntwo\n", "no list with headings"),
    ],
)
def test_columns_that_do_not_say_enough_are_told_before_any_row(filled: Store, text: str, why: str) -> None:
    with pytest.raises(SheetRefused, match=why):
        plan_of(filled, text)


def test_titles_two_lines_of_headings_headings_again_and_totals(filled: Store) -> None:
    text = (
        "Shoulder clinic\n\n,,Pain,,Passive,\nCode,Date,worst,night,ER,flexion\nS-001,2026-02-10,3,2,20,90\n"
        ",,,,,\nCode,Date,worst,night,ER,flexion\nS-002,2026-02-21,4,2,25,95\nMean,,3.5,2,22.5,92.5\n"
    )
    plan = plan_of(filled, text)
    assert [column.heading.words for column in plan.understood.sheets[0].columns][2:] == [
        *("Pain worst", "Pain night", "Passive ER", "Passive flexion")
    ]
    assert [(row.status, row.why) for row in plan.rows][1::2] == [
        ("left", "the headings again"),
        ("left", "a line of totals"),
    ]
    assert plan.entries == 8


def test_a_quotation_mark_that_is_not_closed_swallows_no_rows(filled: Store) -> None:
    text = 'code,date,worst pain,notes\nS-001,2026-02-10,3,"a\nS-002,2026-02-21,4,b"\nS-002,2026-02-22,4,c\n'
    plan = plan_of(filled, text)
    assert statuses(plan) == ["refused", "changed"]
    assert "quotation mark" in reasons(plan)
    with pytest.raises(SheetRefused, match="quotation mark is not closed"):
        plan_of(filled, text.replace('b"', "b"))


def test_what_came_since_the_rows_were_looked_at_is_not_written_over(filled: Store) -> None:
    plan = plan_of(filled, VISITS)
    Ledger(filled, "RS", lambda: MORNING, RULES).append("S-001", [draft("visit", date(2026, 2, 20))])
    with pytest.raises(Refused, match="look at them again"):
        write(filled, plan, RULES, "TK", lambda: MORNING)
    assert not case(filled, "S-001").measures


def test_a_clock_behind_the_newest_entry_is_told_and_nothing_written(filled: Store) -> None:
    plan = plan_of(filled, VISITS)
    with pytest.raises(Refused, match="clock"):
        write(filled, plan, RULES, "TK", lambda: MORNING - timedelta(days=3))
    assert not case(filled, "S-001").measures


# workbooks


def workbook(*sheets: tuple[str, str, str]) -> bytes:
    """A workbook written by hand: names, the XML of their rows, and what else stands in each sheet."""
    made = io.BytesIO()
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    rel = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    package = "http://schemas.openxmlformats.org/package/2006"
    with zipfile.ZipFile(made, "w") as packed:
        listed = related = ""
        for number, (name, rows, more) in enumerate(sheets, 1):
            state = ' state="hidden"' if name.startswith("hidden") else ""
            listed += f'<sheet name="{name}" sheetId="{number}"{state} r:id="r{number}"/>'
            related += (
                f'<Relationship Id="r{number}" Type="{rel}/worksheet" Target="worksheets/s{number}.xml"/>'
            )
            xml = f'<worksheet xmlns="{main}"><sheetData>{rows}</sheetData>{more}</worksheet>'
            packed.writestr(f"xl/worksheets/s{number}.xml", xml)
        related += f'<Relationship Id="r99" Type="{rel}/styles" Target="styles.xml"/>'
        root = f'<Relationship Id="r1" Type="{rel}/officeDocument" Target="xl/workbook.xml"/>'
        packed.writestr(
            "_rels/.rels", f'<Relationships xmlns="{package}/relationships">{root}</Relationships>'
        )
        packed.writestr(
            "xl/workbook.xml",
            f'<workbook xmlns="{main}" xmlns:r="{rel}"><sheets>{listed}</sheets></workbook>',
        )
        packed.writestr(
            "xl/_rels/workbook.xml.rels",
            f'<Relationships xmlns="{package}/relationships">{related}</Relationships>',
        )
        packed.writestr(
            "xl/styles.xml",
            f'<styleSheet xmlns="{main}">'
            '<cellXfs><xf numFmtId="0"/><xf numFmtId="14"/></cellXfs></styleSheet>',
        )
    return made.getvalue()


def rows_xml(*rows: list[Any]) -> str:
    """Cells as a spreadsheet writes them: texts in place, numbers, dates as days with a format."""

    def cell(column: int, row: int, value: Any) -> str:
        at = f'r="{chr(65 + column)}{row}"'
        if isinstance(value, date):
            return f'<c {at} s="1"><v>{(value - date(1899, 12, 30)).days}</v></c>'
        if isinstance(value, (int, float)):
            return f"<c {at}><v>{value}</v></c>"
        return f'<c {at} t="inlineStr"><is><t>{value}</t></is></c>' if value else ""

    return "".join(
        f'<row r="{number}">{"".join(cell(column, number, value) for column, value in enumerate(row))}</row>'
        for number, row in enumerate(rows, 1)
    )


def test_a_workbook_with_a_sheet_a_patient_merged_cells_and_a_hidden_sheet(filled: Store) -> None:
    pytest.importorskip("python_calamine")
    visits = rows_xml(
        ["Code", "Visit date", "Worst pain"],
        ["S-001", date(2026, 2, 10), 3],
        ["", date(2026, 2, 17), 2],
        ["S-002", date(2026, 2, 21), date(2026, 10, 7)],
    )
    diary = rows_xml(["Date", "During", "Next morning"], [date(2026, 2, 24), 3, 1])
    merged = '<mergeCells><mergeCell ref="A2:A3"/></mergeCells>'
    content = workbook(("Visits", visits, merged), ("s-002", diary, ""), ("hidden", visits, ""))
    plan = take(filled, content, name="clinic.xlsx")
    assert statuses(plan) == ["taken", "taken", "refused", "taken"]
    assert "is a date: the spreadsheet may have made one" in reasons(plan)
    assert [v.on.day for v in case(filled, "S-001").visits] == [20, 10, 17]
    assert case(filled, "s-002").sessions[0].during == 3
    assert any("hidden" in note for note in plan.understood.notes)


@pytest.mark.parametrize(
    ("rows", "why"),
    [
        ('<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>', "beyond"),
        ('<row r="1"><c r="A1"><f>1+1</f></c></row>', "formulas without their results"),
    ],
)
def test_a_workbook_that_would_be_read_wrong_or_for_ever_is_refused(rows: str, why: str) -> None:
    pytest.importorskip("python_calamine")
    with pytest.raises(SheetRefused, match=why):
        parse(workbook(("one", rows, "")), "list.xlsx")


def test_without_its_library_a_workbook_is_refused_in_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "python_calamine", None)
    with pytest.raises(SheetRefused, match=r"pip install 'armrise\[sheets\]'"):
        parse(workbook(("one", "", "")), "list.xlsx")


@pytest.mark.parametrize(
    "content", [b"", b"\x81\x8d", b"PK\x03\x04 nonsense", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"]
)
def test_what_is_no_spreadsheet_is_refused_in_one_sentence(content: bytes) -> None:
    with pytest.raises(SheetRefused):
        parse(content, "list.csv")


def test_a_path_that_leads_to_no_file_is_refused(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "none.csv"):
        with pytest.raises(SheetRefused):
            read_file(path)


# What says the same again

DAYS = [(TODAY - timedelta(days=ago)).isoformat() for ago in (9, 4, 1, 0)]
AGAIN = (
    (
        "code,date,during,later,next morning,times,dose",
        ("3,2,1,2,", ",,4,,", "0,0,0,0,none", "n/a,7/10,,3,3/3"),
    ),
    ("code,date,during,later", ("3 ,2", "11,2", ",", "declined,")),
    ("code,date,waking,next morning", ("2,3", "2,", ",5", "-,07")),
    ("code,date,worst pain,passive ER,notes", ("3,20°,a", ",,b", "12,20,", "n/a,45.5,c")),
    ("code,date,side,worst pain", ("L,3", "L,4")),
    ("code,date,measured by,worst pain", ("TK,3", "AB,3")),
    ("code,visit,worst pain", ("3", "4")),
)


@pytest.mark.parametrize(("headings", "told"), AGAIN, ids=[headings for headings, _ in AGAIN])
def test_a_row_that_says_what_another_said_is_judged_as_if_it_were_the_first(
    filled: Store, monkeypatch: pytest.MonkeyPatch, headings: str, told: tuple[str, ...]
) -> None:
    """Of other cases and on other days; the last is the clinic date, whose next morning is to come."""
    lines = [
        f"{code},{day},{cells}"
        for code in ("S-001", "s-001", " S-002", "S-002", "", "Total")
        for day in (*DAYS, "", "no day", "2099-01-01", "5 Feb 2026")
        for cells in (*told, *told)
    ]
    text = "\n".join([headings, *lines])
    quick = plan_of(filled, text)
    monkeypatch.setattr(Repeats, "among", lambda prepared, today: None)
    assert plan_of(filled, text).rows == quick.rows
    assert len({row.status for row in quick.rows}) > 1


def test_a_diary_is_known_again(filled: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """Days that say three things are judged three times."""
    judged: list[str] = []
    keep = Repeats.keep

    def kept(self: Repeats, row: Row, cells: Sequence[Cell]) -> None:
        judged.append(row.code)
        keep(self, row, cells)

    monkeypatch.setattr(Repeats, "keep", kept)
    lines = [f"S-002,{TODAY - timedelta(days=ago)},{ago % 3},2" for ago in range(1, 10)]
    plan = plan_of(filled, "\n".join(["code,date,during,later", *lines]))
    assert len(judged) == 3
    assert plan.entries == len(plan.rows) == len(lines)
