"""Appending to a store, taking a caseload file into one, writing a caseload file."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from armrise.store.caseload.taking.take import take_whole
from armrise.store.database.place import Store
from armrise.store.exchange.out.caseload_json import MARK, as_text
from armrise.store.exchange.out.private_file import write_private
from armrise.store.record.kinds.care import Contact
from tests.soak.works.kind import (
    HEAD,
    NAME,
    NOW,
    TODAY,
    Kind,
    Tell,
    encrypt,
    ledger,
    small_store,
    some_cases,
    unsound,
)


def _append(folder: Path, tell: Tell) -> None:
    writer = ledger(Store.open(folder / NAME))
    for number in range(1000):
        both = [
            Contact(on=TODAY, recorded_at=NOW, recorded_on=TODAY, outcome=outcome, note=f"{number}")
            for outcome in ("no answer", "spoke")
        ]
        tell(",".join(map(str, writer.append(HEAD.code, both))))


def _appended(folder: Path, told: list[str]) -> Iterator[str]:
    store = Store.open(folder / NAME)
    with store.reading() as connection:
        rows = connection.execute("SELECT id, batch FROM entry").fetchall()
    there = {entry_id for entry_id, _ in rows}
    yield from (f"entry {one} was told and is lost" for line in told for one in _missing(line, there))
    sizes: dict[int, int] = {}
    for _, batch in rows:
        sizes[batch] = sizes.get(batch, 0) + 1
    yield from (f"action {batch} is half there" for batch, size in sizes.items() if size != 2)
    yield from unsound(folder / NAME)


def _missing(line: str, there: set[int]) -> list[int]:
    return [number for number in map(int, line.split(",")) if number not in there]


def _small_encrypted_store(folder: Path) -> None:
    small_store(folder)
    encrypt(folder)


def _load(folder: Path, tell: Tell) -> None:
    take_whole(Store.open(folder / NAME), some_cases())
    tell("4")


def _loaded(folder: Path, told: list[str]) -> Iterator[str]:
    with Store.open(folder / NAME).reading() as connection:
        cases = connection.execute("SELECT count(*) FROM cases").fetchone()[0]
        entries = connection.execute("SELECT count(*) FROM entry").fetchone()[0]
    whole = sum(len(case.entries) for case in some_cases().cases)
    if (cases, entries) not in {(1, 0), (5, whole)}:
        yield f"half a file was taken: {cases} cases, {entries} entries"
    if told and cases == 1:
        yield "a file that was told to be taken is lost"
    yield from unsound(folder / NAME)


def _nothing(folder: Path) -> None:
    """An empty folder will do."""


def _export(folder: Path, tell: Tell) -> None:
    text = as_text(some_cases())
    for number in range(1000):
        write_private(folder / "out.json", text, "caseload", MARK)
        tell(str(number))


def _exported(folder: Path, told: list[str]) -> Iterator[str]:
    file = folder / "out.json"
    if told and not file.exists():
        yield "a file that was told to be written is lost"
    if file.exists() and file.read_text(encoding="utf-8", errors="replace") != as_text(some_cases()):
        yield "half a file is there"


APPEND = Kind("append", small_store, _append, _appended, goes_on=True)
APPEND_ENCRYPTED = Kind("append, encrypted", _small_encrypted_store, _append, _appended, goes_on=True)
LOAD = Kind("load", small_store, _load, _loaded)
EXPORT = Kind("export", _nothing, _export, _exported, goes_on=True)
