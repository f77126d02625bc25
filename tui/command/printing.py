"""How the commands print."""

from __future__ import annotations

from typing import Any

import click


def write_json(value: Any) -> None:
    """Write a value as JSON that reads the same in every encoding."""
    import json

    click.echo(json.dumps(value, indent=2, ensure_ascii=True))
