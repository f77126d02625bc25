"""What a search finds: the words that a case's row shows, and the few it is known by beside them. Pure.

The words are taken from the row as it is printed, so that what is read on the list is found.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from armrise.tui.widgets.columns import plan
from armrise.tui.widgets.rows import Look, case_lines
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing

WIDTHS = (60, 240)
"""Cells of a list with the fewest columns, and of one that has room for all and for every reason."""
_WANTED = re.compile(r'"([^"]+)"|(\S+)')


def wanted(text: str) -> list[str]:
    """What a search asks for: each word, and what stands between quotation marks as one."""
    return [(together or word).casefold() for together, word in _WANTED.findall(text)]


def matches(about: str, text: str) -> bool:
    """True when everything that ``text`` asks for occurs in ``about``, the words of :func:`about`."""
    return all(word in about for word in wanted(text))


def about(standing: Standing) -> str:
    """The words a case is found by, in small letters: those of its row, its reasons, and who treats it."""
    told = [
        *_printed(standing),
        words.TIER_HEADS[standing.tier],
        str(standing.verdict.word),
        standing.pathway,
        standing.pathway_name,
        standing.status,
        standing.clinician,
        standing.referrer,
    ]
    for reason in standing.reasons:
        told += [reason.name, reason.sentence]
    return "\n".join(dict.fromkeys([*told, *map(words.plain, told)])).casefold()


def _printed(standing: Standing) -> list[str]:
    """The row as it is printed: in the narrowest list and in one with every column, closed and opened."""
    told: list[str] = []
    for width in WIDTHS:
        columns = plan([standing], width)
        for opened in (False, True):
            lines = case_lines(standing, columns, Look(standing.tier, opened))
            told.append(" ".join(span.text for line in lines for span in line if span.style != "trend"))
    return [" ".join(text.split()) for text in told]
