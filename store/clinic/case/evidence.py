"""One reason found in several places: what is printed is one finding, what it rests on is all of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Protocol, Self, TypeVar


class Rested(Protocol):
    """A reading, a tuple with names, that names the entries it rests on."""

    def _replace(self, **changed: Any) -> Self: ...

    @property
    def evidence(self) -> tuple[int, ...]:
        """Their ids."""
        ...


R = TypeVar("R", bound=Rested)


def together(found: Sequence[R]) -> R | None:
    """The first of ``found``, worst first, with the evidence of all; None of none.

    An answer in hand covers what was known when it was given: nothing may hide behind what is printed.
    """
    if not found:
        return None
    ids = dict.fromkeys(entry for one in found for entry in one.evidence)
    return found[0]._replace(evidence=tuple(ids))  # pyright: ignore[reportPrivateUsage]
