"""What a search finds: the words that a case's row shows, and the few it is known by beside them. Pure.

The words are taken from the row as it is printed, so that what is read on the list is found.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from armrise.tui.widgets.columns import Plan
from armrise.tui.widgets.rows import Look, case_lines
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing

_ROOM = 1000
"""Cells of a row in which every reason is said whole; each column has more than its longest text."""
_NARROW = Plan(
    width=_ROOM,
    code=30,
    stage=30,
    name=0,
    day=30,
    trend=0,
    triple=30,
    age=30,
    gap=1,
    space=0,
    reason=_ROOM // 2,
    review=0,
    booked=0,
    usual=False,
)
PLANS = (_NARROW, replace(_NARROW, name=60, trend=14, review=60, booked=60, usual=True))
"""The fewest columns that a list has, and all of them."""
_WANTED = re.compile(r'"([^"]+)"|(\S+)')


def wanted(text: str) -> list[str]:
    """What a search asks for: each word, and what stands between quotation marks as one."""
    return [(together or word).casefold() for together, word in _WANTED.findall(text)]


def narrows(asked: Sequence[str], before: Sequence[str]) -> bool:
    """True when whatever is found by ``asked`` was found by ``before`` too."""
    return all(any(word in longer for longer in asked) for word in before)


class Texts:
    """The words by which each case is found: put together once for what it says, some at a time."""

    def __init__(self) -> None:
        self._texts: dict[str, str] = {}
        self._cases: Mapping[str, Standing] = {}
        self._unlearnt: list[str] = []

    def tell(self, cases: Mapping[str, Standing]) -> None:
        """What the cases say now; one that said so before is found as before."""
        before = self._cases

        def holds(code: str, case: Standing) -> bool:
            return code in self._texts and (before[code] is case or before[code] == case)

        self._texts = {code: self._texts[code] for code, case in cases.items() if holds(code, case)}
        self._cases = dict(cases)
        self._unlearnt = [code for code in cases if code not in self._texts][::-1]

    def learn(self, cases: int | None = None) -> bool:
        """Put together the words of so many more cases, of all unless given; False when that is done."""
        left = self._unlearnt
        for _ in range(len(left) if cases is None else min(cases, len(left))):
            code = left.pop()
            self._texts[code] = about(self._cases[code])
        return bool(left)

    def found(self, asked: Sequence[str], codes: Iterable[str]) -> list[str]:
        """Those of these cases about which all of the words are said; one not learnt is known by its code."""
        found, texts = list(codes), self._texts
        for word in asked:
            found = [code for code in found if word in (texts.get(code) or code.casefold())]
        return found


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
    for columns in PLANS:
        for opened in (False, True):
            lines = case_lines(standing, columns, Look(standing.tier, opened))
            told.append(" ".join(span.text for line in lines for span in line if span.style != "trend"))
    return [" ".join(text.split()) for text in told]
