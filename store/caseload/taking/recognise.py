"""Which entries of a file the store has already: recognised by what they say, never by a number.

An entry is the same when its kind, the day it happened, the instant it was recorded and every field are;
numbers count by their value, an instant in whatever offset it is written. As many of one wording as the file
holds are there afterwards, so that a file taken twice adds nothing. What was withdrawn in the store is
recognised too, and stays withdrawn.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import replace

from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Correction


def recognised(has: Sequence[Entry], said: Sequence[Entry]) -> dict[int, int]:
    """The position in the file, from 1, of every entry that the store has, with its id there.

    ``has`` are the entries of a case of the store, withdrawn ones too; ``said`` are those of the file, whose
    corrections point at positions. Of entries that say the same, one that was withdrawn is first looked for
    among those that were withdrawn in the same words.
    """
    numbered = [replace(entry, id=position) for position, entry in enumerate(said, 1)]
    found: dict[int, int] = {}
    plain, there = _plain(numbered), _plain(has)
    fates, fates_there = _fates(numbered), _fates(has)
    _pair(
        plain,
        lambda e: (content(e), fates.get(e.id)),
        there,
        lambda e: (content(e), fates_there.get(e.id)),
        found,
    )
    _pair(plain, content, there, content, found)
    # A correction may withdraw an earlier one, which has to be found before it.
    pool: defaultdict[Hashable, deque[int]] = defaultdict(deque)
    for one in has:
        if isinstance(one, Correction):
            pool[content(one), one.corrects, one.replaced_by].append(one.id)
    for one in numbered:
        if isinstance(one, Correction):
            by = None if one.replaced_by is None else found.get(one.replaced_by, -1)
            if same := pool.get((content(one), found.get(one.corrects, -1), by)):
                found[one.id] = same.popleft()
    return found


def content(entry: Entry) -> Hashable:
    """What an entry says, whatever its number, and whatever the numbers it points at."""
    changed = {"corrects": 0, "replaced_by": None} if isinstance(entry, Correction) else {}
    return replace(entry, id=0, recorded_on=entry.on, **changed)


def _plain(entries: Iterable[Entry]) -> list[Entry]:
    return [entry for entry in entries if not isinstance(entry, Correction)]


def _fates(entries: Iterable[Entry]) -> Mapping[int, frozenset[Hashable]]:
    """The corrections that point at each entry, by what they say."""
    fates: defaultdict[int, set[Hashable]] = defaultdict(set)
    for entry in entries:
        if isinstance(entry, Correction):
            fates[entry.corrects].add(content(entry))
    return {number: frozenset(corrections) for number, corrections in fates.items()}


def _pair(
    said: Sequence[Entry],
    key: Callable[[Entry], Hashable],
    has: Sequence[Entry],
    key_there: Callable[[Entry], Hashable],
    found: dict[int, int],
) -> None:
    """Pair what was not paired yet and has the same key, each with one, in their order."""
    taken = set(found.values())
    pool: defaultdict[Hashable, deque[int]] = defaultdict(deque)
    for one in has:
        if one.id not in taken:
            pool[key_there(one)].append(one.id)
    for one in said:
        if one.id not in found and (same := pool.get(key(one))):
            found[one.id] = same.popleft()
