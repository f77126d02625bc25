"""A store verified as a whole: the file, what is declared, the settings, every row, the chain over all of it.

Everything is looked at over one connection that may only read and sees one state throughout. A fault found
ends nothing: the rest is looked at too, as far as it can be read.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, tzinfo
from itertools import islice

from armrise.store.database import migrate as schema
from armrise.store.database.declared import CASES, SETTINGS
from armrise.store.database.driver import Connection, Driver, StoreError
from armrise.store.database.unreadable import named
from armrise.store.database.written import FIRST, LAST, cases_of
from armrise.store.entries.build import build_head
from armrise.store.record import clock
from armrise.store.record.words import full_date, time_words
from armrise.store.verify.following import Tell, Walk, walk
from armrise.store.verify.result import NOT_CHECKED, THROWAWAY, Broken, Verified

MOST = 20
"""So many faults of each sort are named."""
SHORTEST_HEAD = 8


@dataclass
class _Work:
    """What the parts of a verification hand on."""

    driver: Driver
    connection: Connection
    tell: Tell | None
    settings: dict[str, str] = field(default_factory=dict[str, str])
    found: Walk = field(default_factory=Walk)
    codes: dict[int, str] = field(default_factory=dict[int, str])

    @property
    def zone(self) -> tzinfo:
        """The clinic's zone; UTC where the store tells none that is known."""
        with contextlib.suppress(clock.UnknownZone):
            return clock.clinic_zone(self.settings.get("zone", ""))
        return clock.clinic_zone("UTC")


def verify(driver: Driver, *, expect: str = "", tell: Tell | None = None) -> Verified:
    """Look at a whole store. ``expect`` is a head as it was printed; ``tell`` is told how far it is.

    Raises :class:`StoreError` where there is no store, or where ``expect`` is no head.
    """
    wanted = _wanted(expect)
    driver.check(read_only=True)
    right: list[str] = []
    faults: list[str] = []
    try:
        with contextlib.closing(driver.connect(read_only=True)) as connection:
            driver.dialect.begin(connection, writing=False)
            work = _Work(driver, connection, tell)
            for words, part in PARTS[bool(driver.dialect.UNSEEN) :]:
                wrong = _faults_of(work, words, part)
                faults += wrong
                right += [] if wrong else [words]
                if wrong and part is _marks:
                    break
            return _result(work, right, faults, wanted)
    except driver.errors as error:
        said = f"the store cannot be opened: {driver.dialect.fault_name(error)}"
        return Verified(name=driver.name, at=clock.utc_now(), zone=UTC, faults=(said,), expected=wanted)


def _wanted(expect: str) -> str:
    """A head as it is compared: its digits alone."""
    digits = "".join(expect.split()).lower()
    if expect and not (SHORTEST_HEAD <= len(digits) <= 64 and set(digits) <= set("0123456789abcdef")):
        raise StoreError(
            f'"{expect[:40]}" is no head of a chain: give its digits and letters as they are printed'
        )
    return digits


def _faults_of(work: _Work, words: str, part: Callable[[_Work], Iterable[str]]) -> list[str]:
    """What one part finds wrong, within bounds; what it cannot read is a fault as well."""
    found: list[str] = []
    try:
        for fault in part(work):
            found.append(fault)
    except work.driver.errors as error:
        row = named(error) or words
        found.append(f"{row}: cannot be read ({work.driver.dialect.fault_name(error)})")
    except (ArithmeticError, LookupError, TypeError, ValueError):
        found.append(f"{words}: cannot be read (values that no program of ours wrote)")
    more = len(found) - MOST
    return found if more <= 0 else [*islice(found, MOST), f"and {more} more of this sort"]


def _file(work: _Work) -> Iterable[str]:
    return work.driver.dialect.damage(work.connection)


def _marks(work: _Work) -> Iterator[str]:
    """Whether this is a store of ours at all, and of the schema we know."""
    dialect = work.driver.dialect
    version = dialect.schema_version(work.connection)
    if not dialect.is_ours(work.connection):
        yield "it does not carry the mark of armrise"
    elif version < schema.SCHEMA:
        yield f"it was made by an older armrise (schema {version}): open it once, then verify it"
    elif version > schema.SCHEMA:
        yield f"it was made by a newer armrise (schema {version}): verify it with that one"
    else:
        newest = work.connection.execute("SELECT max(version) FROM migration").fetchone()[0]
        if newest != version:
            yield f"its marks do not agree: schema {version} and {newest}"


def _declared(work: _Work) -> Iterator[str]:
    dialect = work.driver.dialect
    there, wanted = dialect.definitions(work.connection), schema.declared(dialect)
    for name, statement in wanted.items():
        if name not in there:
            yield f"{name} is missing"
        elif there[name] != statement:
            yield f"{name} is not as it was declared"
    strange = sum(name not in wanted and not name.startswith("sqlite_") for name in there)
    if strange:
        yield f"{strange} tables, indexes or triggers are there that no program of ours made"


