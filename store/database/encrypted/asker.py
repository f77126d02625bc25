"""Who is asked for a passphrase that is not at hand: set by whoever runs, for the whole run."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

Ask = Callable[[Path, str], str]
"""Gives the passphrase that was typed for a file; told what was wrong with the one before, if one was."""

_askers: list[Ask] = []


def ask_by(ask: Ask | None) -> None:
    """Have passphrases asked for by ``ask`` from now on; None: by nobody."""
    _askers[:] = [ask] if ask else []


def asker() -> Ask | None:
    """Whoever asks; None where a passphrase cannot be asked for here and now."""
    return _askers[0] if _askers else None
