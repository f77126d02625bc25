"""Which form each output has, and its version: a program that reads one finds both in it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

FORMAT = "format"
"""The field that says so: the first of every output."""
VERSIONS: Mapping[str, int] = {
    "list": 1,
    "case": 1,
    "why": 1,
    "due": 1,
    "minutes": 1,
    "handover": 1,
    "views": 1,
    "audit": 1,
    "keys": 1,
    "rules": 1,
    "trial": 1,
    "verify": 1,
    "csv": 1,
    "person": 1,
    "calendar": 1,
}
"""Raised when what is there already changes its name, place or meaning; not for a field that is added.

The caseload file has its own, as it is read back (:mod:`armrise.store.exchange.into.caseload_parser`).
"""


def format_of(name: str) -> str:
    """Form and version of an output, such as "armrise list 1"."""
    return f"armrise {name} {VERSIONS[name]}"


def stamped(name: str, fields: Mapping[str, Any]) -> dict[str, Any]:
    """An output with its form and version before its fields."""
    return {FORMAT: format_of(name), **fields}
