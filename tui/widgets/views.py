"""The views of the list: which cases each shows, in what order. A clinic's own are named searches. Pure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from armrise.store.record.light import NamedTuple
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing


def _every(standing: Standing, marked: bool) -> bool:
    return True


class View(NamedTuple):
    """A part of the list under a name."""

    name: str
    takes: Callable[[Standing, bool], bool] = _every
    """Whether a case belongs here; also told whether it is marked."""
    text: str = ""
    """What its cases are searched by, in a view of a clinic's own."""
    by_time: bool = False
    """In the order in which the patients come in, under one heading; else in that of the list."""


def _coming_in(standing: Standing, marked: bool) -> bool:
    return words.comes_in_today(standing)


def _none_booked(standing: Standing, marked: bool) -> bool:
    return words.booked(standing) == words.NONE_BOOKED


def _ready(standing: Standing, marked: bool) -> bool:
    return words.verdict_short(standing) == "READY"


def _marked(standing: Standing, marked: bool) -> bool:
    return marked


ALL = View("all")
SHIPPED = (
    ALL,
    View("coming in today", _coming_in, by_time=True),
    View("none booked", _none_booked),
    View("ready", _ready),
    View("my marks", _marked),
)
"""The views of every clinic, the first on the key 1."""


def numbered(own: Sequence[tuple[str, str]]) -> dict[str, View]:
    """Every view by its key; ``own`` are a clinic's, each a name and what to search for."""
    every = (*SHIPPED, *(View(name, text=text) for name, text in own))
    return {str(number): view for number, view in enumerate(every, 1)}


def by_time(standing: Standing) -> tuple[bool, str]:
    """Where a case stands among those coming in: by the hour of its slot, without one last."""
    at = standing.review.booked_at
    return at is None, at or ""
