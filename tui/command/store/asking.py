"""A passphrase asked for at the terminal, whatever the command reads from or writes to. Nothing shows."""

from __future__ import annotations

import getpass
import os
import sys
from pathlib import Path

from armrise.tui.command.printing import complain

NO_TERMINAL = "there is no terminal to ask for the passphrase at: give the command at one"


def ask(path: Path, fault: str) -> str:
    """The passphrase that was typed for a file. Raises a store error where there is no terminal."""
    from armrise.store.record.visible import visible

    if fault:
        complain(f"armrise: {fault}.")
    return at_the_terminal(f"Passphrase of {visible(str(path))}: ")


def ask_twice(path: Path) -> str:
    """A passphrase that is to be set, typed twice. Raises a store error for one that is not taken."""
    from armrise.store.database.driver import StoreError
    from armrise.store.database.encrypted.keys import passphrase_fault
    from armrise.store.record.visible import visible

    typed = at_the_terminal(f"New passphrase of {visible(str(path))}: ")
    if fault := passphrase_fault(typed, typed):
        raise StoreError(fault.rstrip("."))
    if fault := passphrase_fault(typed, at_the_terminal("The same once more: ")):
        raise StoreError(fault.rstrip("."))
    return typed


def at_the_terminal(prompt: str) -> str:
    """What was typed after the prompt, not shown. Raises a store error where there is no terminal."""
    from armrise.store.database.driver import StoreError

    if not has_terminal():
        raise StoreError(NO_TERMINAL)
    try:
        return getpass.getpass(prompt)
    except EOFError:
        raise StoreError(NO_TERMINAL) from None


def has_terminal() -> bool:
    """True where somebody can be asked: a pipe before or after the command does not matter."""
    if os.name != "posix":
        return sys.stdin.isatty()
    try:
        os.close(os.open("/dev/tty", os.O_RDWR | os.O_NOCTTY))
    except OSError:
        return False
    return True
