"""Every entry as one sentence: what is confirmed before writing, and read back wherever the entry is named.

Each kind's sentence stands beside its record type, in ``kinds``.
"""

from __future__ import annotations

from armrise.store.record.kinds.head import Entry, Names
from armrise.store.record.words import full_date, words_date


def phrase(entry: Entry, names: Names | None = None) -> str:
    """What was recorded, without its date, in whole words.

    With ``names`` (the rules) a measure carries its label and unit and a score its range and direction; pass
    them wherever they are at hand.
    """
    return entry.sentence(names, "")


def dated(entry: Entry, names: Names | None = None, *, year: int | None = None) -> str:
    """The phrase with the day it happened; ``year`` is the one that goes without saying, none by default."""
    return entry.sentence(names, words_date(entry.on) if entry.on.year == year else full_date(entry.on))
