"""The audit as one page that fetches nothing: no script, no image, no font; it can be printed and kept.

The page is built as a tree of elements, so whatever a record holds is escaped where it stands.
"""

from __future__ import annotations

from pathlib import Path
from xml.etree.ElementTree import Element

from armrise.store.clinic.audit.counts import Scores
from armrise.store.clinic.audit.period import Audit, Group
from armrise.store.clinic.audit.share import Share
from armrise.store.clinic.audit.sheet import Table, period_words, rule_notes, share_words, tables
from armrise.store.database.place import Store
from armrise.store.exchange.out.audit_svg import bars, stay_curve
from armrise.store.exchange.out.audit_text import NOT_FOR_RANKING
from armrise.store.exchange.out.plain_text import CAUTIONS, Heading
from armrise.store.exchange.out.private_file import write_private
from armrise.store.exchange.paper.tree import as_document, element, mark_of, style_sheet
from armrise.store.record.words import full_date, time_words, words_date

KIND = "audit"
MARK = mark_of(KIND)
SHORT = 16
"""Characters of a cell that is not broken."""

CURVES = (
    "Each curve falls by one step as stays move on: from all to none. A short upright stroke is a stay that "
    "has not moved on, or ended another way. Dashes: usual days. Dots: long from here."
)


def as_audit_html(audit: Audit, heading: Heading) -> str:
    """The page of an audit: the clinic and each pathway, with charts."""
    body = element("body")
    body.extend(_top(audit, heading))
    for group in audit.groups:
        body.extend(_group(audit, group))
    body.extend(element("p", said, class_="note") for said in (NOT_FOR_RANKING, *rule_notes(audit)))
    return as_document(KIND, f"Audit, {period_words(audit)}", style_sheet("out", "audit.css"), body)


def _top(audit: Audit, heading: Heading) -> list[Element]:
    """What has to be known before any number is read."""
    found = [element("p", "FICTIONAL CASELOAD: nobody in it exists.", class_="fictional")]
    found = found if heading.fictional else []
    found.append(element("h1", "Shoulder caseload audit"))
    found.append(element("p", period_words(audit)))
    until = heading.data_until
    data = f"{time_words(until)} on {full_date(until.date())}" if until else "nothing recorded yet"
    told = f"Data as of {data}."
    if heading.cut:
        told = f"As known on {full_date(heading.as_of)}; what was recorded later is left out."
    found.append(element("p", told, class_="soft"))
    rules = f"Rules version {audit.rule_version}, {audit.signed_off}."
    found.append(element("p", rules, class_="soft"))
    cautions = element("div", class_="cautions")
    cautions.extend(element("p", said) for said in CAUTIONS)
    return [*found, cautions, _contents(audit)]


def _contents(audit: Audit) -> Element:
    nav, links = element("nav", aria_label="Pathways"), element("ul")
    for group in audit.groups:
        item = element("li")
        item.append(element("a", group.name, href=f"#{_anchor(group)}"))
        links.append(item)
    nav.append(links)
    return nav


def _anchor(group: Group) -> str:
    return f"group-{group.code or 'clinic'}"


def _group(audit: Audit, group: Group) -> list[Element]:
    name = f"{group.code} {group.name}" if group.code else group.name.capitalize()
    found = [element("h2", name, id=_anchor(group))]
    for table in tables(audit, group):
        found.extend(_charts(audit, group, table.key))
        found.append(_table(table))
        found.extend(element("p", note, class_="note") for note in table.notes)
    return found


def _charts(audit: Audit, group: Group, key: str) -> list[Element]:
    """The charts above a table; the table has every value of theirs."""
    least = audit.percent_least
    if key == "stages" and group.code:
        curves = element("div", class_="curves")
        curves.extend(stay_curve(stage) for stage in group.stages)
        return [curves, element("p", CURVES, class_="note")]
    if key == "scores":
        rows = [
            *_score_bars("discharged: ", group.ended, least),
            *_score_bars("being treated: ", group.going_on, least),
        ]
        return _barred("Outcome scores", [r for r in rows if r[1].of])
    if key == "weeks":
        rows = [(words_date(end), share, share_words(share, least)) for end, share in group.weeks]
        return _barred("Today or harm if left, of those being treated", [r for r in rows if r[1].of])
    return []


def _score_bars(who: str, s: Scores, least: int) -> list[tuple[str, Share, str]]:
    named = (("both scores", s.both), ("response, of measured", s.responded))
    return [(f"{who}{name}", share, share_words(share, least)) for name, share in named]


def _barred(title: str, rows: list[tuple[str, Share, str]]) -> list[Element]:
    if not rows:
        return []
    holder = element("div", class_="bars")
    holder.append(element("p", title, class_="soft"))
    holder.append(bars(title, rows))
    return [holder]


def _table(table: Table) -> Element:
    made = element("table")
    made.append(element("caption", table.title))
    head, row = element("thead"), element("tr")
    row.extend(element("th", cell, scope="col") for cell in table.head)
    head.append(row)
    body = element("tbody")
    for cells in table.rows or (("none", *[""] * (len(table.head) - 1)),):
        line = element("tr")
        line.append(element("th", cells[0], scope="row"))
        line.extend(_cell(cell) for cell in cells[1:])
        body.append(line)
    made.extend([head, body])
    scroll = element("div", class_="scroll", tabindex="0", role="region", aria_label=table.title)
    scroll.append(made)
    return scroll


def _cell(cell: str) -> Element:
    """A short cell stays on one line."""
    return element("td", cell, class_="short") if len(cell) <= SHORT else element("td", cell)


# --- the file -------------------------------------------------------------------------------------------


def audit_path(store: Store, audit: Audit) -> Path:
    """The page beside the store."""
    return store.folder / f"audit-{audit.period.first}-to-{audit.period.last}.html"


def write_audit(path: Path, text: str, force: bool | None = None) -> None:
    """Write the page whole or not at all, private to its owner, over no other kind of file unless ``force``.

    Raises StoreError.
    """
    write_private(path, text, "audit", MARK, force)
