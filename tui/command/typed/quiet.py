"""``--quiet``: nothing is said but what was asked for, and what went wrong."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from armrise.tui.command.printing import QUIET


def _be_quiet(ctx: click.Context, _: click.Parameter, wanted: bool) -> None:
    if wanted:
        ctx.meta[QUIET] = True


def quiet(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option for a command that does something: it does it, and says nothing of it."""
    told = "Say nothing but what was asked for, and what went wrong."
    return click.option("-q", "--quiet", is_flag=True, expose_value=False, callback=_be_quiet, help=told)(
        command
    )
