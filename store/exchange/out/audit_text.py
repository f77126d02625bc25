"""The audit as plain text that a screen reader can follow: a heading a table, a sentence a row."""

from __future__ import annotations

from collections.abc import Iterator

from armrise.store.clinic.audit.period import Audit, Group
from armrise.store.clinic.audit.sheet import Table, period_words, tables
from armrise.store.exchange.out.plain_text import Heading, cautions, headline, wrapped

NOT_FOR_RANKING = "Clinicians are not compared; your own overrides are counted for you alone."


def as_audit_text(audit: Audit, heading: Heading, group: Group | None = None) -> str:
    """The audit of the clinic and of each pathway, or of one group alone."""
    return "\n".join(_lines(audit, heading, group)) + "\n"


def _lines(audit: Audit, heading: Heading, group: Group | None) -> Iterator[str]:
    yield from headline(heading)
    yield from wrapped(f"Audit, {period_words(audit)}", "")
    for each in (group,) if group else audit.groups:
        yield ""
        title = f"{each.code} {each.name}" if each.code else each.name
        yield f"=== {title.upper()} ==="
        for table in tables(audit, each):
            yield from table_lines(table)
    yield ""
    yield NOT_FOR_RANKING
    yield from cautions()


def table_lines(table: Table) -> Iterator[str]:
    """A table as sentences: the first cell, then each other cell behind its head."""
    yield ""
    yield table.title.upper()
    two = len(table.head) == 2
    for row in table.rows:
        cells = (
            [row[1]]
            if two
            else [f"{head} {cell}" for head, cell in zip(table.head[1:], row[1:], strict=True) if cell]
        )
        yield from wrapped(f"{row[0]}: {', '.join(cells) if two else '; '.join(cells)}", "  ", "    ")
    if not table.rows:
        yield "  none"
    for note in table.notes:
        yield from wrapped(note, "  ")
