"""Making a backup: a dated copy in every folder that is to have one, and the older ones thinned.

A copy counts once it was looked at thoroughly and holds what the store held at that moment. What goes wrong
in one folder is said, and spoils no other.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from datetime import datetime
from pathlib import Path

from armrise.store.database import sqlite, sqlite_copy
from armrise.store.database.driver import Connection, Fault
from armrise.store.database.place import Store, StoreError
from armrise.store.database.sqlite_file import SqliteFile
from armrise.store.exchange.backup.card import card, remove_card, write_card
from armrise.store.exchange.backup.contents import Contents, contents, counted, holds, instant_words
from armrise.store.exchange.backup.remembered import remember_backup, remember_folder, remembered
from armrise.store.exchange.backup.thin import surplus
from armrise.store.files.beside import usual_folder
from armrise.store.files.whole import free_name
from armrise.store.record.light import NamedTuple
from armrise.store.verify.verify import verify

STAMP = "%Y-%m-%d-%H%M%S"


class Copied(NamedTuple):
    """What became of one folder: the copy in it, or the fault; how many older ones were taken away."""

    folder: Path
    file: Path | None
    fault: str = ""
    thinned: int = 0


class Made(NamedTuple):
    """A backup: when, on the clinic's clock; what the store held then; what became of each folder."""

    taken: datetime
    held: Contents
    copies: tuple[Copied, ...]
    forgotten: str = ""
    """Why the store could not note that it has a backup; empty when it did."""
    unsound: str = ""
    """The first thing that a verification of the copy found wrong; empty when all was right."""

    @property
    def good(self) -> tuple[Copied, ...]:
        """The copies that count."""
        return tuple(copy for copy in self.copies if copy.file)

    @property
    def faults(self) -> tuple[str, ...]:
        """What went wrong, one sentence a folder."""
        failed = [f"no backup in {copy.folder}: {copy.fault}" for copy in self.copies if copy.fault]
        if self.forgotten:
            failed.append(f"the store does not know of this backup: {self.forgotten}")
        if self.unsound:
            failed.append(
                f"STORE NOT SOUND, and so the copy of it: {self.unsound}; no older copy was taken away, "
                "armrise verify says more"
            )
        return tuple(failed)


def folders_for(store: Store, named: Path | None = None) -> tuple[Path, ...]:
    """The folders that get a copy: the usual one, or the one ``named``, and the one remembered."""
    also = remembered(store).also
    first = (named or usual_folder(store.path)).absolute()
    return (first, also) if also and also.resolve() != first.resolve() else (first,)


def also_to(store: Store, folder: Path | None) -> None:
    """Have every backup go to that folder as well; None: to no other. Raises a store error."""
    if folder is not None and not folder.is_dir():
        raise StoreError(f"there is no folder {folder}: make it, or put the medium in")
    remember_folder(store, folder.absolute() if folder else None)


def back_up(
    store: Store, folders: Sequence[Path], now: datetime, stop: Callable[[], bool] = sqlite_copy.never
) -> Made:
    """Copy the store into each folder, remember when, thin the copies of before.

    The copy is verified as a whole, chain and all: while something is wrong no older copy is taken away.
    ``now`` is the present instant (aware); ``stop`` is asked all the while. Raises
    :class:`~armrise.store.database.place.StoreError` for a store that cannot be read and
    :class:`~armrise.store.database.sqlite_copy.Stopped`; nothing half-made is left.
    """
    taken = store.local(now)
    with store.reading() as connection:
        held = contents(connection)
        copies = [_in_folder(connection, folder, store, (taken, held), stop) for folder in folders]
    made = Made(taken, held, tuple(copies))
    if not made.good:
        return made
    made = made._replace(forgotten=_note(store, now, held), unsound=_unsound(store, made.good[0]))
    if made.unsound:
        return made
    thinned = [
        copy._replace(thinned=_thin(copy.folder, store, held, taken)) if copy.file else copy
        for copy in copies
    ]
    return made._replace(copies=tuple(thinned))


def _unsound(store: Store, copy: Copied) -> str:
    """What is wrong with the copy as a whole; its folders hold the same."""
    assert copy.file is not None
    found = verify(_file_of(store).at(copy.file))
    return "" if found.sound else found.faults[0]


def _note(store: Store, now: datetime, held: Contents) -> str:
    try:
        if not store.read_only:
            remember_backup(store, now, held.size)
    except StoreError as error:
        return str(error)
    return ""