def _settings(work: _Work) -> Iterator[str]:
    work.settings = dict(work.connection.execute("SELECT name, value FROM setting").fetchall())
    for name in work.settings:
        if name not in SETTINGS:
            yield "there is a setting that is not known"
    for name, readable in _READABLE.items():
        if name in work.settings or name in ("zone", "fictional", "created"):
            try:
                fine = readable(work.settings[name])
            except (LookupError, ValueError, clock.UnknownZone):
                fine = False
            if not fine:
                yield f"the setting {name} is missing or cannot be read"


_READABLE: dict[str, Callable[[str], object]] = {
    "zone": clock.clinic_zone,
    "fictional": lambda said: said in ("yes", "no"),
    "created": datetime.fromisoformat,
    "clinic date": date.fromisoformat,
    "lasting": lambda said: said == "no",
}


def _cases(work: _Work) -> Iterator[str]:
    names = [column.name for column in CASES.columns]
    for row in cases_of(work.connection, FIRST, LAST):
        head = dict(zip(names, row, strict=True))
        work.codes[head.pop("id")] = code = head.pop("code")
        head["registered"] = head.pop("registered_on")
        stated = {name: value for name, value in head.items() if value not in (None, "")}
        _, faults = build_head(stated, code=code, base=date(2000, 1, 1))
        if faults:
            yield f"cases {row[0]}: {', '.join(f.field for f in faults)} does not hold what it may hold"


def _rows(work: _Work) -> Iterable[str]:
    """Every row; the chain is followed on the way, and told of by :func:`_chain`."""
    lasting = work.settings.get("lasting") != "no"
    work.found.fixed = "clinic date" in work.settings
    walk(work.connection, work.found, lasting=lasting, tell=work.tell)
    return work.found.rows


def _chain(work: _Work) -> Iterator[str]:
    yield from work.found.chain
    if not work.found.whole:
        yield "the chain could not be followed to its end"
    first, number = _broken(work), len(work.found.broken)
    if first:
        whose = ", ".join(first.codes[:5]) or "no case that is there now"
        what = ", ".join(first.kinds[:5]) or "nothing that is there now"
        others = f", and {number - 1} later" if number > 1 else ""
        yield (
            f"action {first.number} of {full_date(first.at.date())} {time_words(first.at)} does not "
            f"follow{others}: it covers {what} of {whose}"
        )


def _corrections(work: _Work) -> Iterator[str]:
    sql = """
    SELECT k.id FROM correction k JOIN entry e ON e.id = k.corrects WHERE e.case_id <> k.case_id
    UNION
    SELECT k.id FROM correction k JOIN entry e ON e.id = k.replaced_by WHERE e.case_id <> k.case_id
    ORDER BY 1"""
    for (number,) in work.connection.execute(sql):
        yield f"correction {number} names an entry of another case"


PARTS: tuple[tuple[str, Callable[[_Work], Iterable[str]]], ...] = (
    ("every page, index and condition of the file, and every reference between rows", _file),
    ("the mark of armrise and of its schema", _marks),
    ("tables, indexes and guards, as they were declared", _declared),
    ("the settings", _settings),
    ("every case", _cases),
    ("every entry: one line and one row of its kind, read by its record type and within its rules", _rows),
    ("every correction: it names an entry of its own case", _corrections),
    ("the chain: each action covers what it wrote, and follows from the one before", _chain),
)
"""What is looked at, in this order: in words, and how; the first where the files can be seen."""


def _broken(work: _Work) -> Broken | None:
    if not work.found.broken:
        return None
    link, cases, kinds = work.found.broken[0]
    return Broken(
        number=link.number,
        at=clock.on_the_clock(link.at, work.zone),
        codes=tuple(sorted(work.codes.get(case, "unknown") for case in cases)),
        kinds=tuple(sorted(kinds)),
    )


def _result(work: _Work, right: list[str], faults: list[str], wanted: str) -> Verified:
    links = work.found.links
    occurs = next((link for link in links if wanted and link.hash.startswith(wanted)), None)
    if wanted and occurs is None:
        faults.append("the head that was asked for does not occur in the chain")
    throwaway = work.settings.get("lasting") == "no"
    return Verified(
        name=work.driver.name,
        at=clock.on_the_clock(clock.utc_now(), work.zone),
        zone=work.zone,
        not_checked=(*((THROWAWAY,) if throwaway else ()), *work.driver.dialect.UNSEEN, *NOT_CHECKED),
        right=tuple(right),
        faults=tuple(faults),
        cases=work.found.cases,
        entries=work.found.entries,
        actions=len(links),
        begun=links[0] if links else None,
        head=links[-1] if links else None,
        first_broken=_broken(work),
        expected=wanted,
        occurs=occurs,
    )
