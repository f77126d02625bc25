"""What one field of an entry may hold, said once for every reader and writer.

The record types in :mod:`store.clinic.record` carry one of these beside each field. The caseload file, the
ledger and the entry forms all check against them, so that "what is allowed" is the same sentence everywhere.
"""

from __future__ import annotations

from dataclasses import field
from enum import StrEnum
from typing import Any, NamedTuple


class Absence(StrEnum):
    """Why a value is not there. Four different facts, none of them zero and none of them "no"."""

    NOT_MEASURED = "not measured"
    NOT_ASKED = "not asked"
    DECLINED = "declined"
    PROHIBITED = "prohibited"


class Whole(NamedTuple):
    """A whole number from ``low`` to ``high`` in ``unit``; ``absent`` allows an :class:`Absence` instead."""

    low: int
    high: int
    unit: str = ""
    absent: bool = False


class Number(NamedTuple):
    """A decimal number from ``low`` to ``high`` with at most ``places`` decimals."""

    low: int
    high: int
    places: int
    unit: str = ""
    absent: bool = False


class Choice(NamedTuple):
    """One of a closed list of words."""

    words: tuple[str, ...]


class Words(NamedTuple):
    """Free text of ``shortest`` to ``longest`` characters on one line."""

    longest: int = 200
    shortest: int = 1


class Day(NamedTuple):
    """A calendar date; ``future`` allows dates after the clinic date (bookings, ends of holds)."""

    future: bool = False


class Flag(NamedTuple):
    """Yes or no, never unknown."""


class Children(NamedTuple):
    """A list of parts of another record type, by the name of its class."""

    of: type


Rule = Whole | Number | Choice | Words | Day | Flag | Children


def must(rule: Rule) -> Any:
    """A field that every entry of the kind states."""
    return field(metadata={"rule": rule})


def may(rule: Rule, default: Any = None) -> Any:
    """A field that may be left out; ``default`` is then what the record holds."""
    return field(default=default, metadata={"rule": rule})
