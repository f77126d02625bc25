"""Everything peculiar to SQLite: how a connection is opened, what guards the tables, the online backup.

Measured here: foreign keys are off unless asked for on each connection; a deferred transaction that reads and
then writes fails at once when somebody else has written meanwhile, whatever ``busy_timeout`` says, so every
writer begins with ``BEGIN IMMEDIATE``; a commit with ``synchronous = FULL`` costs 0.3 ms, which nobody sees.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Callable, Generator, Iterable, Mapping, Sequence
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from armrise.store.database.driver import GUARDED, Connection, Fault

if TYPE_CHECKING:
    from armrise.store.database.declared import Table

APPLICATION_ID = 0x61726D72
"""Marks a SQLite file as a store of this program."""

SUFFIX = ".armrise"
"""How the names of stores and of their copies end, by custom."""
MAGIC = b"SQLite format 3\0"
"""How every SQLite file begins."""
JOURNAL = bytes.fromhex("d9d505f920a163d7")
"""How a journal of undoing begins (its file format, section 3)."""
HEADER_BYTES = 100
COMPANIONS = ("-wal", "-shm", "-journal")
"""What stands behind the name of a file in the names of the logs that SQLite keeps beside it."""

NOT_A_DATABASE = 26
"""SQLite's code for a file that is none; SQLCipher's for one that a key does not open."""
PAGE = 4096
DIFFERENT = 200
"""Of the 256 bytes there are so many stand in a page that looks random: of 4,096 random ones all of them."""
ERRORS: tuple[type[Exception], ...] = (sqlite3.Error, UnicodeDecodeError)
"""What a statement raises: the second where SQLite's own sentence quotes a damaged name that is no text."""

BUSY_SECONDS = 3.0
UNSEEN: tuple[str, ...] = ()
"""All of a file is looked at when it is verified."""
MOST_DAMAGE = 20
"""So many faults of a file are named: one page that is gone brings thousands."""


C = TypeVar("C", bound=Connection)
Opener = Callable[[str, bool, float], Any]
"""Connects to a file by its address, where so asked keeps the index of its log to itself, and waits so many
seconds at most for a lock of somebody else."""
ALONE = "PRAGMA locking_mode = EXCLUSIVE"


def plainly(name: str, alone: bool, seconds: float) -> sqlite3.Connection:
    """The :data:`Opener` of a plain file."""
    connection = sqlite3.connect(name, uri=True, timeout=seconds, isolation_level=None)
    if alone:
        connection.execute(ALONE)
    return connection


def connect(
    path: Path,
    *,
    read_only: bool = False,
    lasting: bool = True,
    still: bool = False,
    waits: bool = True,
    opener: Opener = plainly,
) -> Connection:
    """A connection to an existing file, in autocommit: transactions are begun by name.

    ``lasting`` False does not wait for the disk: for a store that is thrown away. ``still``, for reading: a
    copy that nobody writes to, beside which nothing is put unless a log lies there. ``waits`` False: refused
    at once where somebody writes. Raises one of :data:`ERRORS`; never makes a file.
    """
    fixed = read_only and ((still and not logs_of(path)) or _may_not_change(path))
    unfinished = read_only and not fixed and _is_unfinished(path)
    mode = "mode=rw" if not read_only or unfinished else "mode=ro&immutable=1" if fixed else "mode=ro"
    seconds = BUSY_SECONDS if waits else 0
    try:
        return configured(opener(address(path, mode), False, seconds), lasting=lasting, query_only=unfinished)
    except ERRORS as error:
        if getattr(error, "sqlite_errorcode", 0) not in _NO_INDEX:
            raise
    return configured(opener(address(path, "mode=rw"), True, seconds), lasting=lasting, query_only=read_only)


_NO_INDEX = (
    sqlite3.SQLITE_IOERR_SHMSIZE,
    sqlite3.SQLITE_IOERR_SHMMAP,
    sqlite3.SQLITE_IOERR_SHMOPEN,
)
"""The index of the log, a file of its own, cannot be made: on a full disk the store can still be read."""


