"""Everything kept of one person and nothing of another. Judge of the JSON: jsonschema."""

from __future__ import annotations

import json
import re
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from armrise.store.caseload import read as caseload
from armrise.store.caseload.write import Ledger
from armrise.store.database import desk
from armrise.store.database.place import Store
from armrise.store.exchange.out.formats import stamped
from armrise.store.exchange.paper.html import as_html
from armrise.store.exchange.paper.tree import mark_of
from armrise.store.exchange.person.gather import ELSEWHERE, NAMED, Kept, _hiding, gather
from armrise.store.exchange.person.page import KIND, person_page
from armrise.store.exchange.schemas import SCHEMAS
from armrise.store.record.kinds.care import Contact
from armrise.store.rules.read import load
from armrise.tui.command.main import run

T = date(2026, 3, 2)
NOW = datetime(2026, 3, 2, 20, 0, tzinfo=UTC)
RULES = load()
WRONG = "rang about the other shoulder"


@pytest.fixture(scope="module")
def kept(demonstration: Path, tmp_path_factory: pytest.TempPathFactory) -> Kept:
    """P-027 with a call entered by mistake and moved to BY-021, a look, a mark and a form left."""
    path = tmp_path_factory.mktemp("person") / "one.armrise"
    path.write_bytes(demonstration.read_bytes())
    store = Store.open(path)
    ledger = Ledger(store, "TK", lambda: NOW, RULES)
    call = Contact(on=T, recorded_at=NOW, recorded_on=T, author="TK", outcome="spoke", note=WRONG)
    (wrong,) = ledger.append("BY-027", [call], confirmed=True)
    ledger.move(wrong, "wrong case", "BY-021", call, confirmed=True)
    desk.looked(store, "TK", "BY-027", NOW)
    desk.mark(store, "MB", "BY-027", True)
    desk.keep_draft(store, "TK", "BY-027", "review", {"note": "asked about by-021"}, NOW)
    return gather(store, RULES, T, "P-027", ["BY-027"])


def test_it_is_what_its_schema_says(kept: Kept) -> None:
    schema = SCHEMAS["person"]()
    Draft202012Validator.check_schema(schema)
    judge = Draft202012Validator(schema)
    made = json.loads(json.dumps(stamped("person", kept.data)))
    judge.validate(made)
    assert not judge.is_valid(made | {"another": 1})
    assert not judge.is_valid(made | {"format": "armrise person 2"})


def test_every_entry_of_the_case_is_in_it_once(kept: Kept, demonstration: Path) -> None:
    from armrise.store.caseload.timeline import read_timeline

    told = read_timeline(Store.open(demonstration), "BY-027", RULES, T).told
    entries = {entry["entry"]: entry for entry in kept.data["cases"][0]["entries"]}
    assert {one.entry.id for one in told} < set(entries)
    for one in told:
        found = entries[one.entry.id]
        assert (found["kind"], found["on"]) == (one.entry.KIND, one.entry.on.isoformat())
        assert datetime.fromisoformat(found["recorded"]) == one.entry.recorded_at
        assert bool(found["withdrawn"]) == bool(one.withdrawn_by)


def texts(value: Any) -> str:
    return json.dumps(value)


def test_nobody_else_is_named_and_nothing_of_theirs_told(kept: Kept, demonstration: Path) -> None:
    heads = caseload.heads(Store.open(demonstration))
    others = {part for code, whose, _ in heads for part in (code, whose)} - {"BY-027", "P-027"}
    for made in (texts(kept.data), as_html(person_page(kept))):
        assert not [code for code in others if re.search(rf"\b{re.escape(code)}\b", made, re.IGNORECASE)]
        assert WRONG not in made
        assert NAMED in made
    away = [entry for entry in kept.data["cases"][0]["entries"] if entry["says"] == ELSEWHERE]
    assert [(entry["fields"], bool(entry["withdrawn"])) for entry in away] == [({}, True)]


def test_what_lies_beside_the_record_is_in_it(kept: Kept) -> None:
    found = kept.data["beside_the_record"]
    assert [one["author"] for one in found["marked"]] == ["MB"]
    assert [one["author"] for one in found["last_opened"]] == ["TK"]
    assert found["forms_not_written"][0]["typed"] == {"note": f"asked about {NAMED}"}


def test_a_code_that_reads_like_a_value_is_taken_out_where_it_is_named() -> None:
    hide = _hiding({"7", "C-1"})
    said = "belongs to 7, was entered in C-1: pain 7 and 7/10; c-1 again, C-12 stays"
    assert (
        hide(said)
        == f"belongs to {NAMED}, was entered in {NAMED}: pain 7 and 7/10; {NAMED} again, C-12 stays"
    )


def test_the_page_stands_alone(kept: Kept) -> None:
    page = as_html(person_page(kept))
    assert page.startswith(mark_of(KIND))
    assert not re.search(r"<script|<img|<link|@import|url\(|https?://", page)
    assert "@page" in page
    assert "FICTIONAL" in page
    assert "U+000A" not in page


def test_the_command_prints_and_writes(
    demonstration: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    here = ["--store", str(demonstration), "--as-of", "2026-03-02"]
    assert run(["person", "p-027", *here]) == 0
    assert json.loads(capsys.readouterr().out)["person"] == "P-027"
    page = tmp_path / "page.html"
    assert run(["person", "P-027", *here, "--html", str(page)]) == 0
    assert page.read_text("utf-8").startswith(mark_of(KIND))
    paper = tmp_path / "page.pdf"
    assert run(["person", "P-027", *here, "--paper", str(paper)]) == 0
    assert paper.read_bytes().startswith(b"%PDF")
    assert "Not encrypted" in capsys.readouterr().out
    assert run(["person", "P-0277", *here]) == 1
    assert 'there is no person "P-0277": did you mean' in capsys.readouterr().err
