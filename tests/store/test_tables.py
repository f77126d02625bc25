"""Tables hold what is recorded, cell by cell, and no text of theirs is ever a formula.

Judges: Python's own csv module reads the CSV, python-calamine the workbooks, jsonschema the printed schema.
What may begin a formula: OWASP, "CSV Injection" (owasp.org/www-community/attacks/CSV_Injection).
"""

from __future__ import annotations

import csv
import io
import re
import sys
import zipfile
from collections import Counter
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from python_calamine import CalamineWorkbook

from armrise.store.caseload.whole import whole
from armrise.store.database.place import Store, StoreError
from armrise.store.entries.build import COMMON, HEAD, build, field_rules
from armrise.store.entries.filed import CaseloadFile, FileCase
from armrise.store.exchange.into.caseload_file import demo_path, read
from armrise.store.exchange.out.private_file import write_private, write_private_folder
from armrise.store.exchange.schemas import SCHEMAS
from armrise.store.exchange.tables.csv_text import BYTE_ORDER_MARK, as_csv, guarded
from armrise.store.exchange.tables.records import CASES, part_fields, part_name, record_tables
from armrise.store.exchange.tables.schema import every_table
from armrise.store.exchange.tables.table import Column, Table
from armrise.store.exchange.tables.workbook import as_workbook, is_ours, sheet_names
from armrise.store.record.case import KINDS
from armrise.store.record.fields import Flag, Number, Series, Whole, series_of
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Correction
from armrise.tui.command.main import run
from tests.store import drafts
from tests.store.test_export import CHEAP, entries

T = date(2026, 3, 2)


# no text is a formula

GUARDED = re.compile(r"""(^|;)'(?=['"\s]*[=+\-@\t\r＝＋－＠])""")


def plain(text: str) -> str:
    """A text as whoever reads it back has it: the README says how."""
    return GUARDED.sub(r"\1", text)


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠"])
@pytest.mark.parametrize("before", ["", " ", '"', "'", "see;", "see; "])
def test_a_text_that_begins_like_a_formula_is_not_one(sign: str, before: str) -> None:
    text = f"{before}{sign}cmd|' /C calc'!A0"
    cells = guarded(text).split(";")
    assert all(cell.lstrip("\"' ")[:1] != sign or cell.startswith("'") for cell in cells)
    assert plain(guarded(text)) == text


@given(st.text(alphabet="=+-@'\"; \tab1＝", max_size=12))
@settings(max_examples=300, deadline=None, database=None)
def test_what_keeps_a_text_from_being_a_formula_comes_off_again(text: str) -> None:
    assert plain(guarded(text)) == text
    for cell in guarded(text).split(";"):
        assert cell.lstrip()[:1] not in {*"=+-@", "＝"} or cell[:1] == "'"


def test_a_number_below_zero_stays_a_number_and_a_text_does_not_become_one() -> None:
    rows = [(-20, "-20", Decimal("-1.50"), "ordinary")]
    table = Table("t", tuple(Column(name, {}) for name in "abcd"), rows)
    assert as_csv(table) == "a,b,c,d\r\n-20,'-20,-1.50,ordinary\r\n"


# CSV


def tables_read(made: CaseloadFile) -> dict[str, list[dict[str, str]]]:
    """Every table as a reader of CSV has it."""
    return {table.name: [*csv.DictReader(io.StringIO(as_csv(table)))] for table in record_tables(made)}


def value_of(rule: Any, cell: str) -> Any:
    """A cell back as JSON would have it."""
    match rule:
        case Flag():
            return {"yes": True, "no": False}[cell]
        case Series():
            return list(series_of(plain(cell)))
        case Whole() | Number() if cell.lstrip("-")[:1].isdigit():
            return Decimal(cell)
        case _:
            return plain(cell)


def stated(of: type, row: dict[str, str]) -> dict[str, Any]:
    rules = {spec.name: spec.rule for spec in field_rules(of)} | COMMON
    return {name: value_of(rule, row[name]) for name, rule in rules.items() if row.get(name)}


