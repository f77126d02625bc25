"""The keys, printed."""

from __future__ import annotations

import click

from armrise.tui.command.ending import REFUSED
from armrise.tui.command.options import Command
from armrise.tui.command.printing import complain, tell


@click.command(cls=Command)
@click.option("--json", "as_json", is_flag=True, help="As a JSON object.")
@click.option("--sample", is_flag=True, help="As a keys.toml in which every line is a remark.")
def keys(as_json: bool, sample: bool) -> int:
    """Print every key of every screen, your own keys.toml applied, and what is wrong with that file."""
    from armrise.tui.shell import keys as of

    if as_json and sample:
        raise click.UsageError("--json and --sample exclude each other, give one of them")
    keymap, faults = ({}, []) if sample else of.read(of.keys_path())
    rows = of.reference(keymap)
    words = of.as_sample if sample else of.as_text
    tell(as_json, "keys", lambda: {"keys": [row._asdict() for row in rows]}, lambda: words(rows))
    for told in faults or filter(None, [of.changed(keymap)]):
        complain(f"armrise: {told}")
    return REFUSED if faults else 0
