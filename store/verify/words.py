"""A verification in words and as plain data; the head of the chain as it is printed on paper."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import asdict
from datetime import datetime
from typing import Any

from armrise.store.database.chain import BEGUN, Link, head_words
from armrise.store.record.clock import on_the_clock
from armrise.store.record.light import NamedTuple
from armrise.store.record.words import full_date, time_words
from armrise.store.verify.result import Verified

SOUND, UNSOUND = "STORE SOUND", "STORE NOT SOUND"
WIDTH = 80
NOT_THERE = (
    "Is it typed as printed, and of this store? Then the store was made anew, or restored from a backup "
    "older than the paper."
)
WHAT_NEXT = "Next: leave armrise, keep this file aside as it is, and restore a backup that verifies."


class Line(NamedTuple):
    """A line before it is wrapped."""

    text: str = ""
    indent: int = 0
    head: bool = False


def _moment(at: datetime, v: Verified) -> str:
    local = on_the_clock(at, v.zone)
    return f"{full_date(local.date())} {time_words(local)}"


def lines_of(v: Verified) -> Iterator[Line]:
    """Everything that a verification found."""
    yield Line(SOUND if v.sound else UNSOUND, head=True)
    yield Line(f"{v.name}, verified {_moment(v.at, v)}")
    yield Line(f"{v.cases:,} cases, {v.entries:,} entries, {v.actions:,} actions in the chain")
    if v.begun and v.begun.about == BEGUN:
        yield Line(f"Chain begun {_moment(v.begun.at, v)} over what was there")
    if v.head:
        yield Line(f"Head of the chain: {head_words(v.head, on_the_clock(v.head.at, v.zone))}")
    if v.expected:
        yield Line(_expected(v))
    if not v.sound:
        yield from _list("WRONG", v.faults)
        yield Line()
        yield Line(WHAT_NEXT)
    if v.right:
        yield from _list("CHECKED, AND RIGHT", v.right)
    yield from _list("NOT CHECKED", v.not_checked)


def _expected(v: Verified) -> str:
    asked = " ".join(v.expected[start : start + 4] for start in range(0, len(v.expected), 4))
    if v.occurs is None or v.head is None:
        return f"The head {asked} does not occur in this chain. {NOT_THERE}"
    later = v.head.number - v.occurs.number
    since = f"actions written since: {later:,}"
    return f"The head {asked} occurs: action {v.occurs.number}, {_moment(v.occurs.at, v)}; {since}"


def _list(title: str, told: tuple[str, ...]) -> Iterator[Line]:
    yield Line()
    yield Line(title, head=True)
    for words in told:
        yield Line(words, 2)


def as_text(v: Verified) -> str:
    """For a terminal or a pipe."""
    found: list[str] = []
    for line in lines_of(v):
        indent = " " * line.indent
        found += textwrap.wrap(line.text, WIDTH, initial_indent=indent, subsequent_indent=indent + "  ") or [
            ""
        ]
    return "\n".join(found) + "\n"


def as_json(v: Verified) -> dict[str, Any]:
    """As plain data; instants with the offset of the clinic's clock."""

    def link(of: Link | None) -> dict[str, Any] | None:
        return of and {
            "action": of.number,
            "at": on_the_clock(of.at, v.zone).isoformat(timespec="seconds"),
            "head": of.short,
            "hash": of.hash,
        }

    first = v.first_broken
    return {
        "store": v.name,
        "verified": v.at.isoformat(timespec="seconds"),
        "sound": v.sound,
        "cases": v.cases,
        "entries": v.entries,
        "actions": v.actions,
        "begun_over_what_was_there": bool(v.begun and v.begun.about == BEGUN),
        "begun": link(v.begun),
        "head": link(v.head),
        "expected": v.expected or None,
        "occurs": link(v.occurs),
        "first_that_does_not_follow": first
        and {**asdict(first), "at": first.at.isoformat(timespec="seconds")},
        "wrong": list(v.faults),
        "right": list(v.right),
        "not_checked": list(v.not_checked),
    }
