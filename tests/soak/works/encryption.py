"""A plain store made an encrypted one, back, and one of another passphrase."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

from armrise.store.database import sqlite
from armrise.store.database.driver import StoreError
from armrise.store.database.encrypted.convert import convert
from armrise.store.database.encrypted.keys import Key, salt_of
from armrise.store.database.place import Store
from armrise.store.exchange.backup.contents import Contents, contents
from tests.soak.works.kind import (
    KEY,
    NAME,
    NOW,
    OTHER,
    Kind,
    Tell,
    encrypt,
    filled_store,
    some_cases,
    unsound,
)

BEFORE = "caseload.before-"


def _encrypted_store(folder: Path) -> None:
    filled_store(folder)
    encrypt(folder)


def _convert(key: Key | None, folder: Path, tell: Tell) -> None:
    convert(Store.open(folder / NAME), key, NOW, "change")
    tell("converted")


def _converted(key: Key | None, before: Key | None, folder: Path, told: list[str]) -> Iterator[str]:
    """In the place lies the store, by the key of before or the new one; what lay there is kept beside it."""
    place = folder / NAME
    if not place.exists():
        yield "no store lies in the place"
        return
    done = _is_of(place, key)
    if not done and not _is_of(place, before):
        yield "what lies in the place is neither of the one key nor of the other"
        return
    if told and not done:
        yield "a change that was told is lost"
    yield from _not_whole(place)
    kept = sorted(folder.glob(f"{BEFORE}*{sqlite.SUFFIX}"))
    if done and not kept:
        yield "the file of before is nowhere"
    for path in kept:
        if not _is_of(path, before):
            yield "what is kept beside the store is not the file of before"
        yield from _not_whole(path)


def _is_of(path: Path, key: Key | None) -> bool:
    return sqlite.begins_plainly(path) if key is None else salt_of(path) == key.salt


def _not_whole(path: Path) -> Iterator[str]:
    try:
        store = Store.open(path)
        with store.reading() as connection:
            found = contents(connection)
    except StoreError as refusal:
        yield f"{path.name} does not open: {refusal}"
        return
    if (found.cases, found.entries) != _wanted():
        yield f"{path.name} holds {_in_words(found)}"
    yield from unsound(path)


def _wanted() -> tuple[int, int]:
    cases = some_cases(2).cases
    return 1 + len(cases), sum(len(case.entries) for case in cases)


def _in_words(found: Contents) -> str:
    return f"{found.cases} cases and {found.entries} entries, wanted are {_wanted()}"


def _kind(name: str, lay: Callable[[Path], None], key: Key | None, before: Key | None) -> Kind:
    return Kind(name, lay, partial(_convert, key), partial(_converted, key, before))


ENCRYPT = _kind("encrypt", filled_store, KEY, None)
DECRYPT = _kind("decrypt", _encrypted_store, None, KEY)
PASSPHRASE = _kind("new passphrase", _encrypted_store, OTHER, KEY)
