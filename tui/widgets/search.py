"""What a search finds: the words that a case's row shows, and the few it is known by beside them. Pure.

The words are taken from the functions that print them, in every form a row may take, so that what is read on
the list is found whatever the width of the window.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from armrise.tui.widgets import rows
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing

_WANTED = re.compile(r'"([^"]+)"|(\S+)')


def wanted(text: str) -> list[str]:
    """What a search asks for: each word, and what stands between quotation marks as one."""
    return [(together or word).casefold() for together, word in _WANTED.findall(text)]


def matches(about: str, text: str) -> bool:
    """True when everything that ``text`` asks for occurs in ``about``, the words of :func:`about`."""
    return all(word in about for word in wanted(text))


def about(standing: Standing) -> str:
    """The words a case is found by, in small letters: those of its row, its reasons, and who treats it."""
    told = dict.fromkeys(
        [
            *_printed(standing),
            words.TIER_HEADS[standing.tier],
            str(standing.verdict.word),
            standing.pathway,
            standing.pathway_name,
            standing.status,
            standing.clinician,
            standing.referrer,
        ]
    )
    for reason in standing.reasons:
        told |= dict.fromkeys([reason.name, reason.sentence])
    both = dict.fromkeys([*told, *map(words.plain, told)])  # as a terminal of plain letters has them too
    return "\n".join(both).casefold()


def _printed(standing: Standing) -> list[str]:
    """Every word of both lines but the trend, whose figures in plain letters are no number of anything."""
    told = [words.verdict_short(standing), words.why(standing)]
    for form in rows.FORMS:
        cell = rows.cells(standing, form, ascii_only=False)
        told += [cell.code, cell.side, cell.stage, cell.day, cell.triple, cell.age, cell.review, cell.booked]
    return told
