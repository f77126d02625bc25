"""Putting a copy in the place of a store, and keeping the store that was there.

At every moment either the store of before or the copy lies whole in the place, and a log that belongs to the
one is never beside the other: SQLite would replay it. So a sound store is first made one file, under a lock
that nobody else has; a damaged one is kept with its logs as they are. A second name is given to what was
there before anything takes its place.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Generator
from contextlib import closing, contextmanager, suppress
from datetime import datetime
from pathlib import Path

from armrise.store.database import sqlite, sqlite_copy
from armrise.store.database.driver import Connection, Fault, WrongPassphrase
from armrise.store.database.migrate import SCHEMA
from armrise.store.database.place import StoreError, driver_of
from armrise.store.database.sqlite_file import SqliteFile
from armrise.store.exchange.backup.contents import Contents, Later, contents, later_than
from armrise.store.exchange.backup.make import STAMP
from armrise.store.files import whole as files
from armrise.store.files.beside import BEFORE, forget_kept
from armrise.store.record.light import NamedTuple
from armrise.store.verify.verify import verify


class Look(NamedTuple):
    """What lies in a place: what it holds, or why it is no sound store."""

    path: Path
    held: Contents | None
    fault: str = ""

    @property
    def there(self) -> bool:
        """Something lies there."""
        return bool(self.held or self.fault)


class Plan(NamedTuple):
    """A copy that may be put in a place, what is there now, and what that has that the copy has not."""

    copy: Look
    present: Look
    later: Later | None
    """None where it cannot be told: nothing sound is there, or another store."""
    unsound: str = ""
    """The first thing that a verification of the copy found wrong: its pages are whole, not what they say."""


class Restored(NamedTuple):
    """What was done: where the store lies, and where what lay there is kept, the store before its logs."""

    path: Path
    kept: tuple[Path, ...]


def plan(copy: Path, store: Path) -> Plan:
    """Look at both thoroughly. Raises :class:`StoreError` for a copy that cannot be restored there."""
    place = store.resolve()
    if not copy.is_file():
        raise StoreError(f"there is no copy at {copy}: give the path of a backup")
    if place.exists() and copy.samefile(place):
        raise StoreError(f"{copy} is the store itself: give the path of a backup")
    taken = look(copy, still=True)
    if taken.held is None:
        raise StoreError(f"{copy} cannot be restored ({taken.fault}): choose another copy")
    if taken.held.schema > SCHEMA:
        raise StoreError(
            f"{copy} was made by a newer armrise (schema {taken.held.schema}, this one reads {SCHEMA}): "
            "update armrise"
        )
    present = look(place)
    _refuse_place(present, taken.held)
    return Plan(taken, present, _later(place, present.held, taken.held), _unsound(taken))


def _unsound(copy: Look) -> str:
    """What is wrong with what the copy says; of an older schema only its pages can be looked at."""
    if copy.held is None or copy.held.schema < SCHEMA:
        return ""
    found = verify(_file_at(copy.path))
    return "" if found.sound else found.faults[0]


def look(path: Path, *, read_only: bool = True, still: bool = False) -> Look:
    """What a file holds once every page, row and reference of it was looked at; nothing where none lies.

    ``read_only`` False leaves no empty log beside it; ``still``: it is a copy that nobody writes to.
    """
    if not os.path.lexists(path):
        return Look(path, None)
    if not path.is_file():
        return Look(path, None, "it is no file")
    try:
        with closing(_file_at(path).connect(read_only=read_only, still=still)) as connection:
            if not sqlite.is_ours(connection):
                return Look(path, None, "it is not a store of armrise")
            if faults := sqlite.damage(connection):
                return Look(path, None, f"it is damaged: {faults[0]}")
            return Look(path, contents(connection))
    except WrongPassphrase as error:
        return Look(path, None, str(error))
    except SqliteFile.errors as error:
        if sqlite.fault(error) is Fault.LOCKED:
            raise StoreError(
                f"another armrise is writing to {path}: close it there, then try again"
            ) from None
        return Look(path, None, f"it is no store, or damaged: {sqlite.fault_name(error)}")


def _refuse_place(present: Look, copy: Contents) -> None:
    path = present.path
    if path.is_dir() or (present.fault and path.suffix != sqlite.SUFFIX):
        raise StoreError(
            f"{path} is left alone, it is no sound store and not named like one (*{sqlite.SUFFIX}): "
            "move it away, then restore again"
        )
    if present.held and present.held.fictional != copy.fictional:
        kinds = ("fictional", "real") if copy.fictional else ("real", "fictional")
        raise StoreError(
            f"a copy of {kinds[0]} cases is not put in the place of {path}, which holds {kinds[1]} ones: "
            "give another store"
        )


def _later(place: Path, present: Contents | None, copy: Contents) -> Later | None:
    if present is None or present.created != copy.created:
        return None
    with closing(_file_at(place).connect(read_only=True)) as connection:
        return later_than(connection, copy)


def put_back(asked: Plan, now: datetime) -> Restored:
    """Do it. ``now`` (on the clinic's clock) dates the name of the store that is kept aside.

    Raises :class:`StoreError`; the store of before then lies in its place. What could not be verified once it
    was in place is raised too, with the way back.
    """
    place, held = asked.present.path, asked.copy.held
    try:
        place.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        of = _file_at(asked.copy.path)
        with (
            closing(of.connect(read_only=True, still=True)) as connection,
            sqlite_copy.copied(
                connection, place, lambda copy: contents(copy) == held, connect_to=of.open_copy
            ) as draft,
        ):
            _with_log(of.at(draft))
            forget_kept(place)
            kept = _exchange(asked.present, draft, now)
    except SqliteFile.errors as error:
        if sqlite.fault(error) is Fault.LOCKED:
            raise StoreError(f"another armrise has {place} open: close it, then restore again") from None
        why = "no room left on the disk" if sqlite.fault(error) is Fault.FULL else sqlite.fault_name(error)
        raise StoreError(f"the copy could not be put in place ({why}): the store is as it was") from None
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        raise StoreError(f"cannot write in {place.parent} ({why}): allow it, then restore again") from None
    after = look(place, read_only=False)
    if after.held != held:
        raise StoreError(
            f"what now lies at {place} is not what the copy holds ({after.fault or 'it differs'}): "
            f"restore another copy{f', or what lay there before: {kept[0]}' if kept else ''}"
        )
    return Restored(place, kept)


def _file_at(path: Path) -> SqliteFile:
    """What reaches a file; the passphrase of an encrypted one is asked for. Raises :class:`StoreError`."""
    driver = driver_of(path)
    assert isinstance(driver, SqliteFile)
    return driver


def _with_log(draft: SqliteFile) -> None:
    """As every store: readers and one writer go on side by side. The log itself goes with the connection."""
    with closing(draft.connect()) as connection:
        sqlite.write_ahead(connection)


def _exchange(present: Look, draft: Path, now: datetime) -> tuple[Path, ...]:
    """Give what is there a second name, then the draft its place. Returns the second names."""
    place = present.path
    aside = files.free_name(place.with_name(f"{place.stem}{BEFORE}{now:{STAMP}}{place.suffix}"))
    if present.held is None:
        # A log is not written into a file that is damaged, and may not be its own: each is kept as it is.
        lying = [path for path in (place, *sqlite.logs_of(place)) if os.path.lexists(path)]
        twice = {path: aside.with_name(aside.name + path.name.removeprefix(place.name)) for path in lying}
        with _once_again(twice):
            for path, name in twice.items():
                _name_twice(path, name)
            _take_place(draft, place, over=place in lying)
        return tuple(twice.values())
    with _once_again({place: aside}):
        of = _file_at(place)
        with sqlite_copy.alone_with(of.connect) as connection:
            if contents(connection) != present.held:
                raise StoreError(f"something was recorded in {place} meanwhile: look again, then restore")
            _name_twice(place, aside, (connection, of))
            if os.name == "posix":  # elsewhere no file is replaced that is open
                _take_place(draft, place)
        if draft.exists():
            _take_place(draft, place)
    return (aside,)


@contextmanager
def _once_again(twice: dict[Path, Path]) -> Generator[None, None, None]:
    """Take the second names away when it fails and everything still has its first: one store, one name."""
    try:
        yield
    except BaseException:
        with suppress(OSError):
            if all(path.samefile(name) for path, name in twice.items() if name.exists()):
                for name in twice.values():
                    name.unlink(missing_ok=True)
        raise


def _name_twice(path: Path, name: Path, opened: tuple[Connection, SqliteFile] | None = None) -> None:
    """Give a file a second name; where the file system knows no such thing a copy. It is on the disk then."""
    try:
        os.link(path, name, follow_symlinks=False)
    except FileExistsError:
        raise
    except OSError:
        if opened is not None:  # opening the file beside SQLite would give its lock away
            sqlite_copy.copy_to(opened[0], name, connect_to=opened[1].open_copy)
        else:
            shutil.copyfile(path, name, follow_symlinks=False)
            files.sync(name)
    files.sync_folder(name.parent)


def _take_place(draft: Path, place: Path, *, over: bool = True) -> None:
    for log in sqlite.logs_of(place):
        log.unlink()
    files.sync_folder(place.parent)  # before the file: no log of another one may ever lie beside it
    files.put(draft, place, over=over)