def address(path: Path, mode: str = "mode=rw") -> str:
    """The file as SQLite is asked to open it, which never makes one that is missing."""
    return f"{path.absolute().as_uri()}?{mode}"


def known_too(error: type[Exception]) -> None:
    """Take what SQLite's encrypting twin raises: neither library knows the errors of the other."""
    global ERRORS
    ERRORS = (*ERRORS, error)  # pyright: ignore[reportConstantRedefinition]  # once, where it is imported


def _may_not_change(path: Path) -> bool:
    """True when nobody can be writing: the folder is closed to us and no log is waiting."""
    return not os.access(path.parent, os.W_OK) and not any(_waits(path, end) for end in ("-wal", "-journal"))


def _is_unfinished(path: Path) -> bool:
    """True where a cut came between two writes: SQLite undoes them before it reads, and has to write then."""
    journal = path.with_name(path.name + "-journal")
    begun = head_of_file(journal, len(JOURNAL)) == JOURNAL
    return begun and os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)


def _waits(path: Path, end: str) -> bool:
    log = path.with_name(path.name + end)
    return log.is_file() and log.stat().st_size > 0


def configured(connection: C, *, lasting: bool, query_only: bool = False) -> C:
    """Set a new connection up as every store is read and written."""
    try:
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute(f"PRAGMA synchronous = {'FULL' if lasting else 'OFF'}")
        connection.execute("PRAGMA recursive_triggers = ON")  # REPLACE is a deletion
        connection.execute("PRAGMA secure_delete = ON")  # a form given up leaves no word in the free pages
        connection.execute(f"PRAGMA query_only = {'ON' if query_only else 'OFF'}")
    except BaseException:
        connection.close()
        raise
    return connection


def begins_plainly(path: Path) -> bool:
    """True unless a file begins otherwise than SQLite's do. What is no file, or empty, is as good as one.

    Not to be asked of a store that this process has open: closing the file gives SQLite's lock on it away.
    """
    try:
        if not path.is_file():
            return True
        with path.open("rb") as file:
            return file.read(len(MAGIC)) in (b"", MAGIC)
    except OSError:
        return True


def looks_encrypted(path: Path) -> bool:
    """True for a file of whole pages whose first one looks random, as an encrypted store does.

    Nothing more can be known of it without its key.
    """
    try:
        if not path.is_file() or path.stat().st_size % PAGE or begins_plainly(path):
            return False
        with path.open("rb") as file:
            return len(set(file.read(PAGE))) > DIFFERENT
    except OSError:
        return False


def empty_file(path: Path) -> None:
    """An empty file that only its owner may read. Refuses an existing one."""
    os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))


def begin_file(connection: Connection) -> None:
    """Make an empty file a store of ours, with a log written ahead."""
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")


def keep_private(path: Path) -> None:
    """Take the file (and its log) away from group and others, where the file system knows such a thing."""
    for name in (path.name, f"{path.name}-wal", f"{path.name}-shm"):
        with contextlib.suppress(OSError):
            file = path.with_name(name)
            if file.stat().st_mode & 0o077:
                file.chmod(0o600)


def begin(connection: Connection, *, writing: bool) -> None:
    """Begin a transaction; one that is ``writing`` takes the lock now, or is refused."""
    connection.execute("BEGIN IMMEDIATE" if writing else "BEGIN")


def is_ours(connection: Connection) -> bool:
    """True when the file carries this program's mark."""
    return connection.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID


