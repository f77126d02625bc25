"""Keys of whole visits as a clinician types them, for the tests and pictures of the visit forms."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby
from typing import Any

from textual.pilot import Pilot

from tests.quiet import settle

NAMED = {" ": "space", ".": "full_stop", "|": "vertical_line", "-": "minus", "+": "plus", ",": "comma"}


def keys(*words: str) -> list[str]:
    """Words of several letters are typed letter by letter; "<enter>" and the like are one key."""
    typed: list[str] = []
    for word in words:
        if word.startswith("<"):
            typed.append(word.strip("<>"))
        else:
            typed += [NAMED.get(character, character) for character in word]
    return typed


ALL_NO = keys("a", "<look>", "a")
"""All asked, all no: the list is longer than a small screen, so its rest is looked at first (ruling 85)."""
FIRST_VISIT: tuple[tuple[str, list[str]], ...] = (
    ("identity", keys("<enter>", "<enter>", "r", "5", "r", "1", "y")),
    ("red-flag screen", ALL_NO),
    ("mechanism", keys("5", "12w", "<enter>")),
    ("irritability", keys("62433", "i", "a", "2", "<enter>")),
    (
        "range",
        keys("150 120 45 t7|170 165 60 t5", "<enter>", "50 155 80|65 170 90", "<enter>", "g", "s", "y"),
    ),
    ("strength", keys("6.2 4|8.4 6", "<enter>")),
    ("neck and nerves", keys("nnyn")),
    ("outcome", keys("<enter>", "58", "<enter>", "342")),
    ("context", keys("nnnn", "desk", "<enter>", "2", "4", "swim", "<pagedown>")),
    ("decision", keys("<enter>", "<enter>", "<enter>", "<enter>", "y", "y", "<f2>")),
)
"""A typical first visit for tendon pain, block by block."""

REVIEW = [
    *keys("n", "3241", "a"),  # nothing new, the triple and nights woken, all sets as asked
    *keys("412", "45 150", "<enter>", "<enter>", "<enter>", "5", "a"),  # pain, range, adherence, analgesic
    *keys("y", "1", "<enter>", "<enter>", "<f2>"),  # load cut, no step, interval, next visit
]
"""A review of a case in a flare, so one key more than usual."""


def up_to(block: str) -> list[str]:
    """The keys of a first visit before ``block``."""
    typed: list[str] = []
    for name, of_block in FIRST_VISIT:
        if name == block:
            break
        typed += of_block
    return typed


async def haste(pilot: Pilot[Any], typed: Iterable[str]) -> None:
    """Press keys one after another without waiting for the screen to settle, but where it is looked at."""
    for looked, pressed in groupby(typed, lambda key: key == "look"):
        if not looked:
            await pilot.press(*pressed)
        await settle(pilot)
