"""The cases of the list in the palette, found by their code before any action."""

from __future__ import annotations

from functools import partial

from textual.command import Hit, Hits, Provider

from armrise.tui.case.finding import Finds
from armrise.tui.widgets import jump

ABOVE = 1_000.0
"""More than any action scores, so that a case found by its code stands first."""


class CaseCommands(Provider):
    """Goes to a case, where digits do: in the list and on a case."""

    async def search(self, query: str) -> Hits:
        """The cases meant by a code, a part of one, or its number with or without zeros, the best first."""
        screen = self.screen
        if not isinstance(screen, Finds):
            return
        sides = dict(screen.heads())
        for place, code in enumerate(matching(list(sides), query)):
            yield Hit(ABOVE - place, f"{code} {sides[code]}: open", partial(screen.go_to, code))


def matching(codes: list[str], query: str) -> list[str]:
    """The codes that ``query`` is a part of, those it is the number of first."""
    text = query.strip().casefold()
    by_number = jump.found(codes, text) if text.isdecimal() else []
    by_code = [code for code in codes if text and text in code.casefold()]
    return list(dict.fromkeys([*by_number, *by_code]))