def _in_folder(
    connection: Connection,
    folder: Path,
    store: Store,
    what: tuple[datetime, Contents],
    stop: Callable[[], bool],
) -> Copied:
    """One copy, with its card. What fails is told and not raised."""
    taken, held = what
    try:
        if folder == usual_folder(store.path):
            folder.mkdir(mode=0o700, exist_ok=True)
        if not folder.is_dir():
            return Copied(folder, None, "there is no such folder, make it or put the medium in")
        file = free_name(folder / f"{store.path.stem}-{taken:{STAMP}}{sqlite.SUFFIX}")
        of = _file_of(store)
        sqlite_copy.copy_to(connection, file, lambda copy: contents(copy) == held, stop, of.open_copy)
        write_card(file, card(file, store.path, taken, held, encrypted=of.encrypted))
        return Copied(folder, file)
    except (OSError, StoreError, *SqliteFile.errors) as error:
        return Copied(folder, None, _why(error))


def _file_of(store: Store) -> SqliteFile:
    """What reaches the store and its copies. Raises :class:`StoreError` for one kept in no file."""
    if not isinstance(store.driver, SqliteFile):
        raise StoreError(f"{store.driver.name} is not kept in a file: it has a backup of its own kind")
    return store.driver


def _why(error: Exception) -> str:
    if isinstance(error, sqlite_copy.DamagedCopy):
        return f"{error}; it is not kept, check the store (armrise verify)"
    if isinstance(error, SqliteFile.errors):
        if sqlite.fault(error) is Fault.FULL:
            return "no room left there, make room"
        return f"it could not be written ({sqlite.fault_name(error)}), choose another folder"
    if isinstance(error, OSError):
        return f"{(error.strerror or str(error)).lower()}, allow it or choose another folder"
    return str(error)


def told(made: Made) -> list[str]:
    """What was made, line by line; what went wrong is in :attr:`Made.faults`."""
    lines = [f"Backup of {instant_words(made.taken)}: {holds(made.held)}."] if made.good else []
    for copy in made.good:
        thinned = counted(copy.thinned, "older copy", "older copies")
        lines.append(f"  {copy.file}{f' ({thinned} taken away)' if copy.thinned else ''}")
    return lines


def in_one_line(made: Made) -> str:
    """What was made, for the head of the list; what went wrong is counted."""
    if not made.good:
        return "not backed up"
    held = f"{counted(made.held.cases, 'case', 'cases')}, {counted(made.held.entries, 'entry', 'entries')}"
    if made.unsound:
        return f"STORE NOT SOUND, backed up as it is: {held}"
    missing = len(made.copies) - len(made.good)
    return f"backed up: {held}" + (f", {missing} of {len(made.copies)} copies missing" if missing else "")


# --- the copies of before --------------------------------------------------------------------------------


def copies_in(folder: Path, stem: str) -> Iterator[tuple[datetime, Path]]:
    """The files of a folder that are named like backups of a store, with the date in the name."""
    named = re.compile(rf"{re.escape(stem)}-(\d{{4}}-\d\d-\d\d-\d{{6}})(?:-\d+)?{re.escape(sqlite.SUFFIX)}")
    for path in folder.iterdir():
        if found := named.fullmatch(path.name):
            try:
                yield datetime.strptime(found[1], STAMP), path  # noqa: DTZ007  # on the clinic's clock
            except ValueError:
                continue


def _thin(folder: Path, store: Store, held: Contents, taken: datetime) -> int:
    """Take away what newer copies stand for, of those that are certainly of this store; the others stay."""
    try:
        found = [
            (at, path)
            for at, path in copies_in(folder, store.path.stem)
            if _is_of(_file_of(store).at(path), held.created)
        ]
        too_many = surplus([at for at, _ in found], taken.date())
        gone = [path for at, path in found if at in too_many]
        for path in gone:
            path.unlink()
            remove_card(path)
        return len(gone)
    except OSError:
        return 0


def _is_of(copy_at: SqliteFile, created: str) -> bool:
    """True for a copy of the very store that was made then: by its header, and by what stands in it."""
    path = copy_at.path
    if path.is_symlink() or not path.is_file() or sqlite.logs_of(path):
        return False  # a copy of ours is one file
    try:
        with closing(copy_at.connect(read_only=True, still=True)) as copy:
            sql = "SELECT value FROM setting WHERE name = 'created'"
            return sqlite.is_ours(copy) and copy.execute(sql).fetchone() == (created,)
    except (StoreError, *SqliteFile.errors):  # of another passphrase: who knows whose it is
        return False
