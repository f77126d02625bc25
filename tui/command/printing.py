"""How the commands print."""

from __future__ import annotations

import click


def write_json(value: object) -> None:
    """Write a value as JSON that reads the same in every encoding."""
    import json

    click.echo(json.dumps(value, indent=2, ensure_ascii=True))
