"""A store copied whole into another place: from a file to a server, or back.

Every row of every table goes over as it is, its ids, its instants and the chain over all of it with them, in
one transaction that is kept only when both sides read the same. Nobody can record in a store meanwhile.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import AbstractContextManager
from itertools import zip_longest
from typing import Any

from armrise.store.database.declared import Table, tables
from armrise.store.database.driver import Connection, Driver, StoreError
from armrise.store.database.migrate import SCHEMA, make_tables
from armrise.store.database.place import Store, driver_of, said_in_words
from armrise.store.database.server.address import Where

Copied = dict[str, int]
"""How many rows were copied, by the name of their table."""


def copy_store(store: Store, target: Where) -> Copied:
    """Copy an open store into a new one at ``target``, and compare the two row by row.

    Raises :class:`StoreError`; then there is no store at ``target``.
    """
    driver, copied = driver_of(target), Copied()
    held: AbstractContextManager[Connection] = store.reading() if store.read_only else store.writing()
    with said_in_words(driver), held as origin:
        settings = dict(origin.execute("SELECT name, value FROM setting"))

        def fill(connection: Connection) -> None:
            driver.dialect.begin(connection, writing=True)
            copied.update(_filled(origin, connection, driver))
            connection.commit()

        driver.create(settings, fill)
    return copied


def _filled(origin: Connection, target: Connection, driver: Driver) -> Iterator[tuple[str, int]]:
    make_tables(target, driver.dialect)
    for table in tables():
        yield table.name, _copied(origin, target, table)
    driver.dialect.set_schema_version(target, SCHEMA)


def _copied(origin: Connection, target: Connection, table: Table) -> int:
    """The rows copied. Raises :class:`StoreError` when they do not come back as they were given."""
    names = ", ".join(f'"{column.name}"' for column in table.columns)
    places = ", ".join("?" * len(table.columns))
    target.executemany(f'INSERT INTO "{table.name}" ({names}) VALUES ({places})', _rows(origin, table))
    number = 0
    for given, taken in zip_longest(_rows(origin, table), _rows(target, table)):
        if given != taken:
            raise StoreError(f"row {number + 1} of {table.name} did not arrive as it was: nothing was copied")
        number += 1
    return number


def _rows(connection: Connection, table: Table) -> Iterator[tuple[Any, ...]]:
    """Every row by its key, in the order of the declared columns."""
    names = ", ".join(f'"{column.name}"' for column in table.columns)
    order = ", ".join(f'"{name}"' for name in table.key)
    return iter(connection.execute(f'SELECT {names} FROM "{table.name}" ORDER BY {order}'))
