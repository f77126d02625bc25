"""A page for paper as HTML: one file that fetches nothing, for A4 and Letter, the screen and the dark."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from xml.etree.ElementTree import Element

from armrise.store.exchange.paper.code_mark import as_svg, modules
from armrise.store.exchange.paper.page import Block, CodeMark, Drawing, Lines, Page, Part, Table, Text
from armrise.store.exchange.paper.tree import as_document, element, lined, style_sheet
from armrise.store.record.visible import visible

SHORT = 16
"""Characters of a cell that is not broken."""


def as_html(page: Page) -> str:
    """The page as one HTML file; it begins with the mark of its kind."""
    body = element("body", class_="large" if page.large else "clear" if page.clear else "usual")
    if page.fictional:
        body.append(element("p", page.fictional, class_="boxed fictional"))
    body.append(_top(page))
    named = [(f"part-{number}", part) for number, part in enumerate(page.parts, 1)]
    if page.contents:
        body.append(_contents(named))
    body.extend(_part(name, part) for name, part in named)
    for words, name in ((page.cautions, "cautions"), (page.foot, "foot")):
        if words:
            body.append(_paragraphs(words, name))
    style = style_sheet("paper.css") + _on_sheets(page)
    return as_document(page.kind, page.title, style, body, page.language)


def _top(page: Page) -> Element:
    top, words = element("header"), element("div")
    words.append(element("h1", page.title))
    words.extend(_blocks(page.top))
    top.append(words)
    if page.mark:
        top.append(_mark(page.mark))
    return top


def _contents(named: Sequence[tuple[str, Part]]) -> Element:
    nav, links = element("nav"), element("ul")
    for name, part in named:
        if part.heading:
            item = element("li")
            item.append(element("a", part.heading, href=f"#{name}"))
            links.append(item)
    nav.append(links)
    return nav


def _part(name: str, part: Part) -> Element:
    kinds = [word for word, wanted in (("whole", part.whole), ("new-page", part.new_page)) if wanted]
    made = element("section", id=name, **({"class": " ".join(kinds)} if kinds else {}))
    if part.heading:
        made.append(element("h2", part.heading))
    made.extend(_blocks(part.blocks))
    return made


def _blocks(blocks: Sequence[Block]) -> Iterator[Element]:
    """The blocks in their order; drawings that follow each other stand side by side where there is room."""
    for drawn, group in groupby(blocks, lambda block: isinstance(block, Drawing)):
        if drawn:
            side_by_side = element("div", class_="drawings")
            for block in group:
                side_by_side.extend(_block(block))
            yield side_by_side
        else:
            for block in group:
                yield from _block(block)


def _block(block: Block) -> Iterator[Element]:
    match block:
        case Text():
            yield element("p", block.text, class_=block.look)
        case Lines():
            made = element("ol" if block.numbered else "ul")
            made.extend(lined("li", line) for line in block.items)
            yield made
        case Table():
            yield _table(block)
            yield from (element("p", note, class_="note") for note in block.notes)
        case CodeMark():
            yield _mark(block)
        case Drawing():
            yield _drawing(block)


def _paragraphs(words: Sequence[str], name: str) -> Element:
    made = element("div", class_=name)
    made.extend(element("p", line) for line in words)
    return made


def _mark(mark: CodeMark) -> Element:
    made = element("figure", class_="mark")
    rows = modules(mark.text)
    if rows is not None:
        made.append(as_svg(rows, mark.text))
    made.append(element("figcaption", mark.text, class_="below" if rows else "instead"))
    return made


def _drawing(drawing: Drawing) -> Element:
    """Its own tree, told in words, as wide as it was drawn where there is room."""
    wide = drawing.svg.get("viewBox", "0 0 320 0").split()[2]
    made = element("figure", class_="drawing", role="img", aria_label=drawing.words)
    made.set("style", f"width: {float(wide) / 16:g}rem")
    if drawing.title:
        made.append(element("figcaption", drawing.title))
    made.append(drawing.svg)
    return made


def _table(table: Table) -> Element:
    made = element("table", class_="to-fill" if table.to_fill else "plain")
    if table.title:
        made.append(element("caption", table.title))
    if table.widths:
        columns = element("colgroup")
        columns.extend(
            element("col", style=f"width: {wide / sum(table.widths):.1%}") for wide in table.widths
        )
        made.append(columns)
    if any(table.head):
        head, row = element("thead"), element("tr")
        row.extend(element("th", cell, scope="col") for cell in table.head)
        head.append(row)
        made.append(head)
    body = element("tbody")
    body.extend(_row(cells, table.to_fill) for cells in table.listed)
    made.append(body)
    scroll = element("div", class_="scroll")
    scroll.append(made)
    return scroll


def _row(cells: Sequence[str], to_fill: bool) -> Element:
    line = element("tr")
    for place, cell in enumerate(cells):
        named: dict[str, object] = {"scope": "row"} if place == 0 else {}
        if 0 < max(map(len, cell.split("\n"))) <= SHORT:
            named["class"] = "short"
        elif to_fill and not cell:
            named["class"] = "empty"
        line.append(lined("td" if place else "th", cell, **named))
    return line


# --- every sheet of paper -------------------------------------------------------------------------------


def _on_sheets(page: Page) -> str:
    """What is printed at the foot of every sheet: the foot of the page, and which sheet of how many it is."""
    foot = ", ".join(page.foot)
    turned = "size: landscape; " if page.landscape else ""
    letters = f"font: {16 if page.large else 12 if page.clear else 8}pt system-ui, sans-serif"
    return (
        f"@page {{ {turned}margin: 14mm 14mm 16mm; "
        f'@bottom-left {{ content: "{_quoted(foot)}"; {letters}; }} '
        f'@bottom-right {{ content: counter(page) " / " counter(pages); {letters}; }} }}\n'
    )


def _quoted(text: str) -> str:
    """Text inside a string of a style sheet: all but letters, digits and spaces by their number."""
    return "".join(sign if sign.isalnum() or sign == " " else f"\\{ord(sign):x} " for sign in visible(text))
