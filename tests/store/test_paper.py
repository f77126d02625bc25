"""A page for paper: what is put into it comes out of both forms, read back by others than their writers."""

from __future__ import annotations

import builtins
import re
import stat
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from xml.etree.ElementTree import tostring

import pypdfium2
import pytest
import zxingcpp

from armrise.store import rules as rules_of
from armrise.store.database.place import StoreError
from armrise.store.exchange.out import plain_text
from armrise.store.exchange.paper import listings, pdf
from armrise.store.exchange.paper.code_mark import as_svg, modules
from armrise.store.exchange.paper.file import form_of, write_page
from armrise.store.exchange.paper.flow import Piece, Sheets, tied
from armrise.store.exchange.paper.html import as_html
from armrise.store.exchange.paper.page import CodeMark, Drawing, Lines, Page, Part, Table, Text
from armrise.store.exchange.paper.pdf import as_pdf
from armrise.store.exchange.paper.pen import pen_of
from armrise.store.exchange.paper.tree import element

HOSTILE = (
    "<script>alert(1)</script>",
    "\u202eLEFT\u202c",
    "bell\x07and\x1b[31mred",
    "</style><img src=x>",
    'quote" onload="x',
    "\u05d0\u05d1",
    "\U0001f600",
    "e\u0301\u0142\u03b1\u0436",
    "≥ ≤ − → ≈ ✓ ° ½ … “so”",
    "a" * 300,
)


def drawing() -> Drawing:
    svg = element("svg", viewBox="0 0 320 60")
    svg.append(element("line", x1=10, x2=300, y1=40, y2=40, stroke="currentColor", stroke_dasharray="7 4"))
    svg.append(element("text", "usual 42", x=160, y=20, text_anchor="middle", font_weight="bold"))
    return Drawing(svg, "a dashed line")


def page(rows: int = 3) -> Page:
    """One of every block."""
    cases = tuple((f"AR-{n:03}", "RIGHT", f"reason {n} of the list, said in words", "") for n in range(rows))
    return Page(
        "letter",
        "Letter of the clinic",
        (
            Part(
                "First part",
                (Text("plain words"), Text("strong words", "strong"), Text("soft words", "soft")),
            ),
            Part("Second part", (Lines(("one", "two"), numbered=True), Lines(("three",))), whole=True),
            Part(
                "The table",
                (Table(("code", "side", "why", "seen"), cases, "In order", ("A note.",), to_fill=True),),
            ),
            Part("Nothing", (Table(("code", "why"), ()),)),
            Part("Drawn", (drawing(), CodeMark("AR-002"))),
            Part("On a new sheet", (Text("boxed words", "boxed"),), new_page=True),
        ),
        top=(Text("Data as of 08:05."),),
        mark=CodeMark("AR-001"),
        foot=("AR-001 RIGHT", "2 March 2026"),
        cautions=("Local codes prevail.",),
        fictional="FICTIONAL CASELOAD: nobody in it exists.",
        contents=True,
    )


ORDER = (
    "FICTIONAL CASELOAD: nobody in it exists.", "Letter of the clinic", "Data as of 08:05.", "First part",
    "plain words", "strong words", "soft words", "Second part", "one", "two", "three", "The table",
    "In order", "code", "side", "why", "seen", "AR-000", "RIGHT", "reason 2 of the list, said in words",
    "A note.", "Nothing", "none", "Drawn", "usual 42", "AR-002", "On a new sheet", "boxed words",
    "Local codes prevail.",
)  # fmt: skip
"""Every fact of the page, in its order."""


def texts(made: bytes) -> list[str]:
    """What a reader of another library finds on each sheet, its lines joined."""
    found = pypdfium2.PdfDocument(made)
    return [" ".join(sheet.get_textpage().get_text_bounded().split()) for sheet in found]


def in_order(facts: tuple[str, ...], text: str) -> None:
    """Every fact stands in the text, each after the one before."""
    at = 0
    for fact in facts:
        found = text.find(fact, at)
        assert found >= 0, f"{fact!r} is not after {text[max(0, at - 40) : at]!r}"
        at = found + len(fact)


class Tags(HTMLParser):
    """What an HTML page consists of, and its text."""

    VOID = ("meta", "col", "img", "br")

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.said: list[str] = []
        self.feed(text)
        self.close()
        assert not self.open, "an element is not closed"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "style" not in self.open:
            self.said.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.said).split())


