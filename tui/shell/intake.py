"""Where the command line reads from, and how a caseload file gets into a store."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Collection, Generator, Sequence
from datetime import date
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from armrise.store.record.light import NamedTuple
from armrise.tui.shell.unlock import unlocked
from armrise.tui.shell.wordsfile import in_the_clinics_words

if TYPE_CHECKING:
    from armrise.store.caseload.taking.part import Taken
    from armrise.store.database.driver import Driver
    from armrise.store.database.place import Store
    from armrise.store.database.server.address import Where
    from armrise.store.entries.filed import CaseloadFile
    from armrise.store.rules.pathway import Rules


CHECK_RULES = "Next: armrise rules check"
OPEN_ONCE = "open armrise once to create an empty one"
LOAD_A_FILE = "load a caseload file: armrise load FILE"
"""What to do about a store that is not there or holds no case yet."""


class Source(NamedTuple):
    """Where a listing reads from: the demo, a caseload file, or a store (None: the user's own).

    ``rules`` is the folder of the rules it is read under, None for those in force.
    """

    demo: bool
    caseload: Path | None
    store: Where | None
    rules: Path | None = None

    @property
    def is_in_force(self) -> bool:
        """True where a store is read, under the rules in force."""
        return not self.demo and self.caseload is None and self.rules is None


def rules_folder(named: Path | None = None) -> Path | None:
    """The folder of rules asked for: ``named``, else that of ARMRISE_RULES, else None for the usual place."""
    told = os.environ.get("ARMRISE_RULES")
    return named or (Path(told) if told else None)


def load_rules(named: Path | None = None) -> Rules:
    """The rules in force, or those of the folder ``named``, with the clinic's words for patients; read once.

    Raises a rule error of one sentence: rules that do not hold together are never replaced by others.
    """
    return _load_rules(rules_folder(named))


@cache
def _load_rules(folder: Path | None) -> Rules:
    from armrise.store.rules.folder.versions import load_in_force
    from armrise.store.rules.table import RuleFileError

    try:
        return in_the_clinics_words(load_in_force(folder))
    except RuleFileError as fault:
        raise RuleFileError(f"{fault} Nothing is read under other rules. {CHECK_RULES}") from None


@contextlib.contextmanager
def opened(source: Source, rules: Rules | None, *, writing: bool = False) -> Generator[Store, None, None]:
    """The store a command reads from or writes to; demo and caseload file go through one in memory.

    ``rules`` are those a caseload file is checked by, None for those shipped.
    """
    if not source.demo and source.caseload is None:
        yield existing(source.store, writing=writing)
        return
    from armrise.store.exchange.into.caseload_file import demo_path, read

    with in_memory() as memory:
        yield filled(read(source.caseload or demo_path(), rules), memory)


def existing(named: Where | None, *, writing: bool | None) -> Store:
    """The store of that name, None for one's own, which must be there. Raises a store error.

    ``writing`` None: for writing where that is allowed, else for reading.
    """
    from armrise.store.database.place import Store, StoreError, driver_of, own_store

    place = unlocked(named or own_store())
    driver = driver_of(place)
    if not driver.exists():
        raise StoreError(f"there is no store at {place}: {_how_to_begin(named)}")
    return Store.open(driver, read_only=not (driver.may_write() if writing is None else writing))


def _how_to_begin(named: Where | None) -> str:
    if named is None:
        return f"{OPEN_ONCE}, or {LOAD_A_FILE}"
    return f"give the path of another one, or {LOAD_A_FILE} --store {named}"


@contextlib.contextmanager
def in_memory() -> Generator[Driver, None, None]:
    """A place for a store of which nothing is ever on a disk; with it the store is gone."""
    from armrise.store.database.sqlite_file import SqliteMemory

    with contextlib.closing(SqliteMemory()) as memory:
        yield memory


def filled(file: CaseloadFile, place: Path | Driver) -> Store:
    """A new store in a folder, or in memory, holding this caseload; its clinic date is that of the file."""
    from armrise.store.caseload.taking.take import take_whole
    from armrise.store.database.place import Store

    store = Store.create(
        place / "caseload.armrise" if isinstance(place, Path) else place,
        zone=file.zone,
        fictional=file.fictional,
        clinic_date=file.clinic_date,
        lasting=False,
    )
    take_whole(store, file)
    return store


def demo_store(folder: Path, as_of: date | None, rules: Path | None = None) -> Store:
    """The fictional caseload in a new store in ``folder``, moved to ``as_of``.

    Without it by whole weeks, to the newest such date up to today: a clinic day of the week stays one.
    """
    from armrise.store.exchange.into.caseload_file import demo_path, read, shift
    from armrise.store.record.clock import clinic_zone, today_in, whole_weeks_on

    under = load_rules(rules)
    file = read(demo_path(), under)
    to = as_of or whole_weeks_on(file.clinic_date, today_in(clinic_zone(file.zone)))
    return filled(shift(file, to), folder)


def take(
    file: Path,
    path: Where,
    rules: Rules,
    *,
    dry_run: bool = False,
    piped: bytes | None = None,
    system: str | None = None,
) -> Taken:
    """Take what is new in the caseload ``file`` into the store at ``path``, made if there is none.

    ``piped`` is the file's content where it came by a pipe and lies nowhere. A bundle of FHIR names no zone,
    so it is taken into a store that is there; ``system`` is the one it names persons by, None for our own.

    A fictional caseload and real ones never share a store; its own store keeps the file's clinic date. With
    ``dry_run`` nothing is written or made, and what is refused of a case stands in what comes back.

    Raises a store error or :class:`~armrise.store.exchange.into.caseload_file.CaseloadRefused`.
    """
    from armrise.store.caseload.read import heads
    from armrise.store.database.place import Store, StoreError, driver_of
    from armrise.store.entries.filed import Beside
    from armrise.store.exchange.fhir.indexed import is_fhir
    from armrise.store.exchange.into.caseload_file import data_of, parse

    data, exists = data_of(file, piped), driver_of(path).exists()
    if is_fhir(data):
        if not exists:
            say = f"there is no store at {path}, and a FHIR bundle names no zone to make one for"
            raise StoreError(f"{say}: {OPEN_ONCE}")
        store = Store.open(path, read_only=dry_run)
        return _taken_bundle(store, data, file, path, rules, dry_run=dry_run, system=system)
    if exists:
        store = Store.open(path, read_only=dry_run)
        there = heads(store)
        beside = Beside(frozenset(code for code, *_ in there), frozenset(person for _, person, _ in there))
        return _taken(store, parse(data, file.name, rules, beside), file, path, rules, dry_run=dry_run)
    content = parse(data, file.name, rules)
    if dry_run:
        with in_memory() as memory:
            made = _made_for(content, memory)
            return _taken(made, content, file, path, rules, dry_run=True)
    store = _made_for(content, path)
    try:
        return _taken(store, content, file, path, rules, dry_run=False)
    except BaseException:
        if isinstance(path, Path):
            remove(path)
        raise


def _made_for(content: CaseloadFile, path: Where | Driver) -> Store:
    from armrise.store.database.place import Store

    fixed = content.clinic_date if content.fictional else None
    return Store.create(path, zone=content.zone, fictional=content.fictional, clinic_date=fixed)


def _taken(
    store: Store, content: CaseloadFile, file: Path, path: Where, rules: Rules, *, dry_run: bool
) -> Taken:
    """What is taken into an open store; ``path`` is what refusals call it."""
    from armrise.store.caseload.refusal import Refused
    from armrise.store.caseload.taking.take import take_whole, would_take
    from armrise.store.exchange.into.caseload_file import CaseloadRefused

    _refuse_another_clinic(store, content, path)
    if dry_run:
        return would_take(store, content, rules)
    try:
        return take_whole(store, content, rules)
    except Refused as refused:
        raise CaseloadRefused(file.name, refused.faults) from None


def _taken_bundle(
    store: Store, data: Any, file: Path, path: Where, rules: Rules, *, dry_run: bool, system: str | None
) -> Taken:
    """What is taken of a bundle of FHIR; faults name its resources, and what is left out is counted."""
    from armrise.store.caseload.read import heads
    from armrise.store.caseload.whole import whole
    from armrise.store.entries.filed import Beside, FileCase
    from armrise.store.exchange.fhir.read import Clinic, read_bundle
    from armrise.store.exchange.fhir.systems import PERSON
    from armrise.store.exchange.into.caseload_file import CaseloadRefused
    from armrise.store.record.clock import utc_now

    there, today = heads(store), store.today(utc_now())

    def known(persons: Collection[str], codes: Collection[str]) -> Sequence[FileCase]:
        wanted = {code for code, person, _ in there if person in persons or code in codes}
        return whole(store, today, wanted).cases if wanted else ()

    beside = Beside(frozenset(code for code, *_ in there), frozenset(person for _, person, _ in there))
    clinic = Clinic(
        today=today,
        zone=store.zone,
        known=known,
        rules=rules,
        beside=beside,
        person_system=system or PERSON,
    )
    bundle = read_bundle(data, file.name, clinic)
    try:
        taken = _taken(store, bundle.caseload, file, path, rules, dry_run=dry_run)
    except CaseloadRefused as refused:
        raise CaseloadRefused(file.name, bundle.named(refused.faults)) from None
    for part in taken.parts:
        part.faults = bundle.named(part.faults)
    taken.left_out = bundle.left_out
    return taken


def _refuse_another_clinic(store: Store, content: CaseloadFile, path: Where) -> None:
    from armrise.store.database.place import StoreError
    from armrise.store.record.clock import utc_now

    if store.fictional != content.fictional:
        kinds = ("fictional", "real") if content.fictional else ("real", "fictional")
        say = f"a {kinds[0]} caseload is not taken into {path}, which holds {kinds[1]} cases"
        raise StoreError(f"{say}: give another store")
    if store.zone != content.zone:
        say = f"the file counts days in {content.zone}, {path} in {store.zone}"
        raise StoreError(f"{say}: write the file in the clinic's zone")
    if content.clinic_date > store.today(utc_now()):
        raise StoreError(
            f"the file's clinic date {content.clinic_date} lies ahead: correct it, then load again"
        )


def remove(path: Path) -> None:
    """Take away a store that was just made and stayed empty, with its journal files."""
    for name in (path.name, f"{path.name}-wal", f"{path.name}-shm"):
        with contextlib.suppress(OSError):
            path.with_name(name).unlink()


def rules_named(word: str, folder: Path | None = None) -> Rules:
    """The rules of a version of the clinic, "shipped", or those that lie in the folder ``word``.

    ``folder`` holds the clinic's versions; None is the usual place. Raises a rule error of one sentence.
    """
    from armrise.store.rules.folder.versions import chosen

    return chosen(rules_folder(folder)).named_version(word)
