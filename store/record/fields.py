"""What one field of an entry may hold, said once for every reader and writer.

The record types in ``kinds`` carry one of these beside each field. The caseload file, the ledger and the
entry forms all check against them, so that "what is allowed" is the same sentence everywhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field, fields
from decimal import Decimal
from enum import StrEnum
from typing import Any

from armrise.store.record.light import NamedTuple


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


class ClockTime(NamedTuple):
    """A time of day on the clinic's clock, as text from "00:00" to "23:59"."""


class Flag(NamedTuple):
    """Yes or no, never unknown."""


class Children(NamedTuple):
    """A list of parts of another record type, by the name of its class."""

    of: type


class Series(NamedTuple):
    """At most ``most`` numbers from ``low`` to ``high`` in their order; ``blanks`` allows None among them."""

    low: int
    high: int
    places: int
    most: int
    unit: str = ""
    blanks: bool = False


Rule = Whole | Number | Choice | Words | Day | ClockTime | Flag | Children | Series

BLANK = "."
"""How a series writes a place that holds no number."""


def series_text(values: Sequence[Decimal | None]) -> str:
    """A series on one line: "1 1.5 2", or with blanks "3 . 2"."""
    return " ".join(BLANK if value is None else f"{value:f}" for value in values)


def series_of(text: str) -> tuple[Decimal | None, ...]:
    """The series that :func:`series_text` wrote."""
    return tuple(None if word == BLANK else Decimal(word) for word in text.split())


def must(rule: Rule) -> Any:
    """A field that every entry of the kind states."""
    return field(metadata={"rule": rule})


def may(rule: Rule, default: Any = None) -> Any:
    """A field that may be left out; ``default`` is then what the record holds."""
    return field(default=default, metadata={"rule": rule})


def rule_of(kind: type, name: str) -> Any:
    """The rule of one field of a record type: a rule is said there and asked for everywhere else."""
    return next(one.metadata["rule"] for one in fields(kind) if one.name == name)