# HTML


def test_every_fact_is_on_the_html_page_in_order() -> None:
    said = Tags(as_html(replace(page(), contents=False))).text
    in_order((*ORDER, "AR-001 RIGHT", "2 March 2026"), said)


def test_the_html_page_fetches_nothing() -> None:
    """No address, script, image or font; the policy forbids what a later hand might add."""
    text = as_html(page())
    tags = Tags(text)
    policy = next(of["content"] for tag, of in tags.tags if "http-equiv" in of)
    assert policy
    assert policy.startswith("default-src 'none'")
    assert not re.search(r"https?:|url\(|@import|<script|<img|<link", text)
    assert all(not {"src", "srcset", "action", "data"} & set(of) for _, of in tags.tags)
    assert all((of["href"] or "").startswith("#part-") for _, of in tags.tags if "href" in of)


def test_the_headings_are_listed_first_where_that_is_wanted() -> None:
    links = [of["href"] for tag, of in Tags(as_html(page())).tags if tag == "a"]
    named = [of["id"] for tag, of in Tags(as_html(page())).tags if tag == "section"]
    assert links == [f"#{name}" for name in named]
    assert "<nav" not in as_html(replace(page(), contents=False))


@pytest.mark.parametrize("text", HOSTILE)
def test_a_hostile_text_is_text_on_the_html_page(text: str) -> None:
    """In whatever place a text has: no tag of it is one, nothing of it is obeyed."""
    told = as_html(everywhere(text))
    assert [tag for tag, _ in Tags(told).tags] == [tag for tag, _ in Tags(as_html(everywhere("plain"))).tags]
    assert not re.search("[\x00-\x09\x0b-\x1f\u202a-\u202e]", told)


def everywhere(text: str) -> Page:
    """The text in every place there is, but the code mark."""
    return Page(
        "letter",
        text,
        (
            Part(text, (Text(text), Lines((text,)), Table((text, text), ((text, text),), text, (text,)))),
            Part("", (Table((text, ""), ((text, ""),), to_fill=True), Text(text, "boxed"))),
        ),
        top=(Text(text),),
        foot=(text,),
        cautions=(text,),
        fictional=text,
    )


def test_the_language_and_the_print_are_said() -> None:
    german = as_html(replace(page(), language="de", large=True))
    assert '<html lang="de">' in german
    assert '<body class="large">' in german
    assert "font: 16pt" in german
    assert "size: landscape" in as_html(replace(page(), landscape=True))


# PDF


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_every_fact_is_in_the_pdf_in_order(size: str) -> None:
    """Read back by PDFium."""
    sheets = texts(as_pdf(page(), size))
    in_order(ORDER, " ".join(sheets))
    for number, text in enumerate(sheets, 1):
        assert "AR-001 RIGHT" in text
        assert "2 March 2026" in text
        assert f"{number} / {len(sheets)}" in text


@pytest.mark.parametrize(
    ("size", "wide", "high"),
    [("A4", 210 / 25.4, 297 / 25.4), ("Letter", 8.5, 11)],
    ids=["A4: ISO 216", "Letter: ANSI/ASME Y14.1 size A"],
)
@pytest.mark.parametrize("landscape", [False, True])
def test_the_sheets_have_the_size_of_the_paper(size: str, wide: float, high: float, landscape: bool) -> None:
    """In points, 72 to the inch (ISO 32000-1), to a hundredth."""
    made = pypdfium2.PdfDocument(as_pdf(replace(page(), landscape=landscape), size))
    expected = (high, wide) if landscape else (wide, high)
    assert all(
        sheet.get_size() == pytest.approx([72 * side for side in expected], abs=0.01) for sheet in made
    )


def test_the_same_page_is_the_same_bytes_and_says_no_date() -> None:
    made = as_pdf(page())
    assert made == as_pdf(page())
    assert b"CreationDate" not in made
    assert b"ModDate" not in made
    of = pypdfium2.PdfDocument(made)
    assert of.get_metadata_value("Title") == "Letter of the clinic"
    assert of.get_metadata_value("Producer") == "armrise letter"
    assert not of.get_metadata_value("Creator")
    assert b"/Lang (en)" in made


