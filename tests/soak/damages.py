"""Damages to a store file, drawn by a seed: bytes, pages, cut ends, pages in one another's place.

``python -m tests.soak.damages [N] [SEED]`` does N of them to copies of the demonstration and counts what the
reading and the verification say: how often a damage shows nowhere, where it does, and whether a list ever
differed without anything being said.
"""

from __future__ import annotations

import contextlib
import shutil
import sqlite3
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import asdict, replace
from datetime import UTC, date, datetime
from pathlib import Path
from random import Random
from typing import Any, NamedTuple

from armrise.store.caseload import read as caseload
from armrise.store.caseload.news import news
from armrise.store.caseload.take import take_whole
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
TODAY = date(2026, 3, 2)
CODE = "BY-003"


class Damage(NamedTuple):
    """One damage: what it is called, and the bytes of the file after it."""

    name: str
    after: bytes


def _bytes(draw: Random, whole: bytearray) -> str:
    number = draw.choice((1, 1, 2, 5, 20))
    for _ in range(number):
        whole[draw.randrange(len(whole))] = draw.randrange(256)
    return f"{number} bytes"


def _bits(draw: Random, whole: bytearray) -> str:
    number = draw.choice((1, 1, 3))
    for _ in range(number):
        whole[draw.randrange(len(whole))] ^= 1 << draw.randrange(8)
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
        start = PAGE * draw.randrange(len(whole) // PAGE)
        whole[start : start + PAGE] = draw.choice((bytes(PAGE), draw.randbytes(PAGE)))
    return f"{number} pages"


def _moved(draw: Random, whole: bytearray) -> str:
    there, here = (PAGE * draw.randrange(1, len(whole) // PAGE) for _ in range(2))
    whole[there : there + PAGE] = whole[here : here + PAGE]
    return "a page in the place of another"


def _cut(draw: Random, whole: bytearray) -> str:
    del whole[draw.randrange(len(whole)) :]
    return "cut"


KINDS: tuple[Callable[[Random, bytearray], str], ...] = (_bytes, _bits, _letters, _pages, _moved, _cut)


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
        "case": lambda: asdict(caseload.case(store, CODE)),
        "history": lambda: [asdict(one.entry) for one in read_timeline(store, CODE, rules, TODAY).told],
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
        path = folder / "damaged"
        path.write_bytes(damage.after)
        try:
            seen, found = look(path, rules), verify(driver_of(path))
        except Exception as fault:
            yield Outcome(damage.name, True, False, False, (), f"{type(fault).__name__}: {fault}")
            continue
        differs = any(seen.told[name] != before[name] for name in seen.told)
        said = (*seen.said.values(), *found.faults)
        yield Outcome(damage.name, bool(seen.said), differs, found.sound, said)
        for left in folder.glob("damaged*"):
            left.unlink()


def lasting_demonstration(folder: Path, cases: int = 1000) -> Path:
    """The first cases of the demonstration in a store that lasts, all of it in one file."""
    demo = caseload_file.read(caseload_file.demo_path())
    store = Store.create(folder / "whole", zone="Europe/London", fictional=True)
    take_whole(store, replace(demo, cases=demo.cases[:cases]))
    with contextlib.closing(sqlite3.connect(store.path)) as connection:
        connection.execute("PRAGMA journal_mode = DELETE")
    return store.path


def main(number: int = 500, seed: int = 0) -> None:
    """Print what became of them."""
    folder = Path(tempfile.mkdtemp())
    try:
        counted: Counter[tuple[str, str]] = Counter()
        for place, one in enumerate(outcomes(lasting_demonstration(folder), folder, number, seed)):
            how = "refused" if one.refused else "differs" if one.differs else "reads the same"
            counted[(how, "verified sound" if one.sound else "verified not sound")] += 1
            if one.silent or one.unforeseen:
                how = one.unforeseen or "SILENT"
                print(f"{how}: damage {place} of seed {seed}, {one.name}")
        for (how, verified), times in sorted(counted.items()):
            print(f"{times:5}  {how}, {verified}")
    finally:
        shutil.rmtree(folder)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3]))
