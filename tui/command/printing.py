"""How the commands print: whatever they say goes out here, with nothing in it that a terminal would obey."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING

from armrise.store.record.visible import visible_lines

if TYPE_CHECKING:
    import click


class NotPrinted(Exception):
    """The output cannot be written to. The message is one sentence."""

    def __init__(self, why: str) -> None:
        super().__init__(
            f"the output cannot be written ({why.lower()}): not everything was printed; what was to be "
            "recorded is recorded."
        )


def say(text: str = "", *, nl: bool = True) -> None:
    """Print ``text``. Raises :class:`NotPrinted`, and BrokenPipeError where nobody reads any more."""
    if not sys.stdout:  # None where it was closed
        raise NotPrinted("it is closed")
    try:
        _write(visible_lines(text) + ("\n" if nl else ""))
    except BrokenPipeError:
        raise
    except (OSError, ValueError) as error:
        raise NotPrinted(getattr(error, "strerror", None) or "it is closed") from None


def _write(text: str) -> None:
    """Write it out; by click where a console or a stream may need another encoding than it says."""
    if os.name == "posix" and getattr(sys.stdout, "encoding", None) in ("utf-8", "UTF-8"):
        sys.stdout.write(text)
        sys.stdout.flush()
        return
    import click

    click.echo(text, nl=False)


def complain(text: str, *, nl: bool = True) -> None:
    """Say ``text`` on the error stream, where there is one."""
    import click

    with suppress(OSError, ValueError):
        click.echo(visible_lines(text), err=True, nl=nl)


def refuse(fault: click.ClickException) -> None:
    """Say what was wrong with the command line; it may quote what was typed."""
    from io import StringIO

    told = StringIO()
    fault.show(told)
    complain(told.getvalue(), nl=False)


def write_json(value: object) -> None:
    """Write a value as JSON that reads the same in every encoding."""
    import json

    say(json.dumps(value, indent=2, ensure_ascii=True))


def tell(as_json: bool, data: Callable[[], object], text: Callable[[], str]) -> None:
    """Print as JSON or as plain text; only what is printed is made."""
    if as_json:
        write_json(data())
    else:
        say(text(), nl=False)