def test_a_long_table_repeats_its_head_and_cuts_no_row() -> None:
    """Every sheet that has rows begins with the head, and no row is on two."""
    sheets = [text for text in texts(as_pdf(page(120))) if "reason" in text]
    assert len(sheets) > 3
    for text in sheets:
        in_order(("code side why seen", "AR-"), text)
        assert text.count("AR-") - text.count("AR-001 RIGHT 2 M") >= text.count("said in words")
    found = re.findall(r"AR-(\d{3}) RIGHT reason (\d+) of the list, said in words", " ".join(sheets))
    assert [(int(code), int(n)) for code, n in found] == [(n, n) for n in range(120)]


@pytest.mark.parametrize("text", HOSTILE)
def test_a_hostile_text_is_in_the_pdf_as_it_can_be_printed(text: str) -> None:
    """A sign that is obeyed, or that the letters have no picture of, by its number; the rest as it is."""
    import unicodedata

    pen = pen_of("A4", landscape=False)
    shown = pen.shown(text)
    assert all(ord(sign) in pen.there for sign in shown)
    found = "".join(texts(as_pdf(everywhere(text)))).replace(" ", "").replace("\ufffe", "")
    assert unicodedata.normalize("NFC", found).count(shown.replace(" ", "")) >= 9
    if missing := sorted(pen.missing):
        assert f"isprintedasitsnumber,suchas<U+05D0>:<U+{ord(missing[0]):04X}>" in found


def test_the_letters_have_every_sign_that_rules_and_listings_print() -> None:
    """What is drawn on a terminal alone, boxes and bars, is not printed on paper."""
    there = pen_of("A4", landscape=False).there
    told = [*Path(rules_of.__path__[0]).rglob("*.toml"), Path(plain_text.__file__), Path(listings.__file__)]
    signs = {sign for file in told for sign in file.read_text("utf-8") if not sign.isascii()}
    assert {sign for sign in signs | set("−≤≥≈→±°½…–—✓☐") if ord(sign) not in there} == set()