def schema_version(connection: Connection) -> int:
    """The schema the file is at; 0 in a file just made."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def set_schema_version(connection: Connection, version: int) -> None:
    """Stamp the schema, inside the transaction that migrates."""
    connection.execute(f"PRAGMA user_version = {int(version)}")


def create(table: Table) -> str:
    """The statement that makes a table, as SQLite keeps it."""
    return table.create()


def put_table(connection: Connection, name: str, statement: str) -> None:
    """Make a table."""
    connection.execute(statement)


def put_index(connection: Connection, name: str, statement: str) -> None:
    """Make an index, in the place of one of that name."""
    connection.execute(f'DROP INDEX IF EXISTS "{name}"')
    connection.execute(statement)


def definitions(connection: Connection) -> dict[str, str]:
    """The statement that made each table, index and trigger, by its name."""
    return dict(connection.execute("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL"))


def guards(table: str, keys: Iterable[Sequence[str]]) -> dict[str, str]:
    """The triggers that refuse to change, delete or replace what is recorded, by their names.

    ``keys``: each set of columns by which a row would be replaced. REPLACE deletes past the trigger on DELETE
    wherever ``recursive_triggers`` is off, which is for every program but ours to say.
    """
    refuse = f"BEGIN SELECT RAISE(ABORT, '{GUARDED}'); END"
    there = " OR ".join(
        f'EXISTS (SELECT 1 FROM "{table}" WHERE {" AND ".join(_same(name) for name in key)})' for key in keys
    )
    made = {verb: f'BEFORE {verb} ON "{table}"' for verb in ("UPDATE", "DELETE")}
    made["REPLACE"] = f'BEFORE INSERT ON "{table}" WHEN {there}'
    return {
        (name := f"{table}_no_{verb.lower()}"): f'CREATE TRIGGER "{name}" {when} {refuse}'
        for verb, when in made.items()
    }


def _same(column: str) -> str:
    return f'"{column}" = NEW."{column}"'


def put_guard(connection: Connection, table: str, name: str, statement: str) -> None:
    """Make one trigger of :func:`guards`, in the place of one of that name."""
    connection.execute(f'DROP TRIGGER IF EXISTS "{name}"')
    connection.execute(statement)


def rebuild(connection: Connection, table: str, create: str, defaults: Mapping[str, object]) -> None:
    """Give a table the definition ``create`` and keep its rows: SQLite changes no condition in place.

    ``defaults`` gives the value that rows of before have in a column they lack. Indexes and triggers go with
    the old table. References to it must not be watched meanwhile, see :func:`unwatched`. Raises
    :class:`sqlite3.IntegrityError` for a column that ``create`` would lose: what is recorded stays.
    """
    connection.execute(create.replace(f'CREATE TABLE "{table}"', f'CREATE TABLE "{table}_new"', 1))
    new, old = (
        [row[1] for row in connection.execute(f'PRAGMA table_info("{name}")')]
        for name in (f"{table}_new", table)
    )
    if lost := [name for name in old if name not in new]:
        raise sqlite3.IntegrityError(f"{table} holds {lost[0]}, which is declared no longer")
    taken = ", ".join(f'"{name}"' if name in old else "?" for name in new)
    names = ", ".join(f'"{name}"' for name in new)
    added = [defaults.get(name) for name in new if name not in old]
    connection.execute(f'INSERT INTO "{table}_new" ({names}) SELECT {taken} FROM "{table}"', added)
    connection.execute(f'DROP TABLE "{table}"')
    connection.execute(f'ALTER TABLE "{table}_new" RENAME TO "{table}"')


@contextlib.contextmanager
def unwatched(connection: Connection) -> Generator[None, None, None]:
    """References between tables go unwatched inside; to be entered outside any transaction."""
    was = connection.execute("PRAGMA foreign_keys").fetchone()[0]
    connection.execute("PRAGMA foreign_keys = OFF")
    try:
        yield
    finally:
        connection.execute(f"PRAGMA foreign_keys = {was}")


def broken_reference(connection: Connection) -> str | None:
    """The first table in which a row refers to nothing, or None."""
    row = connection.execute("PRAGMA foreign_key_check").fetchone()
    return str(row[0]) if row else None


def damage(connection: Connection) -> tuple[str, ...]:
    """What is wrong with the file itself and with the references in it; empty when it is whole.

    Every page, row, index and condition is looked at, which takes as long as reading the whole file. At most
    :data:`MOST_DAMAGE` faults of each sort, in words that quote nothing of what is recorded.
    """
    return (*_of_the_file(connection), *_of_the_references(connection))


def _of_the_file(connection: Connection) -> Generator[str, None, None]:
    try:
        rows = connection.execute(f"PRAGMA integrity_check({MOST_DAMAGE})").fetchall()
    except ERRORS as error:
        yield f"the file cannot be read as a whole ({fault_name(error)})"
        return
    lines = [line for (text,) in rows for line in str(text).splitlines()]
    yield from [_plain(line) for line in lines if line != "ok" and "***" not in line][:MOST_DAMAGE]


def _of_the_references(connection: Connection) -> Generator[str, None, None]:
    try:
        for table, row, parent, _ in islice(connection.execute("PRAGMA foreign_key_check"), MOST_DAMAGE):
            yield _plain(f"{table} {row} refers to a row of {parent} that is not there")
    except ERRORS as error:
        yield f"references between tables cannot be followed ({fault_name(error)})"


def _plain(line: str) -> str:
    """A line of SQLite's own words, without what a damaged name may have brought into it."""
    return "".join(letter if letter.isprintable() else "?" for letter in line)[:160]


