"""Reading JSON that somebody typed: UTF-8, finite decimals, and every repeated key noticed."""

from __future__ import annotations

import json
from collections import Counter
from decimal import Decimal
from pathlib import Path
from typing import Any, NoReturn

from armrise.store.entries.words import shown

LONGEST_WHOLE = 1000
"""Digits up to which a whole number is read as one; no field holds a longer one."""

LARGEST = 64 * 2**20
"""More bytes than this are no caseload: a clinic's year of daily entries is a tenth of it."""

TWICE = "\0twice"
"""Where a decoded object keeps the keys it repeats, until the reader names the case and entry."""


class NotJsonError(ValueError):
    """The file cannot be decoded; the message is one sentence without the file's name."""


def read_json(path: Path) -> Any:
    """The decoded content of ``path`` with decimals as :class:`Decimal`. Raises :class:`NotJsonError`."""
    try:
        if path.exists() and not (path.is_file() or path.is_dir()):
            raise NotJsonError(f"{shown(str(path))} is no ordinary file, check the path")
        if path.is_file() and path.stat().st_size > LARGEST:
            raise NotJsonError(f"{shown(str(path))} is larger than {LARGEST // 2**20} MB, split it")
        raw = path.read_bytes()
    except OSError as error:
        raise NotJsonError(f"{shown(str(path))} cannot be read ({error.strerror}), check the path") from None
    return decoded(raw)


def decoded(raw: bytes) -> Any:
    """The same of a content that is at hand."""
    if len(raw) > LARGEST:
        raise NotJsonError(f"it is larger than {LARGEST // 2**20} MB, split it")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise NotJsonError(f"byte {error.start} is not UTF-8, save the file as UTF-8") from None
    try:
        return json.loads(
            text,
            parse_float=Decimal,
            parse_int=_whole,
            parse_constant=_no_constant,
            object_pairs_hook=_pairs,
        )
    except json.JSONDecodeError as error:
        raise NotJsonError(f"line {error.lineno} column {error.colno} is not JSON ({error.msg})") from None
    except RecursionError:
        raise NotJsonError("lists or objects are nested too deeply") from None


def _whole(digits: str) -> int | Decimal:
    # The interpreter refuses to make an int of thousands of digits; as a decimal its field can refuse it.
    return int(digits) if len(digits) <= LONGEST_WHOLE else Decimal(digits)


def _no_constant(word: str) -> NoReturn:
    raise NotJsonError(f"{word} is no number, allowed are finite numbers")


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        counts = Counter(key for key, _ in pairs)
        found[TWICE] = [key for key, number in counts.items() if number > 1]
    return found
