"""What is asked of a view more than once, worked out once."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import TypeVar

from armrise.store.clinic.case.view import View

T = TypeVar("T")


def once_a_view(work_out: Callable[[View], T]) -> Callable[[View], T]:
    """The function, kept by each view it was asked of: a reading that several rules share.

    What it returns is shared too: read it, never change it.
    """

    @wraps(work_out)
    def kept(view: View) -> T:
        memo = view.kept
        if kept in memo:
            return memo[kept]
        found = memo[kept] = work_out(view)
        return found

    return kept


def known_already(view: View, reading: Callable[[View], T], found: T) -> None:
    """Let a view keep what a reading of :func:`once_a_view` would say of it: it is not worked out then."""
    view.kept.setdefault(reading, found)
