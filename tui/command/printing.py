"""How the commands print: whatever they say goes out here, with nothing in it that a terminal would obey."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Mapping
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from armrise.store.record.visible import visible_lines

if TYPE_CHECKING:
    import click


QUIET = "armrise.quiet"
"""Where a command line keeps that nothing is to be said but what was asked for."""


class NotPrinted(Exception):
    """The output cannot be written to. The message is one sentence."""

    def __init__(self, why: str) -> None:
        super().__init__(
            f"the output cannot be written ({why.lower()}): not everything was printed; what was to be "
            "recorded is recorded."
        )


def say(text: str = "", *, nl: bool = True) -> None:
    """Print ``text``. Raises :class:`NotPrinted`, and BrokenPipeError where nobody reads any more."""
    _print(visible_lines(text), nl=nl)


def _print(text: str, *, nl: bool) -> None:
    if not sys.stdout:  # None where it was closed
        raise NotPrinted("it is closed")
    try:
        _write(text + ("\n" if nl else ""))
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


def put_out(made: str | bytes, what: str) -> None:
    """Put a file out on the standard output as it is, for a pipe; a terminal gets a text it can show.

    Raises a usage fault for one that no terminal can show; ``what`` names it.
    """
    if not sys.stdout:
        raise NotPrinted("it is closed")
    import click

    if isinstance(made, str) and at_a_terminal():
        say(made.replace("\r\n", "\n"), nl=False)
        return
    if at_a_terminal():
        raise click.UsageError(f"{what} cannot be shown in a terminal: give the name of a file, or a pipe")
    try:
        click.echo(made.encode("utf-8", errors="replace") if isinstance(made, str) else made, nl=False)
    except BrokenPipeError:
        raise
    except (OSError, ValueError) as error:
        raise NotPrinted(getattr(error, "strerror", None) or "it is closed") from None


def note(text: str) -> None:
    """Say what was done, in words that nothing reads further; not where ``--quiet`` was typed."""
    if not quiet():
        say(text)


def quiet() -> bool:
    """Whether ``--quiet`` was typed on this command line."""
    import click

    of = click.get_current_context(silent=True)
    return of is not None and bool(of.meta.get(QUIET))


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


def tell(as_json: bool, name: str, data: Callable[[], Mapping[str, Any]], text: Callable[[], str]) -> None:
    """Print as JSON, under the name its schema has, or as plain text; only what is printed is made.

    On a terminal the text has its width, and colour where the terminal has any.
    """
    if as_json:
        from armrise.store.exchange.out.formats import stamped

        write_json(stamped(name, data()))
    else:
        tell_text(made_here(text))


def made_here(text: Callable[[], str]) -> str:
    """Text made as wide as what it is printed to."""
    if not at_a_terminal():
        return text()
    from armrise.tui.command.typed.terminal import as_wide_as_the_terminal

    with as_wide_as_the_terminal():
        return text()


def tell_text(text: str) -> None:
    """Print text that was made; on a terminal with colour."""
    if at_a_terminal():
        from armrise.tui.command.typed.terminal import coloured

        _print(coloured(visible_lines(text)), nl=False)
    else:
        say(text, nl=False)


def at_a_terminal() -> bool:
    """Whether what is printed goes to a terminal."""
    try:
        return bool(sys.stdout) and sys.stdout.isatty()
    except ValueError:  # closed
        return False
