"""Opening a store of every earlier schema, which brings it up to the present one."""

from __future__ import annotations

import contextlib
import gzip
import sqlite3
import tempfile
from collections.abc import Iterator
from functools import cache, partial
from pathlib import Path

from armrise.store.database import sqlite
from armrise.store.database.migrate import SCHEMA
from armrise.store.database.place import Store
from tests.soak.works.kind import NAME, Kind, Tell, unsound

FIXTURES = Path(__file__).parents[2] / "store" / "fixtures"
Counts = tuple[int, ...]


def earlier_schemas() -> list[int]:
    """The schemas of which a store is kept and that are not the present one."""
    kept = sorted(int(path.stem.partition("-")[2]) for path in FIXTURES.glob("schema-*.gz"))
    return [number for number in kept if number < SCHEMA]


def _older_store(schema: int, folder: Path) -> None:
    (folder / NAME).write_bytes(gzip.decompress((FIXTURES / f"schema-{schema}.gz").read_bytes()))


def _upgrade(folder: Path, tell: Tell) -> None:
    Store.open(folder / NAME)
    tell("upgraded")


@cache
def _wanted(schema: int) -> tuple[Counts, Counts]:
    """What the store of before holds, and what it holds once it was brought up undisturbed."""
    with tempfile.TemporaryDirectory() as beside:
        _older_store(schema, Path(beside))
        path = Path(beside) / NAME
        before = _held(path)
        Store.open(path)
        return before, _held(path)


def _held(path: Path) -> Counts:
    """How many entries there are, and the rows of every table of entries, by the names of the tables."""
    with contextlib.closing(sqlite3.connect(path)) as connection:
        sql = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name"
        names = [name for (name,) in connection.execute(sql)]
        counts = [connection.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for name in names]
        return (*connection.execute("SELECT count(*), max(id) FROM entry").fetchone(), *counts)


def _upgraded(schema: int, folder: Path, told: list[str]) -> Iterator[str]:
    before, after = _wanted(schema)
    place = folder / NAME
    with contextlib.closing(sqlite3.connect(place)) as connection:
        stands = sqlite.schema_version(connection)
    if told and stands != SCHEMA:
        yield "an upgrade that was told is lost"
    kept = sorted(folder.glob(f"{NAME}.schema-*.backup"))
    if stands == SCHEMA and not kept:
        yield "no copy of before is there"
    yield from (
        f"the copy of before is not whole: {path.name}" for path in kept if not _is_whole(path, before)
    )
    Store.open(place)
    if _held(place) != after:
        yield f"after the upgrade it holds {_held(place)}, wanted is {after}"
    yield from unsound(place)


def _is_whole(path: Path, before: Counts) -> bool:
    with contextlib.closing(sqlite3.connect(path)) as connection:
        return not sqlite.damage(connection) and _held(path) == before


UPGRADES = tuple(
    Kind(
        f"upgrade from schema {schema}",
        partial(_older_store, schema),
        _upgrade,
        partial(_upgraded, schema),
    )
    for schema in earlier_schemas()
)
