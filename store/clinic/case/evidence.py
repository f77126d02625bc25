"""One reason found in several places: what is printed is one finding, what it rests on is all of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, ClassVar, Protocol, TypeVar


class Rested(Protocol):
    """A reading that names the entries it rests on."""

    __dataclass_fields__: ClassVar[dict[str, Any]]

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
    return replace(found[0], evidence=tuple(ids))
