"""What a file of a store says of each entry beside what happened: its place among all, and its action."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

from armrise.store.entries.values import RefusalError, day, number_of
from armrise.store.entries.words import Fault
from armrise.store.record.fields import Whole
from armrise.store.record.light import NamedTuple

PLACE = Whole(1, 2**53)
"""The numbers of entries: what every reader of JSON takes for a whole number."""

OF_A_STORE = ("number", "written_with", "recorded_on")
"""Fields beside those of the kind that only a file of the second version holds."""


class Written(NamedTuple):
    """Where an entry stands in the order of writing (0: not said), the first entry of its action (0: it came
    in a file), and the clinic date of its recording (None: that of the instant).
    """

    number: int = 0
    action: int = 0
    recorded_on: date | None = None


def written(raw: dict[str, Any], base: date) -> tuple[Written, list[tuple[str, str]]]:
    """What an entry says of its writing, taken out of ``raw``; and each refused field with its message."""
    faults: list[tuple[str, str]] = []
    found: dict[str, Any] = {}
    for name in OF_A_STORE:
        value = raw.pop(name, None)
        try:
            if value is not None:
                found[name] = day(value, base) if name == "recorded_on" else number_of(PLACE, value)
        except RefusalError as refusal:
            faults.append((name, str(refusal)))
    number, action = found.get("number", 0), found.get("written_with", 0)
    if action and not number and not faults:
        faults.append(("number", "is missing beside written_with"))
    elif action > number and not faults:
        faults.append(("written_with", f"{action} is above the entry's own number {number}"))
    return Written(number, action, found.get("recorded_on")), faults


def out_of_order(cases: Sequence[tuple[str, Sequence[tuple[str, Written]]]]) -> Iterator[Fault]:
    """The faults of the numbers of all entries together; ``cases`` gives each code with its named entries.

    Either every entry of the file is numbered or none is; a number stands once, and rises inside a case.
    """
    if not any(entry.number for _, entries in cases for _, entry in entries):
        return
    names: dict[int, str] = {}
    for code, entries in cases:
        before = 0
        for name, (number, *_) in entries:
            if not number:
                yield Fault(
                    code, name, "number", "is missing, where one entry has a number each needs its own"
                )
            elif number in names:
                yield Fault(code, name, "number", f"{number} is that of {names[number]} too")
            elif number < before:
                yield Fault(code, name, "number", f"{number} is below the one before it, {before}")
            names.setdefault(number, f"case {code}, {name}")
            before = max(before, number)
