"""Where the store lies and how it is opened: as a rule one SQLite file, private to its owner.

Nothing here imports SQLModel before it is asked for: list, case and entries go over plain connections, and
what asks by table classes takes a session.
"""

from __future__ import annotations

import contextlib
import os
import threading
from collections.abc import Callable, Generator, Mapping
from copy import copy
from datetime import date, datetime, time, tzinfo
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn, Self

from armrise.store.database import migrate as schema
from armrise.store.database import sqlite
from armrise.store.database.driver import GUARDED, Connection, Driver, Fault, StoreError
from armrise.store.database.server.address import ServerAddress, Where, where
from armrise.store.database.sqlite_file import SqliteFile
from armrise.store.database.unreadable import WHAT_NEXT, making
from armrise.store.record import clock

if TYPE_CHECKING:
    from armrise.store.database.classes.engine import Engine, Session

FILE_NAME = "caseload.armrise"


def default_path() -> Path:
    """The store in the user's data folder."""
    import platformdirs

    return Path(platformdirs.user_data_dir("armrise", appauthor=False)) / FILE_NAME


class Held(threading.local):
    """The connection that a thread's readings share for a moment, see :meth:`Store.several_readings`."""

    sharing = False
    free: Connection | None = None

    @contextlib.contextmanager
    def lent(self, connect: Callable[[], Connection]) -> Generator[Connection, None, None]:
        """A connection for one transaction that reads: shared where that is asked for, else one of its own.

        After anything went wrong on it, it is used no more; a reading inside another has its own.
        """
        connection, self.free = self.free or connect(), None
        try:
            yield connection
            connection.rollback()
        except BaseException:
            connection.close()
            raise
        if self.sharing and self.free is None:
            self.free = connection
        else:
            connection.close()

    @contextlib.contextmanager
    def kept(self) -> Generator[None, None, None]:
        """Keep the connection of one reading for the next, until the end."""
        outermost, self.sharing = not self.sharing, True
        try:
            yield
        finally:
            if outermost:
                self.sharing = False
                if self.free is not None:
                    self.free.close()
                self.free = None


def _zone(name: str) -> tzinfo:
    try:
        return clock.clinic_zone(name)
    except clock.UnknownZone as error:
        raise StoreError(str(error)) from None


