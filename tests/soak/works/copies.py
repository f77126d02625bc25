"""Backing a store up, putting a copy back in its place, copying a store to another place."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from datetime import timedelta
from pathlib import Path

from armrise.store.caseload.copying import copy_store
from armrise.store.caseload.taking.take import take_whole
from armrise.store.database import sqlite
from armrise.store.database.declared import tables
from armrise.store.database.place import Store, driver_of
from armrise.store.exchange.backup.make import back_up, copies_in
from armrise.store.exchange.backup.restore import look, plan, put_back
from tests.soak.works.kind import (
    NAME,
    NOW,
    Kind,
    Tell,
    encrypt,
    filled_store,
    small_store,
    some_cases,
    unsound,
)


def _filled_store(folder: Path) -> None:
    filled_store(folder)
    (folder / "backups").mkdir(mode=0o700)


def _back_up(folder: Path, tell: Tell) -> None:
    store = Store.open(folder / NAME)
    for number in range(100):
        made = back_up(store, [folder / "backups"], NOW + timedelta(seconds=number))
        assert made.good[0].file is not None
        tell(made.good[0].file.name)


def _backed_up(folder: Path, told: list[str]) -> Iterator[str]:
    there = {copy.name: copy for _, copy in copies_in(folder / "backups", "caseload")}
    yield from (f"{name} was told and is lost" for name in told[-1:] if name not in there)
    for copy in there.values():
        yield from unsound(copy)
    yield from unsound(folder / NAME)


def _store_and_copy(folder: Path) -> None:
    small_store(folder)
    _copy_then_more(folder)


def _encrypted_store_and_copy(folder: Path) -> None:
    small_store(folder)
    encrypt(folder)
    _copy_then_more(folder)


def _copy_then_more(folder: Path) -> None:
    store = Store.open(folder / NAME)
    (folder / "backups").mkdir(mode=0o700)
    back_up(store, [folder / "backups"], NOW)
    take_whole(store, some_cases(2))


def _restore(folder: Path, tell: Tell) -> None:
    ((_, copy),) = copies_in(folder / "backups", "caseload")
    put_back(plan(copy, folder / NAME), NOW)
    tell("restored")


def _restored(folder: Path, told: list[str]) -> Iterator[str]:
    held = {
        path.name: found
        for path in sorted(folder.glob(f"*{sqlite.SUFFIX}"))
        if (found := look(path, read_only=False).held)
    }
    there = held.get(NAME)
    if there is None:
        yield f"no store lies in the place: {', '.join(held) or 'nothing'} is beside it"
        return
    if told and there.entries:
        yield "what was told to be restored is not in place"
    if not any(one.entries for one in held.values()):
        yield "the store of before is nowhere"
    yield from unsound(folder / NAME)


COPY = "copy.armrise"


def _copy(folder: Path, tell: Tell) -> None:
    copy_store(Store.open(folder / NAME), folder / COPY)
    tell("copied")


def _copied(folder: Path, told: list[str]) -> Iterator[str]:
    copy = folder / COPY
    yield from unsound(folder / NAME)
    if copy.exists():
        yield from unsound(copy)
        if _rows(copy) != _rows(folder / NAME):
            yield "the copy does not hold what the store holds"
    elif told:
        yield "a copy that was told is lost"


def _rows(path: Path) -> list[list[object]]:
    with closing(driver_of(path).connect(read_only=True)) as connection:
        every = [connection.execute(f'SELECT * FROM "{table.name}"').fetchall() for table in tables()]
    return [sorted(rows, key=repr) for rows in every]


BACKUP = Kind("backup", _filled_store, _back_up, _backed_up, goes_on=True)
RESTORE = Kind("restore", _store_and_copy, _restore, _restored)
RESTORE_ENCRYPTED = Kind("restore, encrypted", _encrypted_store_and_copy, _restore, _restored)
COPY_STORE = Kind("copy-store", filled_store, _copy, _copied)
