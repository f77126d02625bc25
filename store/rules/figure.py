"""A number of the rule files with where it comes from and how far it may be trusted."""

from __future__ import annotations

from decimal import Decimal

from armrise.store.record.light import dataclass

MEMORY = "from memory"
STATUSES = ("published", "common practice", MEMORY, "design")


def mark(status: str) -> str:
    """What stands behind a number wherever it decides something: " (from memory)", else nothing."""
    return f" ({MEMORY})" if status == MEMORY else ""


@dataclass(frozen=True, slots=True)
class Figure:
    """A number with where it comes from. ``status`` is one of :data:`STATUSES`."""

    value: Decimal
    source: str
    status: str

    @property
    def mark(self) -> str:
        """ " (from memory)" for a number from memory, else nothing."""
        return mark(self.status)

    @property
    def whole(self) -> int:
        """The value as a whole number (days, points, degrees)."""
        return int(self.value)