def fault_name(error: Exception) -> str:
    """A fault in words. SQLite's own sentence is kept out of sight: it may quote what is recorded."""
    name = str(getattr(error, "sqlite_errorname", ""))
    known = next((words for start, words in _FAULTS.items() if name.startswith(start)), name)
    return known or "a text in it is no text"


_FAULTS = {
    "SQLITE_NOTADB": "the file is not a database",
    "SQLITE_CORRUPT": "pages of the file are damaged",
    "SQLITE_IOERR": "the disk cannot be read",
    "SQLITE_ERROR": "tables or columns are missing",
}
"""What SQLite's name of a fault begins with, and what it means."""


def fault(error: Exception) -> Fault:
    """What kind of fault an error of SQLite is."""
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return Fault.LOCKED
    if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN):
        return Fault.READ_ONLY
    if code == sqlite3.SQLITE_FULL:
        return Fault.FULL
    if GUARDED in str(error):
        return Fault.GUARDED
    refused = code == sqlite3.SQLITE_CONSTRAINT or isinstance(error, sqlite3.IntegrityError)
    return Fault.CONSTRAINT if refused else Fault.DAMAGED


def is_a_store(path: Path) -> bool:
    """True for the file of a store, by how it begins or by its name: no other file takes its place."""
    return path.is_file() and (path.suffix.casefold() == SUFFIX or head_of_file(path, len(MAGIC)) == MAGIC)


def head_of_file(path: Path, length: int) -> bytes:
    """The first bytes of a file; none of what is no file: a link to nothing, a device. Raises OSError."""
    if not path.is_file():
        return b""
    with path.open("rb") as file:
        return file.read(length)


def bears_our_mark(head: bytes) -> bool:
    """True for the first bytes of a SQLite file with this program's mark (its file format, section 1.3)."""
    return head.startswith(MAGIC) and head[68:72] == APPLICATION_ID.to_bytes(4, "big")


def logs_of(path: Path) -> list[Path]:
    """What lies there under the names of the logs that SQLite keeps beside the file, theirs or not."""
    logs = (path.with_name(path.name + end) for end in COMPANIONS)
    return [log for log in logs if os.path.lexists(log)]


def keeps_no_log(path: Path) -> bool:
    """True for a store in which readers wait for the writer: a copy that was put in the place of a store.

    Bytes 18 and 19 say so (its file format, section 1.3.3).
    """
    head = head_of_file(path, HEADER_BYTES)
    return bears_our_mark(head) and head[18:20] == b"\1\1"


def write_ahead(connection: Connection) -> bool:
    """Have readers and one writer go on side by side; False while somebody else keeps it from being set."""
    try:
        return connection.execute("PRAGMA journal_mode = WAL").fetchone() == ("wal",)
    except ERRORS:
        return False
