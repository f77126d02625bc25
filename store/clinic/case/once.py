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
        if work_out not in memo:
            memo[work_out] = work_out(view)
        return memo[work_out]

    return kept
