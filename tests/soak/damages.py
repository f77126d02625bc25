"""Damages to a store file, drawn by a seed: bytes, pages, sectors, cut ends, pages in one another's place.

Every other place is drawn among the bytes that are not zero: most of a small store is empty room, where a
damage changes nothing. After each the list, a case, its history, the head and the desk are read and the store
is verified: whatever reads otherwise than it was written has to be refused, or found by the verification.

A damage to the log beside a store is none of these: SQLite takes a log up to its first damaged frame, so that
what was recorded last is gone and the store is as it was before, sound in itself. A head on paper shows it.
"""

from __future__ import annotations

import contextlib
import sqlite3
import traceback
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from random import Random
from typing import Any, NamedTuple

from armrise.store.caseload import read as caseload
from armrise.store.caseload.news import news
from armrise.store.caseload.taking.take import take_whole
from armrise.store.caseload.timeline import read_timeline
from armrise.store.database.desk import drafts
from armrise.store.database.place import Store, StoreError, driver_of
from armrise.store.exchange.into import caseload_file
from armrise.store.exchange.out.listing import as_json, on_list
from armrise.store.rules.pathway import Rules
from armrise.store.rules.read import load
from armrise.store.verify.verify import verify
from armrise.tui.shell.store_door import StoreDoor

NOW = datetime(2026, 3, 2, 20, 0, tzinfo=UTC)
PAGE = 4096
SECTOR = 512
TODAY = date(2026, 3, 2)
CODE = "BY-003"


class Damage(NamedTuple):
    """One damage: what it is called, and the bytes of the file after it."""

    name: str
    after: bytes


def _place(draw: Random, whole: bytearray) -> int:
    """Any place, every other time one where something is written."""
    place = draw.randrange(len(whole))
    if draw.random() < 0.5:
        for _ in range(1000):
            if whole[place]:
                break
            place = draw.randrange(len(whole))
    return place


def _bytes(draw: Random, whole: bytearray) -> str:
    number = draw.choice((1, 1, 2, 5, 20))
    for _ in range(number):
        whole[_place(draw, whole)] = draw.randrange(256)
    return f"{number} bytes"


def _bits(draw: Random, whole: bytearray) -> str:
    number = draw.choice((1, 1, 3))
    for _ in range(number):
        whole[_place(draw, whole)] ^= 1 << draw.randrange(8)
    return f"{number} bits"


def _letters(draw: Random, whole: bytearray) -> str:
    """A digit or letter that stands there becomes another one: text and dates stay readable."""
    for _ in range(1000):
        place = draw.randrange(len(whole))
        if chr(whole[place]).isalnum() and whole[place] < 128:
            whole[place] = ord(draw.choice("0123456789abcdefRCLT"))
            break
    return "a letter"


