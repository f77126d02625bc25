"""From "which store?" to an open door, in a worker thread, after the first frame is on the screen."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from armrise.store.record.light import NamedTuple

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing
    from armrise.store.database.place import Store
    from armrise.store.database.server.address import Where
    from armrise.store.rules.pathway import Rules
    from armrise.tui.shell.door import Door, Header

    Given = Where | Store | Door
    """What is opened: the store at a place, an open store, or a door that is there already."""

Tell = Callable[[str], None]
"""Told what is being done, for the screen."""


class Opening(NamedTuple):
    """What was asked for on the command line.

    ``prepare`` is called first, in the worker, and gives what to open instead of the path.
    """

    store_path: Where | None = None
    demo: bool = False
    as_of: date | None = None
    prepare: Callable[[], Given] | None = None
    rules: Path | None = None
    """The folder of rules asked for; None for those in force."""
    author: str = ""
    """Initials given on the command line; empty for those of the environment or of the store."""
    ahead: Callable[[Callable[[], None]], object] | None = None
    """What the next start has to make otherwise, in spare time; given what lets others go first, or stops it
    by raising."""

    def door(self, tell: Tell) -> Door:
        """Open what was asked for. Raises a store or rule error of one sentence."""
        from armrise.store.database.place import Store, own_store
        from armrise.store.database.server.address import ServerAddress

        if self.prepare is None:
            return self._open(self.store_path or own_store(), tell)
        tell("preparing the caseload")
        found = self.prepare()
        return self._open(found, tell) if isinstance(found, (Path, ServerAddress, Store)) else found

    def _open(self, found: Where | Store, tell: Tell) -> Door:
        from armrise.store.database.place import Store
        from armrise.tui.shell.intake import load_rules
        from armrise.tui.shell.store_door import StoreDoor

        def rules() -> Rules:
            tell("reading the rules")
            return load_rules(self.rules)

        tell("opening the store")
        store = found if isinstance(found, Store) else open_store(found)
        if self.as_of is not None:
            today: date | Callable[[], date] = self.as_of
        else:
            today = store.today
        named = author(self.demo, self.author, store.author)
        door = StoreDoor(store, rules, named, today, clock_of(store))
        door.tell = _how_far(tell)
        brought = self.demo and store.lasting is False and _has_kept(store)
        if self.rules is None and (brought or (self.as_of is None and not self.demo)):
            from armrise.tui.shell.keeping import Keeping

            door.keeping = Keeping(door, demonstration=brought)
        return door


TOLD_EVERY = 60
"""So many cases are judged until it is said again how far it is: about four times a second."""


def _how_far(tell: Tell) -> Callable[[int, int], None]:
    """Has ``tell`` say how many cases are judged, and of how many; nothing of a short list."""
    said = 0

    def told(judged: int, of: int) -> None:
        nonlocal said
        said = min(said, judged)
        if judged - said >= TOLD_EVERY:
            said = judged
            tell(f"{judged:,} of {of:,} cases")

    return told


def _has_kept(store: Store) -> bool:
    """True where a list kept of the store came with it."""
    from armrise.store.database.sqlite_file import SqliteFile
    from armrise.store.files.beside import kept_beside

    return isinstance(store.driver, SqliteFile) and kept_beside(store.path).exists()


class NoStoreYet(Exception):
    """There is no store at ``path``: the first run asks what to make."""

    def __init__(self, path: Where) -> None:
        super().__init__(str(path))
        self.path = path


class PassphraseAsked(Exception):
    """The store at ``path`` is encrypted, and its key is not at hand: it is asked for."""

    def __init__(self, path: Path) -> None:
        super().__init__(str(path))
        self.path = path


def open_store(path: Where) -> Store:
    """The store at ``path``; one that may not be written to is opened for reading.

    Raises :class:`NoStoreYet` and :class:`PassphraseAsked`.
    """
    from armrise.store.database.driver import KeyNeeded
    from armrise.store.database.place import Store, driver_of

    try:
        driver = driver_of(path)
        if not driver.exists():
            raise NoStoreYet(path)
        return Store.open(driver, read_only=not driver.may_write())
    except KeyNeeded as needed:
        raise PassphraseAsked(needed.path) from None


def clock_of(store: Store) -> Callable[[], datetime]:
    """What gives the present instant: of a store whose clinic date is fixed one of that day, else now."""
    from armrise.store.caseload.recorded import newest_recorded
    from armrise.store.record.clock import DayClock, clinic_zone, utc_now

    if store.clinic_date is None:
        return utc_now
    return DayClock(store.clinic_date, clinic_zone(store.zone), newest_recorded(store), utc_now)


def local_zone() -> str:
    """The zone a new store is given: ARMRISE_ZONE, else this machine's."""
    named = os.environ.get("ARMRISE_ZONE")
    if named:
        return named
    from armrise.store.record.clock import machine_zone

    return machine_zone()


