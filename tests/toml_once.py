"""Rule files parsed once a process, where the program parses all of them whenever rules are read.

Parsing is a function of the text. What is handed out is a copy of what was parsed, made anew each time, so
that whoever changes it changes nobody else's; a text that is not valid is refused each time by the parser.
"""

from __future__ import annotations

import pickle
import tomllib
from collections.abc import Callable
from functools import lru_cache
from typing import Any

parse = tomllib.loads
MOST = 256
"""Texts kept: all rule files, and those a test changes a number in."""


@lru_cache(MOST)
def _parsed(text: str, parse_float: Callable[[str], Any]) -> bytes:
    return pickle.dumps(parse(text, parse_float=parse_float), pickle.HIGHEST_PROTOCOL)


def loads(text: str, /, *, parse_float: Callable[[str], Any] = float) -> dict[str, Any]:
    """As :func:`tomllib.loads`."""
    return pickle.loads(_parsed(text, parse_float))


def read_toml_once() -> None:
    """Let every TOML of this process be read so."""
    tomllib.loads = loads  # type: ignore[assignment]
