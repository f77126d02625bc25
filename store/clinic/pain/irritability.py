"""Irritability: a level proposed from four rows, each high, moderate, low or unknown.

The level is the one on which at least two rows agree. If none agree, the highest of them, marked mixed. A row
nobody asked about does not vote, and one row alone proposes nothing. The clinician confirms the level.
"""

from __future__ import annotations

from armrise.store.record.kinds.pain import IRRITABILITIES
from armrise.store.record.light import dataclass
from armrise.store.rules.pathway import Rules

HIGH, MODERATE, LOW = IRRITABILITIES
REST_AND_NIGHT = {"constant": HIGH, "intermittent": MODERATE, "none": LOW}
"""How often there is pain at rest or at night."""

END_RANGE = {"before end of range": HIGH, "at end of range": MODERATE, "only with overpressure": LOW}
"""Where in the movement the pain comes."""

SETTLING = {"more than 24 hours": HIGH, "1 to 24 hours": MODERATE, "less than 1 hour": LOW}
"""How long provoked pain takes to settle."""

LEAST_ROWS = 2


@dataclass(frozen=True, slots=True)
class Rows:
    """The four rows, each one of the levels; None is unknown."""

    intensity: str | None = None
    rest_and_night: str | None = None
    end_range: str | None = None
    settling: str | None = None

    @property
    def known(self) -> tuple[str, ...]:
        """The rows that vote."""
        rows = (self.intensity, self.rest_and_night, self.end_range, self.settling)
        return tuple(row for row in rows if row)


@dataclass(frozen=True, slots=True)
class Proposal:
    """The level proposed, None while fewer than two rows are known; ``mixed`` when the rows are divided."""

    level: str | None
    mixed: bool = False


def intensity(worst: int | None, rules: Rules) -> str | None:
    """The level of the worst pain (0-10) of the last 24 hours; None when it was not asked."""
    if worst is None:
        return None
    if worst >= rules["irritability.high_from"]:
        return HIGH
    return MODERATE if worst >= rules["irritability.moderate_from"] else LOW


def cut_mark(rows: Rows, rules: Rules) -> str:
    """ " (from memory)" where the worst pain was sorted by cut-offs of which one is from memory."""
    cuts = (rules.figures["irritability.high_from"], rules.figures["irritability.moderate_from"])
    return next((cut.mark for cut in cuts if cut.mark), "") if rows.intensity else ""


def propose(rows: Rows) -> Proposal:
    """The level the rows propose. Two against two is decided for the more irritable level, marked mixed."""
    known = rows.known
    if len(known) < LEAST_ROWS:
        return Proposal(None)
    agreed = [level for level in IRRITABILITIES if known.count(level) >= LEAST_ROWS]
    if agreed:
        return Proposal(agreed[0], mixed=len(agreed) > 1)
    return Proposal(next(level for level in IRRITABILITIES if level in known), mixed=True)
