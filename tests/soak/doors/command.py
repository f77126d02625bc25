"""One command, run in this process as from a shell, and what is wrong with how it ended."""

from __future__ import annotations

import contextlib
import os
import random
from collections.abc import Mapping
from io import StringIO
from pathlib import Path
from unittest.mock import patch

from armrise.tui.command.main import run
from tests.soak.batches import Faults, Result
from tests.soak.hostile import os_text, raw, text

CODES = (0, 1, 2)
STOPPED = 130
"""How a command ends that has something to ask and nobody to ask it."""


def given(arguments: list[str], environ: Mapping[str, str] | None = None) -> Result:
    """Give the command; nothing raw may come out, no traceback, no fault that nobody foresaw."""
    out, err = StringIO(), StringIO()
    words = [os_text(word) for word in arguments]
    set_now = {name: os_text(value) for name, value in (environ or {}).items()}
    with (
        patch.dict(os.environ, set_now),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        code = run(words)
    return Result(_faults(code, out.getvalue(), err.getvalue()))


def _faults(code: int, out: str, err: str) -> Faults:
    faults: Faults = {}
    asks = code == STOPPED and "Stopped." in err
    if (code not in CODES and not asks) or "Traceback" in err or "foresaw" in err:
        faults["traceback"] = f"left with {code}: {err[-300:]}"
    if found := [*raw(out), *raw(err)]:
        faults["a raw sign"] = ", ".join(found[:5])
    return faults


def in_words(words: list[str]) -> str:
    """A command as it is told of."""
    return " ".join(map(ascii, words))


def named_file(draw: random.Random, folder: Path, content: bytes) -> Path:
    """A file of a hostile name."""
    name = os_text(text(draw, longest=12)).replace("/", "_").strip(".") or "x"
    path = folder / name.encode(errors="surrogateescape")[:60].decode(errors="surrogateescape")
    with contextlib.suppress(IsADirectoryError):
        path.write_bytes(content)
    return path


def own_folders(room: Path) -> dict[str, str]:
    """The variables under which nothing outside of ``room`` is read or written."""
    names = ("DATA", "CONFIG", "STATE", "CACHE")
    return {"HOME": str(room), **{f"XDG_{name}_HOME": str(room / name.lower()) for name in names}}