def _pages(draw: Random, whole: bytearray) -> str:
    for _ in range(number := draw.choice((1, 1, 2))):
        start = PAGE * (_place(draw, whole) // PAGE)
        whole[start : start + PAGE] = draw.choice((bytes(PAGE), draw.randbytes(PAGE)))
    return f"{number} pages"


def _moved(draw: Random, whole: bytearray) -> str:
    there, here = (PAGE * max(1, _place(draw, whole) // PAGE) for _ in range(2))
    whole[there : there + PAGE] = whole[here : here + PAGE]
    return "a page in the place of another"


def _sectors(draw: Random, whole: bytearray) -> str:
    """Sectors of a disk that come back empty, or as noise."""
    for _ in range(number := draw.choice((1, 1, 3))):
        start = SECTOR * (_place(draw, whole) // SECTOR)
        whole[start : start + SECTOR] = draw.choice((bytes(SECTOR), draw.randbytes(SECTOR)))
    return f"{number} sectors"


def _cut(draw: Random, whole: bytearray) -> str:
    del whole[draw.randrange(len(whole)) :]
    return "cut"


KINDS: tuple[Callable[[Random, bytearray], str], ...] = (
    _bytes,
    _bits,
    _letters,
    _pages,
    _moved,
    _sectors,
    _cut,
)


def damages(whole: bytes, number: int, seed: int = 0) -> Iterator[Damage]:
    """``number`` damages to the bytes of a store file, the same for the same seed."""
    draw = Random(seed)
    for place in range(number):
        after = bytearray(whole)
        name = KINDS[place % len(KINDS)](draw, after)
        yield Damage(name, bytes(after))


class Seen(NamedTuple):
    """What a store says of itself: the list, a case, its history, or why not."""

    said: dict[str, str]
    """By "opening", "list", "case", "history": the sentence of a refusal."""
    told: dict[str, Any]
    """The same that could be read, as plain data."""


def look(path: Path, rules: Rules) -> Seen:
    """Read list, a case and its history, head and desk. Lets everything through but a refusal in words."""
    said: dict[str, str] = {}
    told: dict[str, Any] = {}
    try:
        store = Store.open(path, read_only=True)
    except StoreError as refusal:
        return Seen({"opening": str(refusal)}, told)
    parts: dict[str, Callable[[], Any]] = {
        "list": lambda: as_json(on_list(caseload.standings(store, rules, TODAY))),
        "case": lambda: caseload.case(store, CODE),
        "history": lambda: [one.entry for one in read_timeline(store, CODE, rules, TODAY).told],
        "head": lambda: StoreDoor(store, rules, "TK", TODAY, lambda: NOW).header(),
        "desk": lambda: (drafts(store, "TK"), news(store, "TK", NOW), caseload.heads(store)),
    }
    for name, part in parts.items():
        try:
            told[name] = part()
        except StoreError as refusal:
            said[name] = str(refusal)
    return Seen(said, told)


class Outcome(NamedTuple):
    """What became of one damage."""

    name: str
    refused: bool
    """Something could not be read, and a sentence said so."""
    differs: bool
    """Something was read that is not what was written."""
    sound: bool
    """The verification found nothing wrong."""
    sentences: tuple[str, ...]
    unforeseen: str = ""
    """What was raised and was no sentence: must never be."""

    @property
    def silent(self) -> bool:
        """Something differs and nothing says so: must never be."""
        return self.differs and self.sound


def outcomes(whole: Path, folder: Path, number: int, seed: int = 0) -> Iterator[Outcome]:
    """What becomes of each damage to copies of the store ``whole``, laid into ``folder``."""
    rules = load()
    before = look(whole, rules).told
    for damage in damages(whole.read_bytes(), number, seed):
        yield outcome(damage, folder, rules, before)


def outcome(damage: Damage, folder: Path, rules: Rules, before: dict[str, Any]) -> Outcome:
    """What becomes of one damage, given what was read ``before`` it."""
    path = folder / "damaged"
    path.write_bytes(damage.after)
    try:
        return judged(damage.name, path, rules, before)
    except Exception as fault:
        return Outcome(damage.name, True, False, False, (), in_short(fault))
    finally:
        for left in folder.glob("damaged*"):
            left.unlink()


def judged(name: str, path: Path, rules: Rules, before: dict[str, Any]) -> Outcome:
    """What a store that may be damaged says of itself. Lets through what is raised."""
    seen = look(path, rules)
    differs = any(seen.told[part] != before[part] for part in seen.told)
    try:
        found = verify(driver_of(path))
    except StoreError as refusal:  # no file that could be one, or one that its key does not open
        return Outcome(name, True, differs, False, (*seen.said.values(), str(refusal)))
    return Outcome(name, bool(seen.said), differs, found.sound, (*seen.said.values(), *found.faults))


def in_short(fault: Exception) -> str:
    """The kind and the text of an error, and where it was raised."""
    place = traceback.extract_tb(fault.__traceback__)[-1]
    return f"{type(fault).__name__}: {fault} in {Path(place.filename).name} line {place.lineno}"


def lasting_demonstration(folder: Path, cases: int = 1000) -> Path:
    """The first cases of the demonstration in a store that lasts, all of it in one file."""
    demo = caseload_file.read(caseload_file.demo_path())
    store = Store.create(folder / "whole", zone="Europe/London", fictional=True)
    take_whole(store, replace(demo, cases=demo.cases[:cases]))
    with contextlib.closing(sqlite3.connect(store.path)) as connection:
        connection.execute("PRAGMA journal_mode = DELETE")
    return store.path
