"""The text of a letter: kept by the store, moved by files, told to whoever asks, printed by its state."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import pypdfium2
import pytest

from armrise.store.caseload.read import case
from armrise.store.caseload.taking.take import take_whole
from armrise.store.caseload.whole import whole
from armrise.store.clinic.case.view import View
from armrise.store.clinic.letter.draft import ABOUT, drafted
from armrise.store.database.place import Store
from armrise.store.exchange.into.caseload_file import read
from armrise.store.exchange.out.caseload_json import as_text as export_text
from armrise.store.exchange.paper.html import as_html
from armrise.store.exchange.paper.letter import PrintedLetter, as_text, letter_page, letter_path, newest, now
from armrise.store.exchange.paper.page import Lines, Table
from armrise.store.exchange.paper.pdf import as_pdf
from armrise.store.exchange.person.gather import gather
from armrise.store.exchange.person.page import person_page
from armrise.store.exchange.tables.csv_text import as_csv
from armrise.store.exchange.tables.records import record_tables
from armrise.store.record.kinds.paperwork import LINE_END, text_of
from armrise.store.rules.read import load
from tests.clinic.build import Builder
from tests.clinic.build import case as built
from tests.store import drafts

RULES = load()
LINES = ("Case T-1, LEFT shoulder.", "Pain 7 to 2, change -5 \u2265 error 3.", "Asked of you: nothing.")


@pytest.fixture(scope="module")
def kept(empty_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Store:
    """A case with a letter that has its text, and one that has none."""
    path = tmp_path_factory.mktemp("letter") / "store.armrise"
    path.write_bytes(empty_store.read_bytes())
    store = Store.open(path)
    ledger = drafts.open_case(store)
    ledger.append("T-1", [drafts.draft("visit")])
    letters = [
        drafts.draft("letter", about="progress", state="draft", body=text_of(LINES)),
        drafts.draft("letter", about="referral"),
    ]
    ledger.append("T-1", letters)
    return store


def test_the_lines_are_read_back(kept: Store) -> None:
    with_text, without = case(kept, "T-1").letters
    assert (with_text.lines, with_text.state) == (LINES, "draft")
    assert (without.lines, without.body) == ((), None)


def test_a_caseload_file_carries_them_to_another_store(kept: Store, tmp_path: Path) -> None:
    file = tmp_path / "export.json"
    file.write_text(export_text(whole(kept, drafts.TODAY)), encoding="utf-8")
    entries = json.loads(file.read_text(encoding="utf-8"))["cases"][0]["entries"]
    assert [entry["body"] for entry in entries if "body" in entry] == [f" {LINE_END} ".join(LINES)]
    other = Store.create(tmp_path / "other", zone="Europe/London")
    take_whole(other, read(file, RULES))
    assert [letter.lines for letter in case(other, "T-1").letters] == [LINES, ()]


def test_a_table_holds_them_in_one_cell(kept: Store) -> None:
    (table,) = (t for t in record_tables(whole(kept, drafts.TODAY)) if t.name == "letter")
    assert f" {LINE_END} ".join(LINES) in as_csv(table)


def test_whoever_asks_what_is_kept_is_told_every_line(kept: Store) -> None:
    page = as_html(person_page(gather(kept, RULES, drafts.TODAY, "P-T-1", ["T-1"])))
    assert all(line in page for line in LINES)
    assert "letter about progress: drafted, text of 3 lines" in page


# --- on paper -------------------------------------------------------------------------------------------


def paper(made: Builder, about: str = "progress") -> PrintedLetter:
    found = newest(View.of(made.record(), RULES, drafts.TODAY), about, fictional=True)
    assert isinstance(found, PrintedLetter)
    return found


def measured() -> Builder:
    return (
        built("RC2", day=40, last_visit=0, referrer="GP")
        .measure(-40, "worst_pain", 7)
        .measure(0, "worst_pain", 2)
    )


def test_a_draft_is_made_where_none_is_kept_and_says_so() -> None:
    found = paper(measured())
    assert not found.sent
    assert as_text(found).splitlines()[:5] == [
        "FICTIONAL CASELOAD: nobody in it exists.",
        "DRAFT, not sent: letter about progress, C-01 RIGHT, 2 Mar 2026",
        "To the GP",
        "Made now from the record of 2 Mar 2026; it is not kept.",
        "",
    ]
    assert len(found.lines) == 8
    assert max(map(len, as_text(found).splitlines())) <= 80


def test_a_kept_draft_is_printed_with_what_came_since() -> None:
    found = paper(
        measured().letter(-1, "progress", state="draft", body="my words").measure(0, "rest_pain", 1)
    )
    assert (found.lines, found.on, found.sent) == (("my words",), date(2026, 3, 1), False)
    assert "DRAFT" in letter_page(found).title
    assert "Recorded since: 4 entries (2 of measure, score, visit)." in as_text(found)


def test_a_sent_letter_is_no_draft_any_more() -> None:
    found = paper(measured().letter(-1, "progress", body="my words"))
    assert found.sent
    page = letter_page(found)
    assert page.title == "Letter about progress"
    assert "DRAFT" not in as_html(page)
    assert as_text(found).splitlines()[1].startswith("SENT: letter about progress")


def test_a_letter_that_went_without_its_text_is_said_to() -> None:
    found = paper(measured().letter(-1, "progress"))
    assert not found.sent
    assert "The letter of 1 Mar 2026 (sent) was recorded without its text." in found.note


@pytest.mark.parametrize("about", ABOUT)
def test_nothing_is_printed_of_a_case_closed_by_death(about: str) -> None:
    view = View.of(built("RC2").discharge(-2, "died").record(), RULES, drafts.TODAY)
    assert newest(view, about, fictional=False) == (
        "The case is closed by death: no letter is drafted, and none is owed."
    )


def test_both_forms_of_the_page_hold_the_letter_and_room_for_a_hand() -> None:
    found = paper(measured())
    page = letter_page(found)
    (lines,) = (block for part in page.parts for block in part.blocks if isinstance(block, Lines))
    (table,) = (block for part in page.parts for block in part.blocks if isinstance(block, Table))
    assert lines.items == found.lines
    assert (
        "worst pain (24 h)",
        "7, 21 Jan 2026",
        "2, 2 Mar 2026",
        "",
        "-5",
        "beyond error 3 (from memory)",
    ) in (table.rows)
    assert {len(row) for row in table.rows} == {len(table.head)}
    html = as_html(page)
    text = "".join(sheet.get_textpage().get_text_range() for sheet in pypdfium2.PdfDocument(as_pdf(page)))
    for printed in (html, text):
        for said in ("DRAFT", "C-01 RIGHT", "To the GP", "Signature ....", "NOT SIGNED OFF", "added by hand"):
            assert said in printed
    assert "P-01" not in html + text


def test_a_letter_to_the_patient_has_no_table_and_only_its_mark_of_a_draft_in_the_clinics_words() -> None:
    draft = paper(measured().missed(-1), "missed visits")
    page, sent = letter_page(draft), letter_page(replace(draft, sent=True))
    assert not any(isinstance(block, Table) for part in page.parts for block in part.blocks)
    assert page.title == "Your visits for the RIGHT shoulder"
    assert page.top[1:] == sent.top
    assert page.foot[1] == "DRAFT"
    assert "DRAFT" not in as_html(sent)


def test_what_stands_on_the_screen_is_printed_as_it_stands(tmp_path: Path) -> None:
    view = View.of(measured().record(), RULES, drafts.TODAY)
    made = drafted(view, "progress")
    assert made is not None
    found = now(view, made, ["one", "two"], fictional=False)
    assert (found.lines, found.sent, found.on) == (("one", "two"), False, drafts.TODAY)
    assert letter_path(tmp_path, found).name == "letter-C-01-progress-2026-03-02.html"
