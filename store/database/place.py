"""Where the store lies and how it is opened: one SQLite file, private to its owner.

Nothing here imports SQLModel before it is asked for: the list is read over plain connections, and what writes
or reads a single case asks for a session.
"""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Generator
from copy import copy
from datetime import date, datetime, time, tzinfo
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn, Self

from armrise.store.database import migrate as schema
from armrise.store.database import sqlite
from armrise.store.files import whole as files
from armrise.store.record import clock

if TYPE_CHECKING:
    from armrise.store.database.engine import Engine, Session

FILE_NAME = "caseload.armrise"


class StoreError(Exception):
    """Something about the store is refused; the message is one sentence: what, and what next."""


def default_path() -> Path:
    """The store in the user's data folder."""
    import platformdirs

    return Path(platformdirs.user_data_dir("armrise", appauthor=False)) / FILE_NAME


def _zone(name: str) -> tzinfo:
    try:
        return clock.clinic_zone(name)
    except clock.UnknownZone as error:
        raise StoreError(str(error)) from None


class Store:
    """An open store: its settings, and connections to it (one for each reading or writing)."""

    def __init__(self, path: Path, settings: dict[str, str], *, read_only: bool) -> None:
        self.path = path
        self.zone = settings.get("zone", "UTC")
        self.fictional = settings.get("fictional") == "yes"
        self.lasting = settings.get("lasting") != "no"
        """False for a store that is thrown away (the demo): nothing waits for the disk."""
        self.read_only = read_only
        self.created = settings.get("created", "")
        self.author = settings.get("author", "")
        """The initials given when the store was made; empty where nobody gave any."""
        fixed = settings.get("clinic date")
        self.clinic_date = date.fromisoformat(fixed) if fixed else None
        self.known_at: datetime | None = None
        """What was recorded after this instant is not read; None reads everything."""
        self._zone = _zone(self.zone)

    def as_known(self, instant: datetime | None) -> Self:
        """The same store as it was known at an instant (aware; None: as it is now), and for reading only."""
        seen = copy(self)
        seen.read_only, seen.known_at = True, instant
        vars(seen).pop("engine", None)  # that one may write
        return seen

    @classmethod
    def create(
        cls,
        path: Path,
        *,
        zone: str,
        fictional: bool = False,
        clinic_date: date | None = None,
        lasting: bool = True,
        author: str = "",
    ) -> Self:
        """Make a new store and open it; ``clinic_date`` fixes the clinic date (demo and tests).

        ``author``: the initials to remember. ``lasting`` False is for a store that is thrown away: what was
        written last may be lost with the power. The file appears whole or not at all.

        Raises :class:`StoreError`.
        """
        _zone(zone)
        if path.exists():
            raise StoreError(f"{path} exists already: open it, or choose another name")
        settings = {
            "zone": zone,
            "fictional": "yes" if fictional else "no",
            "created": clock.utc_now().isoformat(timespec="seconds"),
        }
        if clinic_date is not None:
            settings["clinic date"] = clinic_date.isoformat()
        if author:
            settings["author"] = author
        if not lasting:
            settings["lasting"] = "no"
        _create_file(path, settings)
        return cls.open(path)

    @classmethod
    def open(cls, path: Path, *, read_only: bool = False) -> Self:
        """Open an existing store, migrating an older one after a backup. Raises :class:`StoreError`."""
        if not path.exists():
            raise StoreError(f"there is no store at {path}: create it, or give the path of another one")
        if not path.is_file():
            raise StoreError(f"{path} is not a file: give the path of a store")
        if not read_only:
            sqlite.keep_private(path)
        with (
            _said_in_words(path),
            contextlib.closing(sqlite.connect(path, read_only=read_only)) as connection,
        ):
            _accept(connection, path, read_only=read_only)
            settings = dict(connection.execute("SELECT name, value FROM setting"))
        return cls(path, settings, read_only=read_only)

    def connect(self) -> sqlite3.Connection:
        """A new connection in autocommit; the caller closes it. Use it in one thread only."""
        return sqlite.connect(self.path, read_only=self.read_only, lasting=self.lasting)

    @contextlib.contextmanager
    def reading(self) -> Generator[sqlite3.Connection, None, None]:
        """A connection on which every statement sees the same state; faults come as :class:`StoreError`."""
        with _said_in_words(self.path), contextlib.closing(self.connect()) as connection:
            connection.execute(sqlite.BEGIN_READING)
            yield connection

    @contextlib.contextmanager
    def writing(self) -> Generator[sqlite3.Connection, None, None]:
        """One transaction, alone: everything is written, or on any error nothing."""
        with _said_in_words(self.path), contextlib.closing(self.connect()) as connection:
            connection.execute(sqlite.BEGIN_WRITING)
            try:
                yield connection
                connection.commit()
            except BaseException:
                connection.rollback()
                raise

    @cached_property
    def engine(self) -> Engine:
        """The one engine of the store, for everything that goes through SQLModel."""
        from armrise.store.database.engine import engine_over

        return engine_over(self.connect)

    @contextlib.contextmanager
    def session(self, *, writing: bool = False) -> Generator[Session, None, None]:
        """A session in one transaction; one that is ``writing`` is alone and writes everything, or nothing.

        Faults come as :class:`StoreError`.
        """
        from armrise.store.database.engine import session_on

        with (
            _said_in_words(self.path),
            session_on(self.engine, sqlite.BEGIN_WRITING if writing else sqlite.BEGIN_READING) as session,
        ):
            yield session

    def today(self, now: datetime | None = None) -> date:
        """The clinic date at the instant ``now`` (aware; None is this moment), by the clinic's own zone."""
        return self.clinic_date or self.local(now or clock.utc_now()).date()

    def local(self, instant: datetime) -> datetime:
        """An aware instant on the clinic's clock."""
        return clock.on_the_clock(instant, self._zone)

    def instant_at(self, day: date, at: time) -> datetime:
        """The instant of a time of a clinic day. Raises :class:`armrise.store.record.clock.NoSuchTime`."""
        return clock.instant_at(day, at, self._zone)

    def end_of_day(self, day: date) -> datetime:
        """The last instant of a clinic day."""
        return clock.end_of_day(day, self._zone)


