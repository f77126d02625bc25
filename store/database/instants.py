"""How an instant lies in the database, microseconds since 1970 UTC, and what was known at one.

Known is what was recorded by then and had not come in a file since.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
MICROSECOND = timedelta(microseconds=1)
FOREVER = 2**63 - 1
"""After every instant: everything is known by then."""


FILES = "link f JOIN link before ON before.number = f.number - 1 WHERE f.about = 'file'"
"""Every file that came, ``f``, and the link before it; found by an index of the links."""


def micros(instant: datetime) -> int:
    """Microseconds since 1970 UTC of an aware instant, exactly."""
    return (instant - EPOCH) // MICROSECOND


def came(names: str, what: str) -> str:
    """Tables and condition for ids in the column ``names`` that came in a file; ``f`` is the link over it.

    ``what`` is "entries" or "cases".
    """
    return f"{FILES} AND {names} > before.{what} AND {names} <= f.{what}"


def came_after(names: str, what: str, known: str) -> str:
    """The condition for what came in a file after the instant ``known``, save what filled the empty store."""
    return f"EXISTS (SELECT 1 FROM {came(names, what)} AND before.cases > 0 AND f.at_utc > {known})"


def known_by(names: str, known: int, instant: str = "?") -> str:
    """The condition for an entry known at ``known``: recorded by then, and not come in a file since."""
    recorded = f"{names}.recorded_at_utc <= {instant}"
    return (
        recorded
        if known == FOREVER
        else f"{recorded} AND NOT {came_after(f'{names}.id', 'entries', str(known))}"
    )
