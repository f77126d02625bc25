"""The listings on paper: the morning list, the queue of the sweep, its minutes, the handover sheet.

What they say is said where their text is made; here it is put into blocks, with room to tick and to write.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from armrise.store.clinic.actions.minutes import Minutes
from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.standing import words
from armrise.store.database.place import Store
from armrise.store.exchange.out import handover
from armrise.store.exchange.out.minutes import Row, minute_rows, queue_rows
from armrise.store.exchange.out.plain_text import (
    CAUTIONS,
    DO,
    FICTIONAL,
    NO_CASE,
    Heading,
    counts,
    pain_words,
    review_words,
    said_above,
    tier_words,
    to_do,
)
from armrise.store.exchange.out.plain_text import (
    Part as OfList,
)
from armrise.store.exchange.paper.page import Block, Lines, Page, Part, Table, Text
from armrise.store.record.words import full_date
from armrise.store.rules.tiers import TIERS

LIST_HEAD = ("where it stands", "why", "what to do", "pain, review", "done")
LIST_WIDTHS = (8, 16, 32, 18, 21, 5)
QUEUE_HEAD = ("case", "why it is here, what was tried", "decided")


def framed(kind: str, title: str, heading: Heading, parts: Iterable[Part], said: Iterable[str] = ()) -> Page:
    """A page with what stands above and below every listing; ``said`` is what it says of itself first."""
    above = [Text(line) for line in said_above(heading)]
    return Page(
        kind,
        title,
        tuple(parts),
        top=(*above, *(Text(line) for line in said)),
        foot=(f"{kind[:1].upper()}{kind[1:]}, {full_date(heading.as_of)}",),
        cautions=CAUTIONS,
        fictional=FICTIONAL if heading.fictional else "",
    )


# --- the morning list -----------------------------------------------------------------------------------


def list_page(
    standings: Sequence[Standing], heading: Heading, empty: str = "", part: OfList | None = None
) -> Page:
    """The list: a table a tier, a row a case, the last cell of each empty for a tick.

    ``empty`` is what an empty list says instead of its own sentence. Of a ``part`` the whole is counted.
    """
    whole = part or OfList(standings, "")
    parts = [_tier(tier, cases) for tier in TIERS if (cases := [s for s in standings if s.tier == tier])]
    if not standings:
        parts.append(Part("", (Text(empty or NO_CASE, "strong"),)))
    said = filter(None, (*counts(whole.of), whole.said))
    return replace(framed("morning list", "Morning list", heading, parts, said), landscape=True)


def list_path(store: Store, day: date) -> Path:
    """The page of a day's list: beside the store."""
    return store.folder / f"list-{day.isoformat()}.html"


def _tier(tier: str, cases: Sequence[Standing]) -> Part:
    head = (words.TIER_WORDS[tier].upper(), *LIST_HEAD)  # so that every sheet of a long tier says which it is
    table = Table(head, tuple(map(_row, cases)), widths=LIST_WIDTHS, to_fill=True)
    return Part(tier_words(tier, len(cases)), (table,))


def _row(s: Standing) -> tuple[str, ...]:
    """A case of the list, in the sentences that the text has of it, and what limits it beside pain."""
    stands = (words.stage(s), words.days_in_stage(s), words.verdict_words(s))
    limits = handover.limit_words(s) if len(s.limits) > 1 else ""
    return (
        f"{s.code}\n{s.side}",
        "\n".join(filter(None, stands)),
        "\n".join(filter(None, (words.why(s), limits))),
        to_do(s).removeprefix(DO),
        "\n".join(filter(None, (pain_words(s), review_words(s)))),
        "",
    )


# --- the sweep and the handover -------------------------------------------------------------------------


def handover_page(standings: Sequence[Standing], heading: Heading) -> Page:
    """The handover sheet: a part a case, none of them broken by a sheet."""
    parts = [part for s in standings for part in _parts(handover.case_rows(s))]
    return framed("handover", handover.title(standings), heading, parts)


def minutes_page(made: Minutes, heading: Heading) -> Page:
    """The minutes of a week."""
    first, *parts = _parts(minute_rows(made))
    return framed("minutes of the sweep", first.heading, heading, parts, _texts(first.blocks))


def due_page(made: Minutes, heading: Heading) -> Page:
    """The queue of the sweep: a row a case, with room to write what was decided."""
    first, *cases = _parts(queue_rows(made))
    rows = tuple((case.heading, "\n".join(_texts(case.blocks)), "") for case in cases)
    table = Table(QUEUE_HEAD, rows, widths=(28, 50, 22), to_fill=bool(rows))
    return framed("queue of the sweep", first.heading, heading, [Part("", (table,))], _texts(first.blocks))


def _parts(rows: Iterable[Row]) -> Iterator[Part]:
    """Rows as parts: a head begins one; what is further in than the row before goes on in its item."""
    heading, lines, texts, before = "", list[str](), list[str](), 0
    for row in rows:
        if row.head:
            if heading:
                yield _part(heading, lines, texts)
            heading, lines, texts = row.text, [], []
        elif not row.indent:
            texts += [row.text] if row.text else []
        elif lines and row.indent > before:
            lines[-1] += f"\n{row.text}"
            continue
        else:
            lines.append(row.text)
        before = row.indent or before
    yield _part(heading, lines, texts)


def _part(heading: str, lines: Sequence[str], texts: Sequence[str]) -> Part:
    blocks: list[Block] = [Lines(tuple(lines))] if lines else []
    return Part(heading, (*blocks, *map(Text, texts)), whole=len(lines) < 12)


def _texts(blocks: Sequence[Block]) -> Iterator[str]:
    for block in blocks:
        if isinstance(block, Text):
            yield block.text
        elif isinstance(block, Lines):
            yield from block.items
