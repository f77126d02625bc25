"""The audit as a page for paper: the clinic and each pathway, its tables, and charts of what they hold."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from xml.etree.ElementTree import Element

from armrise.store.clinic.audit import sheet
from armrise.store.clinic.audit.counts import Scores
from armrise.store.clinic.audit.period import Audit, Group
from armrise.store.clinic.audit.share import Share
from armrise.store.clinic.audit.sheet import period_words, rule_notes, share_words
from armrise.store.database.place import Store
from armrise.store.exchange.out.audit_svg import bars, stay_curve
from armrise.store.exchange.out.audit_text import NOT_FOR_RANKING
from armrise.store.exchange.out.plain_text import Heading
from armrise.store.exchange.paper.listings import framed
from armrise.store.exchange.paper.page import Block, Drawing, Page, Part, Table, Text
from armrise.store.record.words import words_date

KIND = "audit"
CURVES = (
    "Each curve falls by one step as stays move on: from all to none. A short upright stroke is a stay that "
    "has not moved on, or ended another way. Dashes: usual days. Dots: long from here."
)


def audit_page(audit: Audit, heading: Heading) -> Page:
    """The page of an audit, with charts."""
    parts = [Part(_named(group), tuple(_blocks(audit, group))) for group in audit.groups]
    made = framed(KIND, "Shoulder caseload audit", heading, parts, (period_words(audit),))
    return replace(
        made,
        top=(*made.top, Text(NOT_FOR_RANKING, "boxed")),
        cautions=(*made.cautions, *rule_notes(audit)),
        contents=True,
    )


def _named(group: Group) -> str:
    return f"{group.code} {group.name}" if group.code else group.name.capitalize()


def _blocks(audit: Audit, group: Group) -> Iterator[Block]:
    for table in sheet.tables(audit, group):
        yield from _charts(audit, group, table.key)
        yield Table(table.head, table.rows, table.title, table.notes)


def _charts(audit: Audit, group: Group, key: str) -> Iterator[Block]:
    """The charts above a table; the table has every value of theirs."""
    least = audit.percent_least
    if key == "stages" and group.code:
        yield from (_drawn(stay_curve(stage)) for stage in group.stages)
        yield Text(CURVES, "soft")
    elif key == "scores":
        rows = [
            *_score_bars("discharged: ", group.ended, least),
            *_score_bars("being treated: ", group.going_on, least),
        ]
        yield from _barred("Outcome scores", rows)
    elif key == "weeks":
        rows = [(words_date(end), share, share_words(share, least)) for end, share in group.weeks]
        yield from _barred("Today or harm if left, of those being treated", rows)


def _score_bars(who: str, s: Scores, least: int) -> list[tuple[str, Share, str]]:
    named = (("both scores", s.both), ("response, of measured", s.responded))
    return [(f"{who}{name}", share, share_words(share, least)) for name, share in named]


def _barred(title: str, rows: list[tuple[str, Share, str]]) -> Iterator[Block]:
    counted = [row for row in rows if row[1].of]
    if counted:
        yield _drawn(bars(title, counted), title)


def _drawn(svg: Element, title: str = "") -> Drawing:
    return Drawing(svg, svg.findtext("title") or "", title)


def audit_path(store: Store, audit: Audit) -> Path:
    """The page beside the store."""
    return store.folder / f"audit-{audit.period.first}-to-{audit.period.last}.html"