def demonstration(folder: Path, as_of: date | None, rules: Path | None = None) -> Store:
    """The fictional caseload in a new store in ``folder``, moved to ``as_of`` or near today.

    Whoever opens it looked at every case the evening before: what came in overnight is new.
    """
    from armrise.tui.shell.intake import demo_store

    return looked_at_yesterday(demo_store(folder, as_of, rules))


def looked_at_yesterday(store: Store) -> Store:
    """The store after whoever opens it looked at every case, the evening before its clinic date."""
    from armrise.store.database.desk import looked_at_all

    looked_at_all(store, author(demo=True), store.end_of_day(store.today() - timedelta(days=1)))
    return store


LONGEST_AUTHOR = 12
ASKED_AUTHOR = "ARMRISE_AUTHOR"


def author(demo: bool, given: str = "", remembered: str = "") -> str:
    """The initials written beside every entry.

    Those ``given`` on the command line, else ARMRISE_AUTHOR, else those ``remembered`` in the store, else the
    account's name. Raises a store error where ARMRISE_AUTHOR holds a sign that is not printed.
    """
    asked = os.environ.get(ASKED_AUTHOR, "")
    if asked and not asked.isprintable():
        from armrise.store.database.place import StoreError

        raise StoreError(f"{ASKED_AUTHOR} is {asked!r}: letters and digits only, or leave it out")
    named = given or asked or ("demo" if demo else remembered)
    if named:
        return named[:LONGEST_AUTHOR]
    import getpass

    try:
        return getpass.getuser()[:LONGEST_AUTHOR]
    except (KeyError, OSError):
        return "unknown"


class Reading(NamedTuple):
    """One reading: the cases of the list in order, those on it no more, who waits, what the head says."""

    standings: tuple[Standing, ...]
    off: tuple[Standing, ...]
    """Closed cases that owe nothing, and referrals that wait for a first visit."""
    waiting: int
    """How many of them wait."""
    head: Header
    unwritten: int = 0
    """Forms this author left unwritten."""
    news: frozenset[str] = frozenset()
    """Cases in which somebody else recorded something since this author last opened them."""
    marked: frozenset[str] = frozenset()
    """Cases this author has marked."""
    counts: Mapping[str, int] | None = None
    """What the head counts, where not all cases are here yet; None: these cases are counted."""
    more: int = 0
    """How many rows of the list are still to come after these."""


def read(door: Door) -> Reading:
    """Read through ``door``. Closed cases that owe nothing, and referrals still waiting, are off the list."""
    from armrise.store.clinic.standing.triage import on_list

    with door.several_readings():
        door.changed()
        every = door.standings()
        desk = (len(door.unwritten()), door.news(), door.marked())
        head = door.header()
    listed = on_list(every)
    kept = {standing.code for standing in listed}
    off = tuple(s for s in every if s.code not in kept)
    waiting = sum(s.status == "waiting" for s in off)
    return Reading(tuple(listed), off, waiting, head, *desk)


def kept(door: Door) -> Reading | None:
    """The kept list, where it may be shown before any rule is read; of a long one the first rows.

    None where it is to be read, see :func:`read`. Raises a store error.
    """
    from armrise.store.rules.folder.place import default_folder, digest_in_force
    from armrise.tui.shell.intake import rules_folder
    from armrise.tui.shell.store_door import StoreDoor

    if not isinstance(door, StoreDoor) or door.keeping is None or not door.keeping.keeps:
        return None
    with door.several_readings():
        door.changed()
        shown = door.keeping.show(digest_in_force(rules_folder() or default_folder()))
        if shown is None:
            return None
        desk = (len(door.unwritten()), door.news(), door.marked())
        head = door.header()
    counted, waiting = shown.counts if shown.more else None, shown.counts.get("waiting", 0)
    return Reading(tuple(shown.rows), (), waiting, head, *desk, counted, shown.more)


def rest(door: Door, first: Reading) -> Reading:
    """The whole of the kept list that :func:`kept` gave the first rows of; from now on the door holds it."""
    from armrise.store.clinic.standing.triage import on_list
    from armrise.tui.shell.store_door import StoreDoor

    if isinstance(door, StoreDoor) and door.keeping is not None:
        door.keeping.hold()
        if first.more and door.held is not None:
            listed = on_list(door.held.standings)
            codes = {standing.code for standing in listed}
            off = tuple(s for s in door.held.standings if s.code not in codes)
            return first._replace(standings=tuple(listed), off=off, counts=None, more=0)
    return read(door) if first.more else first


def blank_after(door: Door) -> int | None:
    """Idle seconds after which the screen blanks itself; None where the rules do not say."""
    from armrise.store.kept.said import blank_after as ruled
    from armrise.tui.shell.store_door import StoreDoor

    return door.said.blank_after if isinstance(door, StoreDoor) else ruled(door.rules)
