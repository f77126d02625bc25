"""The handover sheet: what a colleague who covers needs of some cases. Codes only, no names.

Practice notes 1.7: the list with its reasons and what the clinician would do.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.standing import words
from armrise.store.database.place import Store
from armrise.store.exchange.out.minutes import Row
from armrise.store.exchange.out.plain_text import CAUTIONS, Heading, headline, pain_words, to_do, wrapped
from armrise.store.exchange.out.private_file import write_private
from armrise.store.record.visible import visible_lines
from armrise.store.record.words import near_date

MARK = "Handover of cases, written by armrise\n"
"""The first line of the file: one that begins otherwise is never replaced by a handover."""
NOTHING_ASKED = "nothing asked"


def as_text(standings: Sequence[Standing], heading: Heading) -> str:
    """The sheet in lines of at most 80 columns."""
    lines = [line for row in handover_rows(standings, heading) for line in _lines(row)]
    return "\n".join(lines) + "\n"


def _lines(row: Row) -> list[str]:
    return wrapped(row.text, " " * row.indent) if row.text else [""]


def handover_rows(standings: Sequence[Standing], heading: Heading) -> Iterator[Row]:
    """The sheet before it is wrapped: clinic date and rules, a paragraph a case, the cautions."""
    for line in headline(heading):
        yield Row(line)
    yield Row("")
    yield Row(title(standings), head=True)
    for standing in standings:
        yield Row("")
        yield from case_rows(standing)
    yield Row("")
    for caution in CAUTIONS:
        yield Row(caution)


def title(standings: Sequence[Standing]) -> str:
    """The heading of the sheet, with how many cases it has."""
    number = len(standings)
    return f"HANDOVER, {'1 case' if number == 1 else f'{number} cases'}"


def case_rows(s: Standing) -> Iterator[Row]:
    """What the sheet says of one case, led by where it stands."""
    told = ", ".join((f"{s.code} {s.side}", words.stage(s), words.days_in_stage(s)))
    verdict = words.verdict_words(s)
    yield Row(f"{told}; {verdict}" if verdict else told, head=True)
    held = [f"in hand until {near_date(r.in_hand_until, s.as_of)}: {r.name}{_done(r.in_hand_action)}"
            for r in s.reasons if r.in_hand_until]  # fmt: skip
    owed = words.review_words(s)
    parts = (
        limit_words(s),
        f"why: {words.named(s.placing) if s.placing else NOTHING_ASKED}",
        to_do(s),
        *held,
        pain_words(s),
        f"next visit: {words.booked(s)}; review {owed}" if s.status != "closed" else "",
    )
    for part in filter(None, parts):
        yield Row(part, 5)


def limit_words(s: Standing) -> str:
    """What may not be done with a case yet; empty where nothing limits it."""
    return f"limits: {'; '.join(limit.rstrip('.') for limit in s.limits)}" if s.limits else ""


def _done(action: str) -> str:
    return f" ({action})" if action else ""


# --- the file -------------------------------------------------------------------------------------------


def handover_path(store: Store, heading: Heading) -> Path:
    """The file of a day's handover: beside the store, named after the clinic date."""
    return store.folder / f"handover-{heading.as_of.isoformat()}.txt"


def write_handover(path: Path, text: str) -> None:
    """Write the file whole or not at all, readable by its owner alone, over no other kind of file.

    Raises :class:`armrise.store.database.place.StoreError`.
    """
    write_private(path, MARK + visible_lines(text), "handover", MARK)
