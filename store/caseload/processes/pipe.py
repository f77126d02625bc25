"""What passes between a process and its helpers: one object after another over a pipe, each whole."""

from __future__ import annotations

import os
import pickle
from typing import Any

_LENGTH = 8
"""Bytes before each object that say how long it is."""
_AT_ONCE = 1 << 20


def send(pipe: int, what: object) -> None:
    """Write an object to a pipe. Raises OSError where nobody reads it any more."""
    body = pickle.dumps(what, pickle.HIGHEST_PROTOCOL)
    left = memoryview(len(body).to_bytes(_LENGTH, "big") + body)
    while left:
        left = left[os.write(pipe, left) :]


def receive(pipe: int) -> Any:
    """The next object from a pipe. Raises EOFError where nobody writes to it any more, and OSError."""
    return pickle.loads(_read(pipe, int.from_bytes(_read(pipe, _LENGTH), "big")))


def _read(pipe: int, count: int) -> bytes:
    parts: list[bytes] = []
    while count:
        part = os.read(pipe, min(count, _AT_ONCE))
        if not part:
            raise EOFError
        parts.append(part)
        count -= len(part)
    return b"".join(parts)