def _create_file(path: Path, settings: dict[str, str]) -> None:
    draft, lasting = files.draft_beside(path), settings.get("lasting") != "no"
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        if logs := sqlite.logs_of(path):
            raise StoreError(
                f"{logs[0]} lies there, the log of a store that is gone: move it away, or choose another name"
            )
        with (
            _said_in_words(path),
            contextlib.closing(sqlite.make_file(draft, lasting=lasting)) as connection,
        ):
            schema.migrate(connection)
            connection.executemany("INSERT INTO setting (name, value) VALUES (?, ?)", settings.items())
        files.put(draft, path, over=False, lasting=lasting)
    except FileExistsError:
        raise StoreError(f"{path} was made by another process meanwhile: open it") from None
    except OSError as error:
        raise StoreError(f"cannot make a store in {path.parent} ({_why(error)}): {_CHOOSE}") from None
    finally:
        with contextlib.suppress(OSError):
            draft.unlink(missing_ok=True)


_CHOOSE = "allow writing there, or choose another folder"


def _why(error: OSError) -> str:
    return (error.strerror or str(error)).lower()


def _accept(connection: sqlite3.Connection, path: Path, *, read_only: bool) -> None:
    """Refuse what is not ours or too new; migrate what is old."""
    version, newest = sqlite.schema_version(connection), schema.SCHEMA
    if not sqlite.is_ours(connection):
        raise StoreError(f"{path} is not a store of armrise: give the path of a store")
    if version > newest:
        raise StoreError(
            f"{path} was made by a newer armrise (schema {version}, this one reads {newest}): update armrise"
        )
    if not read_only:
        # Taking the write lock once shows a read-only folder now, not when something is first recorded.
        connection.execute(sqlite.BEGIN_WRITING)
        connection.rollback()
        sqlite.write_ahead(connection)  # a copy put in the place of a store has no log yet
    if version == newest:
        return
    if read_only:
        raise StoreError(
            f"{path} was made by an older armrise: open it once for writing, to bring it up to date"
        )
    _keep_copy(connection, path.with_name(f"{path.name}.schema-{version}.backup"))
    schema.migrate(connection)


def _keep_copy(connection: sqlite3.Connection, target: Path) -> None:
    """A copy under that name, or under one with a number where an earlier copy has it."""
    try:
        sqlite.copy_to(connection, files.free_name(target))
    except OSError as error:
        raise StoreError(f"cannot write a copy in {target.parent} ({_why(error)}): {_CHOOSE}") from None


@contextlib.contextmanager
def _said_in_words(path: Path) -> Generator[None, None, None]:
    """Turn a fault of the database or the disk into one sentence."""
    try:
        yield
    except sqlite3.Error as error:
        _refuse(path, error)


def _refuse(path: Path, error: sqlite3.Error) -> NoReturn:
    if sqlite.is_locked(error):
        raise StoreError(f"another armrise is writing to {path}: nothing was written, try again") from None
    if sqlite.is_read_only(error):
        raise StoreError(f"{path} or its folder cannot be written: allow it, or open it read-only") from None
    if sqlite.is_full(error):
        raise StoreError(f"no room left on the disk of {path}: nothing was written, make room") from None
    if sqlite.GUARDED in str(error):
        raise StoreError(sqlite.GUARDED) from None
    if isinstance(error, sqlite3.IntegrityError):
        raise StoreError(f"the store refused a value ({error}): nothing was written, correct it") from None
    raise StoreError(f"{path} is not a readable store ({error}): restore a backup") from None
