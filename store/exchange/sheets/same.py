"""When two entries say the same, and when they cannot both stand: by what they say, never by a number.

An entry of a sheet has no instant of its own, so that of recording and the author count for nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from operator import attrgetter
from typing import Any

from armrise.store.record.fields import Absence
from armrise.store.record.kinds.care import Appointment, Visit
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import Measure, Score
from armrise.store.record.kinds.pain import Morning, Session
from armrise.store.record.kinds.paperwork import PatientDetails
from armrise.store.record.kinds.plan import Step
from armrise.store.record.kinds.safety import Onset
from armrise.store.record.light import NamedTuple


class Alike(NamedTuple):
    """Of a kind: what says where an entry stands (one of a place), and what it says there."""

    place: tuple[str, ...]
    says: tuple[str, ...]


OF_KIND: Mapping[type[Entry], Alike] = {
    Measure: Alike(("on", "name", "side", "unit"), ("value",)),
    Score: Alike(("on", "instrument", "formula"), ("total",)),
    Session: Alike(("on", "ordinal"), ("during", "later", "morning", "times")),
    Morning: Alike(("on",), ("pain",)),
    Visit: Alike(("on",), ("interval",)),
    Onset: Alike(("what",), ("on", "operation")),
    Appointment: Alike(("booked_for",), ("at",)),
    Step: Alike((), ("stage", "on")),
    PatientDetails: Alike(("age_band", "dominance", "referrer"), ()),
}
"""The kinds that a sheet can tell. What a session was done with, and how much of it, follows from the
programme, and is no part of what a diary says."""


def _together(names: tuple[str, ...]) -> Callable[[Entry], tuple[Any, ...]]:
    """What gives the values of these fields: every row of a list is asked for them."""
    if len(names) > 1:
        return attrgetter(*names)
    return lambda entry: tuple(getattr(entry, name) for name in names)


_PLACE = {kind: _together(alike.place) for kind, alike in OF_KIND.items()}
_SAYS = {kind: _together(alike.says) for kind, alike in OF_KIND.items()}


def place_of(entry: Entry) -> Hashable:
    """Where an entry stands: two in one place say the same, or contradict each other."""
    kind = type(entry)
    return kind, _PLACE[kind](entry)


def says(entry: Entry) -> tuple[Any, ...]:
    """What it says there."""
    return _SAYS[type(entry)](entry)


def says_no_more(new: Entry, old: Entry) -> bool:
    """Whether everything told by ``new`` is told by ``old``; what is not told contradicts nothing."""
    return all(
        one == other or one is None or one is Absence.NOT_ASKED
        for one, other in zip(says(new), says(old), strict=True)
    )
