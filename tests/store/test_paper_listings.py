"""What is printed on paper says what the text listing says: every fact of it, its cases in the same order."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from armrise.store.caseload.read import standings
from armrise.store.caseload.sweep import sweep
from armrise.store.clinic.standing.stand import stand
from armrise.store.clinic.standing.triage import on_list, order
from armrise.store.database.place import Store
from armrise.store.exchange.out import handover, minutes, plain_text
from armrise.store.exchange.out.plain_text import WIDTH, Heading, Part, heading_of
from armrise.store.exchange.paper import listings
from armrise.store.exchange.paper.html import as_html
from armrise.store.exchange.paper.page import Page
from armrise.store.exchange.paper.pdf import as_pdf
from armrise.tui.command import main as command
from tests.clinic.build import TODAY, case, rules
from tests.store.test_paper import Tags, texts

pytestmark = pytest.mark.usefixtures("worked_out_once")

CODE = re.compile(r"\bBY-\d{3}\b")
FURNITURE = re.compile(r"^(?:\d+\.|do:)\s")
"""What a page says by its layout: the number of a case has its cell, and what to do its column."""


class Printed(NamedTuple):
    """The same, as text whose lines are not wrapped and as a page."""

    text: str
    page: Page


@pytest.fixture(scope="module")
def printed(made: Path, worked_out_once: None) -> dict[str, Printed]:
    """Every listing of the demonstration."""
    store = Store.open(made, read_only=True)
    every = on_list(standings(store, rules(), TODAY))
    some = Part(every, "Shown: 9 of 36 cases (tier move on); 4 of TODAY left out.")
    moving = [one for one in every if one.tier == "move on"]
    swept, heading = sweep(store, rules(), TODAY), heading_of(store, rules(), TODAY)
    before = WIDTH.set(100_000)
    try:
        return {
            "list": Printed(plain_text.as_text(every, heading), listings.list_page(every, heading)),
            "part": Printed(
                plain_text.as_text(moving, heading, part=some),
                listings.list_page(moving, heading, part=some),
            ),
            "due": Printed(minutes.due_text(swept, heading), listings.due_page(swept, heading)),
            "minutes": Printed(minutes.as_text(swept, heading), listings.minutes_page(swept, heading)),
            "handover": Printed(handover.as_text(every, heading), listings.handover_page(every, heading)),
        }
    finally:
        WIDTH.reset(before)


def atoms(text: str) -> list[str]:
    """The facts of a listing: what stands between its commas and semicolons."""
    parts = (part for line in text.splitlines() for part in re.split(r"[,;:] ", line.strip()))
    return [fact for part in parts if (fact := FURNITURE.sub("", part).strip(" .:-"))]


def packed(text: str) -> str:
    """Without spaces; a hyphen at the end of a line is another sign to PDFium."""
    return re.sub(r"\s", "", text.replace("\ufffe", "-"))


def of_html(page: Page) -> str:
    return Tags(as_html(page)).text


def of_pdf(page: Page) -> str:
    return " ".join(texts(as_pdf(page)))


@pytest.mark.parametrize("name", ["list", "part", "due", "minutes", "handover"])
@pytest.mark.parametrize("read", [of_html, of_pdf])
def test_every_fact_of_the_text_is_on_paper(
    name: str, read: Callable[[Page], str], printed: dict[str, Printed]
) -> None:
    """Cautions, rules not signed off and FICTIONAL among them; the cases in the same order."""
    text, page = printed[name].text, read(printed[name].page)
    limits = [] if name == "handover" else [fact for fact in atoms(text) if fact == "limits"]
    assert [fact for fact in atoms(text) if packed(fact) not in packed(page)] == limits
    assert len(atoms(text)) > 40
    assert list(dict.fromkeys(CODE.findall(page))) == list(dict.fromkeys(CODE.findall(text)))
    for told in (plain_text.FICTIONAL, "NOT SIGNED OFF", "data as of 07:55", *plain_text.CAUTIONS):
        assert packed(told) in packed(page)


def test_a_case_is_on_one_sheet_of_the_handover(printed: dict[str, Printed]) -> None:
    sheets = [CODE.findall(text) for text in texts(as_pdf(printed["handover"].page))]
    assert sum(map(len, sheets)) == len(set().union(*sheets)) == 36


def test_size_is_of_paper_and_what_was_not_written_here_is_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "due.pdf"
    for words, told in (
        (["--size", "letter"], "give --paper FILE with it"),
        (["--json", "--paper", str(path)], "exclude each other"),
    ):
        assert command.run(["due", "--demo", *words]) == 2
        assert told in " ".join(capsys.readouterr().err.split())
    path.write_text("of another")
    for words, told in (
        ([str(path)], "put it in its place with --force"),
        ([str(tmp_path / "due.doc")], "give a name that ends in .html or .pdf"),
    ):
        assert command.run(["due", "--demo", "--paper", *words]) == 1
        assert told in " ".join(capsys.readouterr().err.split())
    assert path.read_text() == "of another"
    assert command.run(["due", "--demo", "--paper", str(path), "--force", "--quiet", "--size", "letter"]) == 0
    assert path.read_bytes().startswith(b"%PDF")
    assert capsys.readouterr().out == ""
    assert [file.name for file in tmp_path.iterdir()] == ["due.pdf"]


def test_a_dash_prints_the_page(capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    assert command.run(["minutes", "--demo", "--paper", "-"]) == 0
    assert capfdbinary.readouterr().out.startswith(b"<!doctype html>")
    assert command.run(["minutes", "--demo", "--paper", "-.pdf"]) == 0
    assert capfdbinary.readouterr().out.startswith(b"%PDF")


def test_an_empty_list_says_so_and_what_a_record_holds_is_text() -> None:
    heading = Heading(TODAY, False, None, rules())
    nothing = of_html(listings.list_page([], heading))
    assert plain_text.NO_CASE in nothing
    assert "FICTIONAL" not in nothing
    odd = "<script>alert(1)</script> \u05d0 " + "w" * 120
    built = case("RC2", day=40).override(-10, "READY", odd)
    found = on_list(order([stand(built.record(), rules(), TODAY)]))
    for page in (listings.list_page(found, heading), listings.handover_page(found, heading)):
        assert "script" not in {tag for tag, _ in Tags(as_html(page)).tags}
        assert as_pdf(page) == as_pdf(page)


@pytest.mark.parametrize(("stage", "limited"), [("PO2", True), ("RC2", False)])
def test_the_limits_of_a_case_that_heals_stand_on_the_list(stage: str, limited: bool) -> None:
    """All of them; where pain alone limits, that stands in the account of the case."""
    standing = stand(case(stage, day=20).record(), rules(), TODAY)
    text = of_html(listings.list_page([standing], Heading(TODAY, False, None, rules())))
    assert ("limits: " in text) is limited
    assert all(limit.rstrip(".") in text for limit in standing.limits) is limited
