"""What a store asks of the database that keeps it, whichever that is.

Everything above speaks plain SQL over a :class:`Connection`, with ``?`` or ``:name`` where a value goes.
What is peculiar to one kind of database is said by its :class:`Dialect`, how tables are made and guarded in
it, and by a :class:`Driver`, one object for the place of a store: how it is reached, what its faults mean.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    from armrise.store.database.declared import Table

GUARDED = "what is recorded is never changed or deleted: write a correction"
"""What the guards of a table say, and the refusal too."""


class StoreError(Exception):
    """Something about the store is refused; the message is one sentence: what, and what next."""


class NeedsPassword(StoreError):
    """The place asks for a password, and none was found."""


class WrongPassphrase(StoreError):
    """The key does not open the file, or the file is damaged: which of them cannot be told."""


class KeyNeeded(StoreError):
    """A file is encrypted and its key is not at hand."""

    def __init__(self, path: Path) -> None:
        super().__init__(f"{path} is encrypted: its passphrase is asked for when it is opened")
        self.path = path


class Cursor(Protocol):
    """The rows of a statement, each a tuple."""

    def __iter__(self) -> Iterator[Any]: ...

    def fetchone(self) -> Any:
        """The next row, None after the last."""
        ...

    def fetchall(self) -> list[Any]:
        """The rows that are left."""
        ...


class Connection(Protocol):
    """A connection in autocommit: transactions are begun by the driver. Used in one thread only."""

    def execute(self, sql: str, parameters: Sequence[Any] | Mapping[str, Any] = ..., /) -> Cursor:
        """Run one statement, with a value for each ``?``, or for each ``:name``."""
        ...

    def executemany(self, sql: str, parameters: Iterable[Sequence[Any]], /) -> object:
        """Run one statement for each sequence of values."""
        ...

    def commit(self) -> None:
        """Keep what the transaction wrote."""
        ...

    def rollback(self) -> None:
        """Drop what the transaction wrote."""
        ...

    def close(self) -> None:
        """Give the connection back; what is not committed is dropped."""
        ...


class Fault(Enum):
    """What kind of fault an error of the database is."""

    LOCKED = "another process holds the store for longer than we wait"
    READ_ONLY = "it may not be written"
    FULL = "no room is left where it lies"
    GUARDED = "a guard refused to change or delete what is recorded"
    CONSTRAINT = "a condition or reference of a table refused a value"
    GONE = "the connection to it was lost"
    DAMAGED = "it cannot be read, or anything else"


class Dialect(Protocol):
    """How one kind of database keeps the declared tables."""

    @property
    def UNSEEN(self) -> tuple[str, ...]:  # noqa: N802  # a constant of the module that is the dialect
        """What of a store cannot be looked at from here, in words; empty when its files can."""
        ...

    def begin(self, connection: Connection, *, writing: bool) -> None:
        """Begin a transaction: a writer is alone, a reader sees one state throughout."""
        ...

    def is_ours(self, connection: Connection) -> bool:
        """True when what is connected to carries this program's mark."""
        ...

    def schema_version(self, connection: Connection) -> int:
        """The schema it is at; 0 for one just made."""
        ...

    def set_schema_version(self, connection: Connection, version: int) -> None:
        """Stamp the schema, inside the transaction that migrates."""
        ...

    def create(self, table: Table) -> str:
        """The statement that makes a table."""
        ...

    def put_table(self, connection: Connection, name: str, statement: str) -> None:
        """Make a table by its statement."""
        ...

    def put_index(self, connection: Connection, name: str, statement: str) -> None:
        """Make an index by its statement, in the place of one of that name."""
        ...

    def definitions(self, connection: Connection) -> dict[str, str]:
        """The statement that made each table, index and guard, by its name."""
        ...

    def guards(self, table: str, keys: Iterable[Sequence[str]]) -> dict[str, str]:
        """What has the database refuse to change, delete or replace what is recorded in the table.

        By names; ``keys`` are the sets of columns by which a row could be replaced.
        """
        ...

    def put_guard(self, connection: Connection, table: str, name: str, statement: str) -> None:
        """Make one of :meth:`guards`, in the place of one of that name."""
        ...

    def rebuild(
        self, connection: Connection, table: str, create: str, defaults: Mapping[str, object]
    ) -> None:
        """Give a table the definition ``create`` and keep its rows, ``defaults`` in columns they lack."""
        ...

    def unwatched(self, connection: Connection) -> AbstractContextManager[None]:
        """References between tables go unwatched inside, where that is needed to rebuild them."""
        ...

    def broken_reference(self, connection: Connection) -> str | None:
        """The first table in which a row refers to nothing, or None."""
        ...

    def damage(self, connection: Connection) -> tuple[str, ...]:
        """What is wrong with the store as the database keeps it, in words that quote nothing recorded."""
        ...

    def fault_name(self, error: Exception) -> str:
        """The name of a fault, where its sentence may quote what is recorded."""
        ...


class Driver(Protocol):
    """The place where one store lies, and how it is reached."""

    dialect: Dialect
    engine_url: str
    """Which of SQLAlchemy's engines speaks to it, as an address without any place in it."""
    engine_module: Any
    """The library that engine is to use; None where it knows its own."""
    errors: tuple[type[Exception], ...]
    """What the database raises."""
    encrypted: bool
    """True where the store lies encrypted in its place, and a passphrase opens it."""

    @property
    def name(self) -> str:
        """The place as sentences name it; nothing secret is in it."""
        ...

    @property
    def path(self) -> Path:
        """The file of the store. Raises :class:`StoreError` where it is not kept in a file."""
        ...

    @property
    def folder(self) -> Path:
        """Where pages and lists about the store are put unless another place is given."""
        ...

    def exists(self) -> bool:
        """True when something lies there. Raises :class:`StoreError` where that cannot be found out."""
        ...

    def may_write(self) -> bool:
        """True when whoever runs the program may record something there."""
        ...

    def check(self, *, read_only: bool) -> None:
        """Refuse a place where there is no store to open. Raises :class:`StoreError`."""
        ...

    def create(self, settings: Mapping[str, str], fill: Callable[[Connection], None]) -> None:
        """Make a store with what ``fill`` writes over the connection it is given: whole, or not at all.

        Raises :class:`StoreError` where there is one already or none can be made.
        """
        ...

    def connect(self, *, read_only: bool = False, lasting: bool = True) -> Connection:
        """A new connection; ``lasting`` False need not wait for the disk. Raises one of ``errors``."""
        ...

    def keep_before_upgrade(self, connection: Connection, version: int) -> None:
        """Keep the store of the older schema ``version`` aside. Raises :class:`StoreError`."""
        ...

    def cause(self, error: Exception) -> str:
        """The sentence for an error whose cause can be found out; empty where its kind says enough."""
        ...

    def fault(self, error: Exception) -> Fault:
        """What kind of fault one of ``errors`` is."""
        ...