def read_back(made: CaseloadFile) -> dict[str, list[Entry]]:
    """The entries of each case, made of nothing but the cells."""
    found, back = tables_read(made), {}
    for case in found[CASES]:
        entries: list[tuple[int, Entry]] = []
        for kind, of in KINDS.items():
            for row in found[kind]:
                if row["case"] == case["case"]:
                    entries.append((int(row["entry"]), entry_of(found, kind, of, row)))
        back[case["case"]] = [entry for _, entry in sorted(entries, key=lambda pair: pair[0])]
    return back


def entry_of(found: dict[str, list[dict[str, str]]], kind: str, of: type, row: dict[str, str]) -> Entry:
    raw = stated(of, row) | {"recorded": row["recorded"]}
    for spec in part_fields(of):
        parts = [one for one in found[part_name(kind, spec.name)] if one["entry"] == row["entry"]]
        raw[spec.name] = [stated(spec.rule.of, part) for part in parts]  # type: ignore[union-attr]
    entry, faults = build(kind, raw, case=row["case"], label=row["entry"], base=T, exact=True)
    assert entry is not None, faults
    return replace(entry, recorded_on=date.fromisoformat(row["recorded_on"]))


def by_number(case: FileCase) -> list[Entry]:
    """The entries as a table tells them: a correction by the numbers of what it is about."""
    number = dict(enumerate(case.numbers, 1)) | {None: None}
    return [
        replace(entry, corrects=number[entry.corrects], replaced_by=number[entry.replaced_by])
        if isinstance(entry, Correction)
        else entry
        for entry in case.entries
    ]


@pytest.fixture(scope="module")
def recorded(demonstration: Path) -> CaseloadFile:
    """Everything the demonstration has."""
    return whole(Store.open(demonstration), T)


def test_the_demonstration_comes_back_cell_by_cell(recorded: CaseloadFile) -> None:
    back = read_back(recorded)
    for case in recorded.cases:
        assert [repr(entry) for entry in back[case.head.code]] == [repr(one) for one in by_number(case)]
    heads = {row["case"]: row for row in tables_read(recorded)[CASES]}
    for head in (case.head for case in recorded.cases):
        told = {name: getattr(head, "registered_on" if name == "registered" else name) for name in HEAD}
        assert {name: heads[head.code][name] for name in HEAD} == {n: str(v or "") for n, v in told.items()}
    gone = {(row["case"], row["withdrawn_by"]) for rows in tables_read(recorded).values() for row in rows
            if row.get("withdrawn_by")}  # fmt: skip
    assert ("BY-027", "487") in gone


@given(example=st.data())
@settings(CHEAP, max_examples=2)
def test_an_entry_of_each_kind_comes_back(example: st.DataObject) -> None:
    """Whatever a form or a file may put in a field."""
    drawn = [example.draw(entries(kind)) for kind, of in KINDS.items() if of is not Correction]
    drawn = [replace(one, id=0, recorded_at=one.recorded_at.replace(fold=0)) for one in drawn]
    fixed = Correction(on=T, recorded_at=drawn[0].recorded_at, recorded_on=T, corrects=1, reason="a slip")
    case = FileCase(drafts.head(), (*drawn, fixed), tuple(range(1, len(drawn) + 2)))
    (back,) = read_back(CaseloadFile(T, "UTC", True, "", (case,))).values()
    assert [repr(entry) for entry in back] == [repr(entry) for entry in case.entries]


@cache
def judges() -> dict[str, Draft202012Validator]:
    schema = SCHEMAS["csv"]()
    Draft202012Validator.check_schema(schema)
    return {name: Draft202012Validator(part) for name, part in schema["$defs"].items()}


