"""A plain store made an encrypted one, back, or one of another passphrase: always as a copy beside it.

The copy is made while nobody else has the store open, compared with it row by row, looked at page by page and
synced before it takes the place. What lay there keeps all of its record under another name until somebody
removes it: nothing here deletes a store.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Generator
from contextlib import closing
from datetime import datetime
from pathlib import Path
from typing import Any

from armrise.store.database import chain, sqlite
from armrise.store.database.driver import Connection, Fault, StoreError
from armrise.store.database.encrypted.file import EncryptedFile, opened_by
from armrise.store.database.encrypted.keys import Key
from armrise.store.database.place import Store
from armrise.store.database.sqlite_file import SqliteFile
from armrise.store.files import whole as files
from armrise.store.files.beside import forget_kept
from armrise.store.record.light import NamedTuple

STAMP = "%Y-%m-%d-%H%M%S"


class Converted(NamedTuple):
    """What was done: where the store lies, where what lay there is kept, what both hold."""

    path: Path
    aside: Path
    cases: int
    entries: int
    head: str
    """The newest link of the chain, equal in both, as it is printed; empty where there is none."""


def convert(store: Store, key: Key | None, now: datetime, word: str) -> Converted:
    """Put a copy of the store that ``key`` opens (None: a plain one) in its place.

    ``now`` (on the clinic's clock) and ``word`` make the name under which what lay there is kept. Raises
    :class:`StoreError`; the store is then as it was.
    """
    driver = store.driver
    if not isinstance(driver, SqliteFile):
        raise StoreError(f"{driver.name} is not kept in a file: its server has to encrypt it")
    path = driver.path.resolve()
    before = driver.key if isinstance(driver, EncryptedFile) else None
    draft = files.draft_beside(path)
    aside = files.free_name(path.with_name(f"{path.stem}.before-{word}-{now:{STAMP}}{path.suffix}"))
    target = SqliteFile(draft) if key is None else EncryptedFile(draft, key)
    try:
        with _alone_with(path, before) as connection:
            sqlite.empty_file(draft)
            held = _copied(connection, target)
            forget_kept(path)  # it is by the key of before, or by none
            _name_twice(connection, before, path, aside)
            if os.name == "posix":  # elsewhere no file is replaced that is open
                draft.replace(path)
        if draft.exists():
            draft.replace(path)
        files.sync_folder(path.parent)
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        raise StoreError(f"cannot write in {path.parent} ({why}): the store is as it was") from None
    except sqlite.ERRORS as error:
        raise StoreError(_said(path, error)) from None
    finally:
        _take_away(draft, aside)
    return Converted(path, aside, *held)


def plain_files_beside(path: Path) -> list[Path]:
    """Files in the folder of a store, and in one of backups beside it, that anybody can read as a store."""
    folders = [path.parent, *(folder for folder in path.parent.iterdir() if folder.is_dir())]
    found = [file for folder in folders for file in _files_of(folder) if file != path]
    return sorted(file for file in found if _is_plain_store(file))


def _files_of(folder: Path) -> list[Path]:
    try:
        return [file for file in folder.iterdir() if file.is_file()]
    except OSError:
        return []


def _is_plain_store(file: Path) -> bool:
    try:
        return sqlite.bears_our_mark(sqlite.head_of_file(file, sqlite.HEADER_BYTES))
    except OSError:
        return False


# --- the copy --------------------------------------------------------------------------------------------


@contextlib.contextmanager
def _alone_with(path: Path, key: Key | None) -> Generator[Any, None, None]:
    """The store with nobody else connected, its log written back into the file and gone.

    Whoever waits for it writes nothing once another file has taken its place: SQLite looks for that before it
    writes to a file without such a log.
    """
    with closing(opened_by(key, path, sqlite.address(path))) as connection:
        connection.execute(sqlite.ALONE)
        _lock(connection)
        if connection.execute("PRAGMA journal_mode = DELETE").fetchone() != ("delete",):
            raise StoreError(f"another armrise has {path} open: close it there, then try again")
        _lock(connection)
        try:
            yield connection
        except BaseException:
            connection.execute("PRAGMA journal_mode = WAL")
            raise


def _lock(connection: Any) -> None:
    """Take the lock; in the exclusive mode it is kept."""
    connection.execute("BEGIN EXCLUSIVE")
    connection.commit()


def _copied(connection: Any, target: SqliteFile) -> tuple[int, int, str]:
    """Write all into the draft, compare, look at it thoroughly. What both hold, and the head of the chain."""
    words = target.key.words if isinstance(target, EncryptedFile) else ""
    connection.execute("ATTACH DATABASE ? AS made KEY ?", (str(target.path), words))
    connection.execute("PRAGMA made.synchronous = OFF")  # it is synced as a whole before it counts
    connection.execute("SELECT sqlcipher_export('made')").fetchone()
    version = sqlite.schema_version(connection)
    connection.execute(f"PRAGMA made.user_version = {version}")
    connection.execute(f"PRAGMA made.application_id = {sqlite.APPLICATION_ID}")
    _compare(connection)
    connection.execute("DETACH DATABASE made")
    with closing(target.connect()) as copy:
        held, kept = _holds(connection), _holds(copy)
        if held != kept or not sqlite.is_ours(copy) or sqlite.schema_version(copy) != version:
            raise StoreError("the copy does not hold what the store holds: nothing was changed, try again")
        sealed = [str(line) for (line,) in copy.execute("PRAGMA cipher_integrity_check")]
        if faults := (*sealed, *sqlite.damage(copy)):
            raise StoreError(f"the copy is damaged ({faults[0]}): nothing was changed, try again")
        copy.execute("PRAGMA journal_mode = WAL")
    files.sync(target.path)
    return held


def _compare(connection: Any) -> None:
    """Every definition and every row, both ways."""
    names = "SELECT type, name, sql FROM {}.sqlite_master WHERE sql IS NOT NULL ORDER BY name"
    here, there = (connection.execute(names.format(side)).fetchall() for side in ("main", "made"))
    differ = here != there
    for name in [name for sort, name, _ in here if sort == "table"] if not differ else []:
        for one, other in (("main", "made"), ("made", "main")):
            rest = (
                f'SELECT 1 FROM (SELECT * FROM {one}."{name}" EXCEPT SELECT * FROM {other}."{name}") LIMIT 1'
            )
            differ = differ or connection.execute(rest).fetchone() is not None
    if differ:
        raise StoreError("the copy is not what the store is: nothing was changed, check the store")


def _holds(connection: Connection) -> tuple[int, int, str]:
    cases, entries = connection.execute(
        "SELECT (SELECT count(*) FROM cases), (SELECT count(*) FROM entry)"
    ).fetchone()
    head = chain.head_of(connection)
    return cases, entries, head.short if head else ""


# --- its place -------------------------------------------------------------------------------------------


def _name_twice(connection: Any, key: Key | None, path: Path, aside: Path) -> None:
    """A second name for what lies there; where the file system knows no such thing a copy.

    By SQLite: reading the file beside it would give its lock away.
    """
    try:
        os.link(path, aside, follow_symlinks=False)
    except FileExistsError:
        raise
    except OSError:
        sqlite.empty_file(aside)
        with closing(opened_by(key, aside, sqlite.address(aside))) as copy:
            connection.backup(copy)


def _take_away(draft: Path, aside: Path) -> None:
    """A draft that is still there never took the place: then the store has its first name, and needs one."""
    with contextlib.suppress(OSError):
        if draft.exists():
            aside.unlink(missing_ok=True)
        for end in ("", *sqlite.COMPANIONS):
            draft.with_name(draft.name + end).unlink(missing_ok=True)


def _said(path: Path, error: Exception) -> str:
    match sqlite.fault(error):
        case Fault.LOCKED:
            return f"another armrise has {path} open: close it there, then try again"
        case Fault.FULL:
            return f"no room left on the disk of {path}: nothing was changed, make room"
        case Fault.READ_ONLY:
            return f"{path} or its folder cannot be written: allow it, then try again"
        case _:
            return f"the copy could not be made ({sqlite.fault_name(error)}): the store is as it was"