class Store:
    """An open store: its settings, and connections to it (one for each reading or writing)."""

    def __init__(self, driver: Driver, settings: dict[str, str], *, read_only: bool) -> None:
        self.driver = driver
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
        self._held = Held()

    def as_known(self, instant: datetime | None) -> Self:
        """The same store as it was known at an instant (aware; None: as it is now), and for reading only."""
        seen = copy(self)
        seen.read_only, seen.known_at = True, instant
        seen._held = Held()
        vars(seen).pop("engine", None)  # that one may write
        return seen

    @classmethod
    def create(
        cls,
        path: Where | Driver,
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
        driver = driver_of(path)
        with said_in_words(driver):
            driver.create(settings, partial(_fill, driver, settings))
        return cls.open(driver)

    @classmethod
    def open(cls, path: Where | Driver, *, read_only: bool = False) -> Self:
        """Open an existing store, migrating an older one after a backup. Raises :class:`StoreError`.

        An encrypted one is opened by the key at hand, or by what is asked for, see
        :func:`armrise.store.database.encrypted.unlock.key_of`.
        """
        driver = driver_of(path)
        driver.check(read_only=read_only)
        with (
            said_in_words(driver),
            contextlib.closing(driver.connect(read_only=read_only)) as connection,
        ):
            _accept(connection, driver, read_only=read_only)
            settings = dict(connection.execute("SELECT name, value FROM setting"))
        if settings.get("lasting") != "no":
            _leave_no_memory_behind()
        with making("setting"):
            return cls(driver, settings, read_only=read_only)

    @property
    def name(self) -> str:
        """Where it lies, as sentences name it."""
        return self.driver.name

    @property
    def folder(self) -> Path:
        """Where pages and lists about it are put unless another place is given."""
        return self.driver.folder

    @property
    def path(self) -> Path:
        """The file of the store. Raises :class:`StoreError` where it is not kept in a file."""
        return self.driver.path

    def connect(self) -> Connection:
        """A new connection in autocommit; the caller closes it. Use it in one thread only."""
        return self.driver.connect(read_only=self.read_only, lasting=self.lasting)

    @contextlib.contextmanager
    def reading(self) -> Generator[Connection, None, None]:
        """A connection on which every statement sees the same state; faults come as :class:`StoreError`."""
        with said_in_words(self.driver), self._held.lent(self.connect) as connection:
            self.driver.dialect.begin(connection, writing=False)
            yield connection

    @contextlib.contextmanager
    def several_readings(self) -> Generator[None, None, None]:
        """Inside, and in this thread, one reading after the other goes over one connection.

        Each still is a transaction of its own and sees what was written before it. Opening a connection costs
        more than most readings. For a moment only: while the connection is open nobody notices that another
        file was put in the place of the store.
        """
        with said_in_words(self.driver), self._held.kept():
            yield

    @contextlib.contextmanager
    def writing(self) -> Generator[Connection, None, None]:
        """One transaction, alone: everything is written, or on any error nothing."""
        with said_in_words(self.driver), contextlib.closing(self.connect()) as connection:
            self.driver.dialect.begin(connection, writing=True)
            try:
                yield connection
                connection.commit()
            except BaseException:
                connection.rollback()
                raise

    @cached_property
    def engine(self) -> Engine:
        """The one engine of the store, for everything that goes through SQLModel."""
        from armrise.store.database.classes.engine import engine_over

        return engine_over(self.driver, self.connect)

    @contextlib.contextmanager
    def session(self, *, writing: bool = False) -> Generator[Session, None, None]:
        """A session in one transaction; one that is ``writing`` is alone and writes everything, or nothing.

        Faults come as :class:`StoreError`.
        """
        from armrise.store.database.classes.engine import session_on

        with said_in_words(self.driver), session_on(self.engine, writing=writing) as session:
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


def recalled(connection: Connection, *names: str) -> dict[str, str]:
    """What was last remembered beside the record under these names; those that nobody used are left out."""
    marks = ", ".join("?" * len(names))
    return dict(connection.execute(f"SELECT name, value FROM remembered WHERE name IN ({marks})", names))


def remember(connection: Connection, values: Mapping[str, str]) -> None:
    """Remember texts beside the record, each in the place of what was last remembered under its name."""
    sql = (
        "INSERT INTO remembered (name, value) VALUES (?, ?) "
        "ON CONFLICT (name) DO UPDATE SET value = excluded.value"
    )
    connection.executemany(sql, values.items())


def remembered(store: Store, name: str) -> str:
    """What was last remembered under that name; empty when nothing was."""
    with store.reading() as connection:
        return recalled(connection, name).get(name, "")


def own_store() -> Where:
    """One's own store: that of ARMRISE_STORE, else the file in the user's data folder."""
    return where(os.environ.get("ARMRISE_STORE", "")) if os.environ.get("ARMRISE_STORE") else default_path()


def driver_of(place: Where | Driver) -> Driver:
    """What reaches the store of that name. Raises :class:`StoreError` for one whose key is not at hand."""
    if isinstance(place, ServerAddress):
        return _on_a_server(place)
    if not isinstance(place, Path):
        return place
    if sqlite.begins_plainly(place):
        return SqliteFile(place)
    from armrise.store.database.encrypted.unlock import driver_of_encrypted

    return driver_of_encrypted(place) or SqliteFile(place)


def _on_a_server(place: ServerAddress) -> Driver:
    try:
        from armrise.store.database.server.postgres import PostgresServer
    except ImportError:
        raise StoreError(
            "a store on a server needs one more package: pip install 'armrise[server]'"
        ) from None
    return PostgresServer(place, default_path().parent)


def _leave_no_memory_behind() -> None:
    """From now on a crash writes no picture of the memory, with the record in it, to a disk."""
    try:
        import resource
    except ImportError:  # no such thing on Windows
        return
    with contextlib.suppress(OSError, ValueError):
        resource.setrlimit(resource.RLIMIT_CORE, (0, resource.getrlimit(resource.RLIMIT_CORE)[1]))


def _fill(driver: Driver, settings: Mapping[str, str], connection: Connection) -> None:
    from armrise.store.database import chain

    schema.migrate(connection, driver.dialect)
    driver.dialect.begin(connection, writing=True)
    connection.executemany("INSERT INTO setting (name, value) VALUES (?, ?)", settings.items())
    chain.begin(connection, chain.MADE)
    connection.commit()


def _accept(connection: Connection, driver: Driver, *, read_only: bool) -> None:
    """Refuse what is not ours or too new; migrate what is old."""
    name, dialect = driver.name, driver.dialect
    version, newest = dialect.schema_version(connection), schema.SCHEMA
    if not dialect.is_ours(connection):
        raise StoreError(f"{name} is not a store of armrise: give the path of a store")
    if version > newest:
        raise StoreError(
            f"{name} was made by a newer armrise (schema {version}, this one reads {newest}): update armrise"
        )
    if not read_only:
        # Taking the write lock once shows a read-only folder now, not when something is first recorded.
        dialect.begin(connection, writing=True)
        connection.rollback()
    if version == newest:
        return
    if read_only:
        raise StoreError(
            f"{name} was made by an older armrise: open it once for writing, to bring it up to date"
        )
    driver.keep_before_upgrade(connection, version)
    schema.migrate(connection, dialect)


@contextlib.contextmanager
def said_in_words(driver: Driver) -> Generator[None, None, None]:
    """Turn a fault of the database or the disk into one sentence."""
    try:
        yield
    except driver.errors as error:
        _refuse(driver, error)


def _refuse(driver: Driver, error: Exception) -> NoReturn:
    if said := driver.cause(error):
        raise StoreError(said) from None
    name = driver.name
    match driver.fault(error):
        case Fault.LOCKED:
            said = (
                f"another armrise, or another program, is writing to {name}: nothing was written, try again"
            )
        case Fault.READ_ONLY:
            said = f"{name} or its folder cannot be written: allow it, or open it read-only"
        case Fault.FULL:
            said = f"no room left on the disk of {name}: nothing was written, make room"
        case Fault.GUARDED:
            said = GUARDED
        case Fault.CONSTRAINT:
            said = f"the store refused a value ({error}): nothing was written, correct it"
        case Fault.DAMAGED | Fault.GONE:
            why = driver.dialect.fault_name(error)
            said = f"{name} is not a readable store ({why}): {WHAT_NEXT}"
    raise StoreError(said) from None
