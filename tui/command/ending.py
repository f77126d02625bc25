"""How a command ends: with its exit code, one sentence a fault, and never a traceback.

Exit codes: 0, 2 for wrong usage, 130 where somebody stopped it, 1 for anything else that was not done.
"""

from __future__ import annotations

import errno
import os
import signal
import sys
from collections.abc import Callable
from contextlib import suppress
from typing import NoReturn

from armrise.tui.command.board import NoTerminal
from armrise.tui.command.printing import NotPrinted, complain, refuse

DONE = 0
REFUSED = 1
USAGE = 2
STOPPED = 130
"""As a shell says it of what Ctrl+C ended: 128 and the number of the signal."""


def ended(command: Callable[[], object]) -> int:
    """Run a command to its end; the exit code."""
    try:
        result = command()
        return result if isinstance(result, int) else DONE
    except KeyboardInterrupt:
        return _stopped()
    except BrokenPipeError:
        return REFUSED  # the reader of a pipe went away and wants to hear no more
    except NoTerminal as fault:
        complain(f"Error: {fault}")
        return USAGE
    except Exception as fault:
        return _refused(fault)


def _stopped() -> int:
    complain("Stopped.")
    return STOPPED


def _refused(fault: Exception) -> int:
    """Say why a command was not done, in the words of what reads the command line where it is to blame."""
    import click

    if isinstance(fault, click.ClickException):
        refuse(fault)
        return fault.exit_code
    if isinstance(fault, click.Abort):
        return _stopped()
    complain(f"armrise: {refusal(fault)}")
    return REFUSED


def refusal(fault: Exception) -> str:
    """What a refusal says; of a fault nobody foresaw only its kind and place, which quote no record."""
    from armrise.store.database.place import StoreError
    from armrise.store.exchange.into.caseload_file import CaseloadRefused
    from armrise.store.record.visible import visible, visible_lines
    from armrise.store.rules.read import RuleFileError

    if isinstance(fault, CaseloadRefused):
        return visible_lines(str(fault))
    if isinstance(fault, (StoreError, RuleFileError, NotPrinted)):
        return visible(str(fault))
    if isinstance(fault, OSError):
        if fault.errno in (errno.ENOSPC, errno.EBADF, errno.EIO) and not fault.filename:
            return str(NotPrinted(fault.strerror or "it is closed"))  # help is printed by click itself
        what = f" ({visible(os.fsdecode(fault.filename))})" if fault.filename else ""
        return f"{(fault.strerror or str(fault)).lower()}{what}: free it, or choose another place."
    from armrise.tui.shell.fault import told

    return told(fault).removeprefix("armrise ")


def leave(code: int) -> NoReturn:
    """End the process; an output that can no longer be written to is not complained about once more."""
    for stream in (sys.stdout, sys.stderr):
        try:
            if stream:  # None where it was closed
                stream.flush()
        except (OSError, ValueError):
            with suppress(OSError, ValueError):
                os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
    sys.exit(code)


def prepare() -> None:
    """Make sure that no file is opened in the place of a closed stream, and that an end cleans up."""
    while (handle := os.open(os.devnull, os.O_RDWR)) < 3:
        pass
    os.close(handle)
    for name in ("SIGTERM", "SIGHUP"):
        # the folder of a caseload taken in for one listing is removed on the way out
        with suppress(AttributeError, ValueError, OSError):
            number = getattr(signal, name)
            if signal.getsignal(number) is signal.SIG_DFL:  # left alone where it is to be ignored (nohup)
                signal.signal(number, _end)


def _end(number: int, _: object) -> NoReturn:
    raise SystemExit(128 + number)
