"""One kind of work, and what several of them share: small stores, and whether a store is sound."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path
from typing import NamedTuple

from armrise.store.caseload.taking.take import take_whole
from armrise.store.caseload.write import Ledger
from armrise.store.database.encrypted import convert, keys
from armrise.store.database.place import Store, StoreError, driver_of
from armrise.store.entries.filed import CaseloadFile
from armrise.store.entries.words import CaseHead
from armrise.store.exchange.into import caseload_file
from armrise.store.rules.pathway import Rules
from armrise.store.rules.read import load
from armrise.store.verify.verify import verify

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
TODAY = date(2026, 3, 2)
HEAD = CaseHead(code="NV-901", person="P-901", side="LEFT", pathway="RC", registered_on=TODAY)
NAME = "caseload.armrise"
KEY, OTHER = (
    keys.Key(bytes([number]) * keys.KEY_BYTES, bytes([number]) * keys.SALT_BYTES) for number in (1, 2)
)
"""Keys at hand: what a passphrase costs is nothing that could be cut short."""

Tell = Callable[[str], None]


class Kind(NamedTuple):
    """One kind of work: how its folder is laid out, the work itself, and what is wrong afterwards."""

    name: str
    lay: Callable[[Path], None]
    work: Callable[[Path, Tell], None]
    """Told the folder, and whom to tell what is done and must not be lost."""
    faults: Callable[[Path, list[str]], Iterator[str]]
    """What is wrong in the folder, given all that was told."""
    goes_on: bool = False
    """It does the same again and again, and tells each time."""


@cache
def rules() -> Rules:
    """The shipped rules, read once."""
    return load()


@cache
def some_cases(number: int = 4) -> CaseloadFile:
    """The first cases of the demonstration, as if they were real."""
    whole = caseload_file.read(caseload_file.demo_path(), rules())
    return replace(whole, cases=whole.cases[:number], fictional=False)


def ledger(store: Store) -> Ledger:
    """What writes in a store."""
    return Ledger(store, "TK", lambda: NOW, rules())


def small_store(folder: Path) -> None:
    """A store with one case and no entry."""
    ledger(Store.create(folder / NAME, zone="Europe/London")).register(HEAD)


def filled_store(folder: Path) -> None:
    """A store with three cases."""
    small_store(folder)
    take_whole(Store.open(folder / NAME), some_cases(2))


def hold_keys() -> None:
    """Have the keys at hand."""
    for key in (KEY, OTHER):
        keys.hold(key)


def encrypt(folder: Path) -> None:
    """Encrypt the store that lies in a folder, and leave no plain one."""
    hold_keys()
    convert.convert(Store.open(folder / NAME), KEY, NOW, "encryption").aside.unlink()


def wrong(kind: Kind, folder: Path, told: list[str], *, reader_first: bool) -> Iterator[str]:
    """What is wrong in the folder; ``reader_first``: the first to open it only reads."""
    place = folder / NAME
    if reader_first and place.exists():
        try:
            Store.open(place, read_only=True)
        except StoreError as refusal:
            if "older armrise" not in str(refusal):
                yield f"whoever only reads is refused: {refusal}"
    yield from kind.faults(folder, told)


def unsound(path: Path) -> Iterator[str]:
    """What a verification finds wrong first."""
    found = verify(driver_of(path))
    if not found.sound:
        yield f"{path.name} is not sound: {found.faults[0]}"
