"""A store on a PostgreSQL server: how it is reached, and what its faults mean.

The address is libpq's, and so is everything about it: where a password is looked for, which certificate is
asked of the server. Whoever runs the server backs it up.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import psycopg
from psycopg.conninfo import conninfo_to_dict, make_conninfo

from armrise.store.database.driver import Connection, Dialect, Fault, NeedsPassword, StoreError
from armrise.store.database.server import dialect
from armrise.store.database.server.address import UNREADABLE, ServerAddress
from armrise.store.database.server.connection import ServerConnection
from armrise.store.database.unreadable import named

_ASK = "ask whoever runs the server"
_PATIENCE = {"connect_timeout": "10", "tcp_user_timeout": "15000", "client_encoding": "UTF8"}
"""Seconds to wait for a connection, and milliseconds for an answer, unless the address says otherwise."""

_SENTENCES = {
    Fault.READ_ONLY: "{name} may not be written to by this account: open it to read, or " + _ASK,
    Fault.CONSTRAINT: "the store refused a value ({why}): nothing was written, correct it",
    Fault.GONE: "the connection to {name} was lost ({why}): nothing is half written, look whether your last "
    "entry is there before you write it again",
    Fault.DAMAGED: "{row}{name} cannot be read ({why}): " + _ASK,
}


class PostgresServer:
    """The driver of a store that lies in a database of a server."""

    dialect: Dialect = dialect
    engine_url = "postgresql+psycopg://"
    engine_module: Any = None
    errors: tuple[type[Exception], ...] = (psycopg.Error,)
    encrypted = False

    def __init__(self, address: ServerAddress, folder: Path) -> None:
        self.address = address
        self.folder = folder

    @property
    def name(self) -> str:
        """The address, without what follows its question mark."""
        return str(self.address)

    @property
    def path(self) -> Path:
        """A store on a server has no file."""
        raise StoreError(f"{self.name} is no file: for a copy of a store on a server {_ASK}")

    def exists(self) -> bool:
        """True when a store was begun there. Raises :class:`StoreError` where the server is not reached."""
        with contextlib.closing(self.connect(read_only=True)) as connection:
            return dialect.schema_version(connection) > 0

    def may_write(self) -> bool:
        """True when the account may record something."""
        with contextlib.closing(self.connect(read_only=True)) as connection:
            sql = "SELECT has_table_privilege('\"entry\"', 'INSERT') AND NOT pg_is_in_recovery()"
            return bool(connection.execute(sql).fetchone()[0])

    def check(self, *, read_only: bool) -> None:
        """Refuse a database in which no store was begun."""
        if not self.exists():
            raise StoreError(
                f"there is no store at {self.name}: create it, or give the address of another one"
            )

    def create(self, settings: Mapping[str, str], fill: Callable[[Connection], None]) -> None:
        """Make the tables where they are not there yet, and begin a store in them."""
        with contextlib.closing(self.connect()) as connection:
            encoding = connection.execute("SHOW server_encoding").fetchone()[0]
            if encoding != "UTF8":
                raise StoreError(f"the database of {self.name} keeps its text as {encoding}: make it in UTF8")
            if dialect.schema_version(connection):
                raise StoreError(f"{self.name} holds a store already: open it, or choose another database")
            fill(connection)

    def connect(self, *, read_only: bool = False, lasting: bool = True) -> Connection:
        """A new connection in autocommit. How long a commit waits for the disk is the server's to say."""
        try:
            connection = ServerConnection.connect(self._conninfo(), autocommit=True)
        except psycopg.OperationalError as error:
            raise self._unreached(error) from None
        if read_only:
            connection.execute("SET SESSION CHARACTERISTICS AS TRANSACTION READ ONLY")
        return connection

    def _conninfo(self) -> str:
        secret = {"password": self.address.password} if self.address.password else {}
        try:
            return make_conninfo("", **(_PATIENCE | conninfo_to_dict(self.address.text) | secret))
        except psycopg.ProgrammingError:
            raise StoreError(UNREADABLE) from None

    def _unreached(self, error: psycopg.OperationalError) -> StoreError:
        lines = str(error).strip().splitlines() or ["no answer"]
        why = lines[0].rpartition("failed: ")[2].removeprefix("FATAL: ").strip().rstrip(".")
        if "no password supplied" in str(error):
            return NeedsPassword(
                f"{self.name} asks for a password: type it when asked, or name its PGPASSFILE"
            )
        if "certificate" in why:
            return StoreError(
                f"{self.name} does not prove whose it is ({why}): nothing of the record was sent there, "
                f"{_ASK} for the certificate of its authority and name that file as sslrootcert"
            )
        return StoreError(f"{self.name} is not reached ({why}): try again, or {_ASK}")

    def keep_before_upgrade(self, connection: Connection, version: int) -> None:
        """Nothing: an upgrade is one transaction here, and copies are the server's."""

    def fault(self, error: Exception) -> Fault:
        """By the code that the server gave the error; without one the connection is lost."""
        state = getattr(error, "sqlstate", None) or ""
        if isinstance(error, psycopg.DataError) or state.startswith(("22", "23")):
            return Fault.CONSTRAINT
        if not state and isinstance(error, psycopg.OperationalError | psycopg.InterfaceError):
            return Fault.GONE
        return _BY_STATE.get(state) or _BY_STATE.get(state[:2], Fault.DAMAGED)

    def cause(self, error: Exception) -> str:
        """What is to be said of an error where a server is another thing than a file; else empty."""
        row, said = named(error), _SENTENCES.get(self.fault(error), "")
        return said.format(row=f"{row} of " if row else "", name=self.name, why=self._why(error))

    def _why(self, error: Exception) -> str:
        table = error.diag.table_name if isinstance(error, psycopg.Error) else None
        return dialect.fault_name(error) + (f" in {table}" if table else "")


_BY_STATE = {
    "55P03": Fault.LOCKED,  # lock not available
    "40": Fault.LOCKED,  # serialization failure, deadlock
    "25006": Fault.READ_ONLY,  # read-only transaction
    "42501": Fault.READ_ONLY,  # insufficient privilege
    "53100": Fault.FULL,  # disk full
    dialect.GUARD_STATE: Fault.GUARDED,
    "08": Fault.GONE,  # connection exception
    "57": Fault.GONE,  # operator intervention
    "25P03": Fault.GONE,  # silent for too long in the middle of a transaction
}
"""The codes of Appendix A of PostgreSQL's documentation, and classes of them."""
