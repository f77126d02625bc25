"""The palette: every action of the screen by its words, one line each with its key."""

from __future__ import annotations

from collections.abc import Iterable

from textual.app import SystemCommand
from textual.command import DiscoveryHit, Hit, Hits, Provider
from textual.content import Content

WIDE = 34
"""Columns for the words, before the key."""
ASKED = "words of an action"
"""Said in the empty line."""


class Actions(Provider):
    """What can be done on the screen beneath."""

    async def discover(self) -> Hits:
        """Every action, in the order of the help: what is shown is sorted by the ``text``."""
        for place, (title, key, run, _) in enumerate(self._commands()):
            yield DiscoveryHit(line(Content(title), key), run, text=f"{place:03} {title}")

    async def search(self, query: str) -> Hits:
        """Those whose words are about ``query``."""
        matcher = self.matcher(query)
        for title, key, run, _ in self._commands():
            if (score := matcher.match(title)) > 0:
                yield Hit(score, line(matcher.highlight(title), key), run, text=title)

    def _commands(self) -> Iterable[SystemCommand]:
        # an application of any kind is what a provider knows
        return self.app.get_system_commands(self.screen)  # pyright: ignore[reportUnknownMemberType]


def line(words: Content, key: str) -> Content:
    """Words and key on one line."""
    gap = " " * max(2, WIDE - words.cell_length)
    return Content.assemble(words, gap, (key, "bold"))
