"""What a command that lists reads from: its options, the store it opens, and when that was known."""

from __future__ import annotations

import re
from collections.abc import Callable, Generator
from contextlib import contextmanager
from datetime import date, datetime
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING

import click

from armrise.store.record.light import NamedTuple, dataclass
from armrise.tui.shell.intake import Source, load_rules, opened

if TYPE_CHECKING:
    from armrise.store.database.place import Store
    from armrise.store.database.server.address import Where
    from armrise.store.exchange.out.plain_text import Heading
    from armrise.store.rules.pathway import Rules
    from armrise.tui.earlier.instants import Then


class ClinicDate(click.ParamType):  # pyright: ignore[reportMissingTypeArgument]  # none in click 8.1
    """An ISO date on the command line."""

    name = "date"

    def convert(self, value: str | date, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """The date, or a usage fault saying what is allowed."""
        if isinstance(value, date):
            return value
        try:
            found = date.fromisoformat(value)
            if len(value) != 10 or not 1900 <= found.year <= 2199:
                raise ValueError
            return found
        except ValueError:
            from armrise.store.entries.words import shown

            say = f"{shown(value)} is no date, allowed is a day of 1900 to 2199 such as 2026-03-02"
            self.fail(say, param, ctx)


class StoreName(click.ParamType):  # pyright: ignore[reportMissingTypeArgument]  # none in click 8.1
    """A store on the command line: a file, or the address of one on a server."""

    name = "store"

    def convert(self, value: str | Where, param: click.Parameter | None, ctx: click.Context | None) -> Where:
        """The place, or a usage fault; it repeats no address that holds a password."""
        if not isinstance(value, str):
            return value
        from armrise.store.database.driver import StoreError
        from armrise.store.database.server.address import where

        try:
            return where(value)
        except StoreError as fault:
            self.fail(str(fault), param, ctx)


URI = re.compile(r"(urn:[a-z0-9-]+:|https?://)[!-~]{1,200}", re.IGNORECASE)


class SystemName(click.ParamType):  # pyright: ignore[reportMissingTypeArgument]  # none in click 8.1
    """The name of a system of identifiers on the command line."""

    name = "uri"

    def convert(self, value: str, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """The name, or a usage fault."""
        if URI.fullmatch(value):
            return value
        from armrise.store.entries.words import shown

        say = f"{shown(value)} is no name of a system, allowed is a URI such as urn:oid:2.999.1"
        self.fail(say, param, ctx)


CLINIC_DATE = ClinicDate()
STORE = StoreName()
SYSTEM = SystemName()
SYSTEM_HELP = "Of a FHIR bundle: the system its persons' codes belong to, agreed with the other side."
STORE_HELP = "A store other than your own: a file, or an address such as postgresql://tk@machine/clinic."
AS_OF_HELP = (
    "What was known at the end of that clinic date; what was recorded or corrected later is left out."
)
AT_HELP = (
    'What was known at that instant, on the clinic\'s clock: "2026-03-03 08:05", or ISO with an offset. With '
    "--as-of the list of that date with what was known then."
)
AUTHOR_HELP = "Whose entries these are, instead of those remembered."
RULES_HELP = "The folder of the rules to read under, instead of those in force."
FILE = click.Path(path_type=Path)
STANDARD_STREAM = "-"
"""What stands for a file where standard input is read, or standard output written."""


def checked(author: str | None) -> str:
    """The initials given, empty for none. Raises a usage fault for what are no initials."""
    from armrise.tui.firstrun.words import initials_fault

    if author is None:
        return ""
    fault = initials_fault(author.strip())
    if fault:
        raise click.UsageError(f"--author: {fault.removeprefix('initials: ')}")
    return author.strip()


class AsOf(NamedTuple):
    """The day and the instant asked for on the command line; both None: now."""

    day: date | None
    at: str | None


def sources(command: Callable[..., None]) -> Callable[..., None]:
    """The options that say where a listing reads from, and on which clinic date."""

    @click.option("--demo", is_flag=True, help="The fictional caseload, on its own clinic date.")
    @click.option("--caseload", type=FILE, metavar="FILE", help="A caseload file, taken into no store.")
    @click.option("--store", type=STORE, metavar="STORE", help=STORE_HELP)
    @click.option("--as-of", type=CLINIC_DATE, metavar="DATE", help=AS_OF_HELP)
    @click.option("--at", metavar="INSTANT", help=AT_HELP)
    @click.option("--rules", type=FILE, metavar="FOLDER", help=RULES_HELP)
    @wraps(command)
    def with_source(
        demo: bool,
        caseload: Path | None,
        store: Where | None,
        rules: Path | None,
        as_of: date | None,
        at: str | None,
        **rest: object,
    ) -> None:
        if sum((demo, caseload is not None, store is not None)) > 1:
            raise click.UsageError("--demo, --caseload and --store exclude each other, give one of them")
        command(source=Source(demo, caseload, store, rules), as_of=AsOf(as_of, at), **rest)

    return with_source


@dataclass(frozen=True, slots=True)
class Seen:
    """A store as a command sees it: under which rules, on which clinic date, as known when (None: now)."""

    store: Store
    rules: Rules
    today: date
    known_at: datetime | None

    def heading(self) -> Heading:
        """What stands above a listing."""
        from armrise.store.exchange.out.plain_text import heading_of

        return heading_of(self.store, self.rules, self.today, self.known_at)


@contextmanager
def seen(source: Source, as_of: AsOf, rules: Rules | None = None) -> Generator[Seen, None, None]:
    """What a command reads from, opened and closed again; under ``rules`` where they are at hand."""
    under = load_rules(source.rules) if rules is None else rules
    with opened(source, under) as store:
        yield Seen(store, under, *_asked_for(store, as_of))


def _asked_for(store: Store, as_of: AsOf) -> Then:
    """The clinic date of a listing and, for one asked for, the instant up to which entries were known."""
    from armrise.tui.earlier.instants import Then, end_of, read_then, refuse_far

    today = store.today()
    if as_of.at is not None:
        then = read_then(as_of.at, store, today)
        if as_of.day is not None:
            refuse_far(store, as_of.day)
        return Then(as_of.day or then.today, then.known_at)
    return Then(today, None) if as_of.day is None else end_of(store, as_of.day)