def test_a_word_is_cut_only_where_no_line_holds_it() -> None:
    pen = pen_of("A4", landscape=False)
    text = "one two " + "w" * 200 + " three supraspinatus infraspinatus"
    lines = pen.lines(text, 60, 10.5)
    assert all(pen.wide(line, 10.5) <= 60 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert any("supraspinatus" in line.split() for line in lines)


def test_lines_stand_closer_where_that_saves_a_sheet(monkeypatch: pytest.MonkeyPatch) -> None:
    """The last words of a letter are not alone on a sheet of their own."""
    lines = tuple(Text(f"line {number}") for number in range(42))
    long = Page("letter", "Title", (Part("", lines),))
    assert ["line 41" in text for text in texts(as_pdf(long))] == [True]
    monkeypatch.setattr(pdf, "CLOSER", 1.0)
    assert len(texts(as_pdf(long))) == 2


def test_a_row_higher_than_a_sheet_goes_on_on_the_next() -> None:
    words = tuple(f"word{n}" for n in range(3000))
    long = replace(page(), parts=(Part("", (Table(("code", "why"), (("AR-001", " ".join(words)),)),)),))
    assert [word for text in texts(as_pdf(long)) for word in re.findall(r"word\d+", text)] == list(words)


def test_columns_too_narrow_for_their_words_are_set_under_each_other() -> None:
    """In large print nothing is made smaller and no word is cut."""
    words = tuple(f"{'w' * 14}{n}" for n in range(8))
    long = replace(page(), large=True, parts=(Part("", (Table(words, (words,)),)),))
    text = " ".join(texts(as_pdf(long)))
    in_order((words[0], *(f"{word}: {word}" for word in words[1:])), text)


@pytest.mark.parametrize(("wanted", "points"), [("clear", 12), ("large", 16)])
def test_print_for_patients_is_nowhere_smaller_than_the_guidance_asks(wanted: str, points: int) -> None:
    """UKAAF, G003 (2019): 12 points at least in clear print, 16 in large, page numbers and labels too."""
    from pypdfium2 import raw

    plain = Page("letter", "Title", page().parts[:4], foot=("AR-001",), cautions=("Caution.",))
    of = pypdfium2.PdfDocument(as_pdf(replace(plain, **{wanted: True})))
    sizes = {
        round(raw.FPDFText_GetFontSize(sheet.get_textpage(), n), 1)
        for sheet in of
        for n in range(sheet.get_textpage().count_chars())
        if not raw.FPDFText_IsGenerated(sheet.get_textpage(), n)
    }
    assert min(sizes) == points


# the flow over sheets


def test_what_is_tied_stays_together_where_a_sheet_holds_it() -> None:
    whole = tied([Piece(30), Piece(30), Piece(30)])
    placed = Sheets(10, 110).fill([Piece(40), *whole])
    assert [len(sheet) for sheet in placed] == [1, 3]
    longer = Sheets(10, 110).fill([Piece(40), *tied([Piece(30)] * 4)])
    assert [len(sheet) for sheet in longer] == [3, 2], "what no sheet holds goes on at once"


def test_a_head_is_drawn_again_and_room_is_left_out_at_the_top() -> None:
    head = Piece(10)
    rows = [Piece(30, again=(head,)) for _ in range(4)]
    placed = Sheets(0, 75).fill([head, *rows[:2], Piece(5, space=True), *rows[2:]])
    assert [[y for y, _ in sheet] for sheet in placed] == [[0, 10, 40, 70], [0, 10, 40]]
    assert placed[1][0][1] is head
    assert len(Sheets(0, 50).fill([Piece(10), Piece(5, fresh=True)])) == 2


# the code mark


def test_the_code_mark_is_read_from_the_pdf_and_from_the_html_page() -> None:
    """By ZXing, at the resolution of a cheap scanner; the SVG drawn by the library that draws it in a PDF."""
    sheet = pypdfium2.PdfDocument(as_pdf(page()))[0]
    found = zxingcpp.read_barcodes(sheet.render(scale=150 / 72).to_pil())
    assert sorted(one.text for one in found) == ["AR-001", "AR-002"]
    assert {one.format for one in found} == {zxingcpp.BarcodeFormat.QRCode}
    rows = modules("AR-042")
    assert rows is not None
    svg = as_svg(rows, "AR-042")
    only = Page("letter", "Title", (Part("", (Drawing(svg, "mark"),)),))
    big = pypdfium2.PdfDocument(as_pdf(only))[0].render(scale=8, crop=(0, 0, 0, 0)).to_pil()
    assert [one.text for one in zxingcpp.read_barcodes(big)] == ["AR-042"]
    assert tostring(svg, encoding="unicode", method="html") in as_html(
        replace(page(), mark=CodeMark("AR-042"))
    )


def test_without_the_library_the_code_stands_large_and_a_pdf_names_the_extra(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    there = builtins.__import__

    def missing(name: str, *rest: object) -> object:
        if name.partition(".")[0] in ("segno", "fpdf"):
            raise ImportError(name)
        return there(name, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(builtins, "__import__", missing)
    assert modules("AR-001") is None
    assert '<figcaption class="instead">AR-001</figcaption>' in as_html(page())
    with pytest.raises(StoreError, match=r"armrise\[paper\]"):
        as_pdf(page())


# the file


@pytest.mark.parametrize("name", ["page.html", "page.PDF"])
def test_the_file_is_private_and_replaces_its_own_kind_alone(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    write_page(path, page())
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    write_page(path, replace(page(), title="Another"))
    for kind in ("audit", "letter to nobody"):
        with pytest.raises(StoreError, match="not written by armrise"):
            write_page(path, replace(page(), kind=kind))
    write_page(path, replace(page(), kind="audit"), force=True)
    path.write_bytes(b"%PDF-1.4 of another")
    with pytest.raises(StoreError, match="not written by armrise"):
        write_page(path, page())


@pytest.mark.parametrize("name", ["page", "page.docx", "page.html.txt", "-"])
def test_any_other_ending_is_refused_in_one_sentence(name: str) -> None:
    with pytest.raises(StoreError, match=r"give a name that ends in \.html or \.pdf"):
        form_of(name)


def test_a_pdf_is_known_by_what_its_kind_says(tmp_path: Path) -> None:
    made = as_pdf(page())
    assert pdf.producer("letter") in made
    assert pdf.producer("audit") not in made
    assert made.startswith(b"%PDF-")
