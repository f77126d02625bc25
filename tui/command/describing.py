"""The commands that describe what goes in and out: fields in words, JSON as its schema."""

from __future__ import annotations

import click

from armrise.tui.command.options import Command
from armrise.tui.command.printing import say, write_json


@click.command(cls=Command)
@click.argument("kind", default="", metavar="[KIND]")
@click.option("--fhir", is_flag=True, help="What a FHIR bundle carries instead: entries, absences, codes.")
def fields(kind: str, fhir: bool) -> None:
    """Print the caseload file in words: every kind of entry, its fields, what they may hold, what is refused.

    KIND is one kind of entry alone, such as "session".
    """
    from armrise.store.exchange.out.fields_text import as_text, names

    if fhir:
        from armrise.store.exchange.fhir import described

        if kind:
            raise click.UsageError("--fhir and KIND exclude each other, give one of them")
        say(described.as_text(), nl=False)
        return
    if kind and kind not in names():
        raise click.UsageError(f"KIND is {kind!r}, allowed is one of {', '.join(names())}")
    say(as_text(kind), nl=False)


@click.command(cls=Command)
@click.argument("name", default="", metavar="[NAME]")
def schema(name: str) -> None:
    """Print the JSON Schema (2020-12) of what is read or printed as JSON; without NAME what there is."""
    from armrise.store.exchange.schemas import SCHEMAS

    if name:
        if name not in SCHEMAS:
            raise click.UsageError(f"NAME is {name!r}, allowed is one of {', '.join(SCHEMAS)}")
        write_json(SCHEMAS[name]())
        return
    for one, made in SCHEMAS.items():
        say(f"{one:<9} {made()['title']}")
