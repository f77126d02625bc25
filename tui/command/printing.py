"""How the commands print."""

from __future__ import annotations

from collections.abc import Callable

import click


def write_json(value: object) -> None:
    """Write a value as JSON that reads the same in every encoding."""
    import json

    click.echo(json.dumps(value, indent=2, ensure_ascii=True))


def tell(as_json: bool, data: Callable[[], object], text: Callable[[], str]) -> None:
    """Print as JSON or as plain text; only what is printed is made."""
    if as_json:
        write_json(data())
    else:
        click.echo(text(), nl=False)