def test_every_row_is_what_its_schema_says(recorded: CaseloadFile) -> None:
    """One kind of row by its columns, then the same row against every rule of it."""
    for name, rows in tables_read(recorded).items():
        for row in rows[:: max(1, len(rows) // 8)]:
            judges()[name].validate(row)
            assert not judges()[name].is_valid(row | {"another": ""})
            assert not judges()[name].is_valid(row | {"armrise": f"csv 2 {name}"})


@pytest.mark.parametrize(("name", "columns"), [*every_table()], ids=[name for name, _ in every_table()])
def test_no_column_of_a_table_stands_twice(name: str, columns: tuple[Column, ...]) -> None:
    assert [n for n, count in Counter(column.name for column in columns).items() if count > 1] == []
    assert columns[0].name == "armrise"
    assert name in judges()


def test_the_list_is_a_table_a_row_a_case(
    demonstration: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "list.csv"
    listed = ["list", "--store", str(demonstration), "--as-of", "2026-03-02", "--csv"]
    assert run([*listed, str(file)]) == 0
    assert capsys.readouterr().out.startswith(f"List written to {file}. Not encrypted")
    raw = file.read_bytes()
    assert raw.startswith(b"\xef\xbb\xbfarmrise,")
    assert raw.count(b"\r\n") == raw.count(b"\n") == 37
    rows = [*csv.DictReader(io.StringIO(raw.decode("utf-8-sig")))]
    for row in rows:
        judges()["list"].validate(row)
    first = rows[0]
    assert (first["code"], first["pain_later"], first["review_due"]) == ("BY-007", "2", "2026-03-19")
    assert run([*listed, "-"]) == 0
    assert capsys.readouterr().out.encode() == raw.removeprefix(BYTE_ORDER_MARK.encode())


def test_zero_and_what_is_not_there_are_not_alike(recorded: CaseloadFile) -> None:
    cells = {row["morning"] for row in tables_read(recorded)["session"]}
    assert "0" in cells
    assert "not asked" in cells
    assert "" not in cells


# workbooks


def sheets(data: bytes) -> dict[str, list[list[Any]]]:
    """Every sheet as python-calamine reads it."""
    book = CalamineWorkbook.from_filelike(io.BytesIO(data))
    return {name: book.get_sheet_by_name(name).to_python() for name in book.sheet_names}


def parts_of(data: bytes) -> str:
    """What the sheets hold, as it is written."""
    with zipfile.ZipFile(io.BytesIO(data)) as held:
        return "".join(held.read(name).decode() for name in held.namelist() if "sheets/" in name)


def test_a_workbook_holds_values_by_their_type_and_no_formula() -> None:
    texts = ["=1+1", "@x", "-20", "https://clinic.example", "0012", "x" * 40_000]
    rows = [(text, -20, Decimal("1.50"), date(2026, 3, 2), True, None) for text in texts]
    table = Table("a: very [long] name of a sheet that goes on", tuple(Column(n, {}) for n in "abcdef"), rows)
    data = as_workbook([table, table], "armrise list 1", T)
    (one, two), found = sheets(data), sheets(data)
    assert (len(one), len(two)) == (31, 31)
    read = found[one]
    assert read[0] == [*"abcdef"]
    assert [row[0] for row in read[1:6]] == texts[:5]
    assert read[6][0].endswith("... (cut)")
    assert len(read[6][0]) == 32_767
    assert read[1][1:] == [-20.0, 1.5, date(2026, 3, 2), "yes", ""]
    assert "<f>" not in parts_of(data)
    assert "hyperlink" not in parts_of(data)
    with zipfile.ZipFile(io.BytesIO(data)) as held:
        assert 'quotePrefix="1"' in held.read("xl/styles.xml").decode()
    assert as_workbook([table, table], "armrise list 1", T) == data


def test_no_two_sheets_have_one_name() -> None:
    named = [Table(name, (), []) for name in ("x" * 40, "X" * 40, "x" * 31)]
    assert sheet_names(named) == ["x" * 31, f"{'X' * 29} 2", f"{'x' * 29} 3"]


def test_list_case_and_audit_are_written_as_workbooks(
    demonstration: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    here = ["--store", str(demonstration), "--as-of", "2026-03-02", "--xlsx"]
    path = {name: tmp_path / f"{name}.xlsx" for name in ("list", "case", "audit")}
    for words in (["list"], ["case", "BY-027"], ["audit"]):
        assert run([*words, *here, str(path[words[0]])]) == 0
        assert is_ours(path[words[0]])
        assert (path[words[0]].stat().st_mode & 0o777) == 0o600
    assert run(["case", "BY-027", *here, str(path["list"])]) == 0  # over one of its own
    assert run(["list", *here, str(path["list"])]) == 0
    listed = sheets(path["list"].read_bytes())["list"]
    assert (len(listed), listed[1][1]) == (37, "BY-007")
    case = sheets(path["case"].read_bytes())
    assert {"worked out", "verdict criteria", "recorded correction", "recorded session items"} <= set(case)
    assert dict(row for row in case["worked out"])["code"] == "BY-027"
    assert case["recorded correction"][1][-1] == "external rotation of the LEFT arm was entered under RIGHT"
    audit = sheets(path["audit"].read_bytes())
    assert ["whole clinic", "overdue", 7.0, 35.0, 20.0] in audit["numbers"]
    assert any("NOT SIGNED OFF" in line[0] for line in audit["about"])
    capsys.readouterr()


def test_a_case_as_known_then_has_what_was_recorded_by_then(demonstration: Path, tmp_path: Path) -> None:
    file = tmp_path / "then.xlsx"
    then = ["--store", str(demonstration), "--as-of", "2026-01-22"]
    assert run(["case", "BY-027", *then, "--xlsx", str(file)]) == 0
    assert "recorded correction" not in sheets(file.read_bytes())


def test_without_the_library_one_sentence_says_what_is_needed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setitem(sys.modules, "xlsxwriter", None)
    assert run(["list", "--demo", "--xlsx", str(tmp_path / "list.xlsx")]) == 1
    said = capsys.readouterr().err
    needed = "a workbook (XLSX) needs one extra library: pip install 'armrise[sheets]', then write it again"
    assert said == f"armrise: {needed}\n"
    assert list(tmp_path.iterdir()) == []


# files and folders


@pytest.mark.parametrize("held", [b"", b"PK\x03\x04 no workbook", b"a letter"])
def test_a_workbook_takes_the_place_of_no_other_file(held: bytes, tmp_path: Path) -> None:
    path = tmp_path / "list.xlsx"
    path.write_bytes(held)
    with pytest.raises(StoreError, match="a file not written by armrise lies there"):
        write_private(path, b"new", "list", is_ours)
    foreign = io.BytesIO()
    with zipfile.ZipFile(foreign, "w") as other:
        other.writestr("docProps/custom.xml", "<p>another program</p>")
    path.write_bytes(foreign.getvalue())
    with pytest.raises(StoreError, match="a file not written by armrise lies there"):
        write_private(path, b"new", "list", is_ours)
    write_private(path, b"new", "list", is_ours, force=True)
    assert path.read_bytes() == b"new"


def test_the_store_is_written_as_tables_all_or_none(
    demonstration: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "tables"
    assert run(["export", "--csv", str(folder), "--store", str(demonstration)]) == 0
    said = capsys.readouterr().out
    assert said.startswith(f"36 cases (fictional) with 2,363 entries written to {folder}, in 37 tables.\n")
    names = {f"{table.name.replace(' ', '-')}.csv" for table in record_tables(read(demo_path()))}
    assert {path.name for path in folder.iterdir()} == names
    assert all(path.stat().st_mode & 0o777 == 0o600 for path in folder.iterdir())
    assert folder.stat().st_mode & 0o777 == 0o700
    assert run(["export", "--csv", str(folder), "--store", str(demonstration)]) == 1
    assert "(something lies in that folder): name a new folder" in capsys.readouterr().err
    assert run(["export", "everything.json", "--csv", str(folder), "--store", str(demonstration)]) == 2


def test_a_folder_that_cannot_be_written_leaves_nothing(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    with pytest.raises(StoreError, match="cannot write the tables"):
        write_private_folder(tmp_path / "empty", {"a.csv": "1", "b/c.csv": "2"}, "tables")
    (tmp_path / "file").write_text("a letter")
    with pytest.raises(StoreError, match="a file lies there"):
        write_private_folder(tmp_path / "file", {"a.csv": "1"}, "tables")
    (tmp_path / "link").symlink_to(tmp_path / "empty")
    with pytest.raises(StoreError, match="a link lies there"):
        write_private_folder(tmp_path / "link", {"a.csv": "1"}, "tables")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["empty", "file", "link"]
    write_private_folder(tmp_path / "empty", {"a.csv": "1"}, "tables")
    assert (tmp_path / "empty" / "a.csv").read_text() == "1"


def test_one_form_is_asked_for_at_a_time(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["list", "--demo", "--json", "--csv", "-"]) == 2
    assert "--json and --csv exclude each other" in capsys.readouterr().err
