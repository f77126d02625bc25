"""What to do about a case, in words: with the keys of a screen, or without for listings and paper.

Pure functions of plain values, like :mod:`armrise.store.clinic.standing.words`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from armrise.store.clinic.standing.words import TIER_WORDS
from armrise.store.record.light import NamedTuple
from armrise.store.record.words import near_date

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Reason, Standing
    from armrise.store.rules.do import Do, Step

NO_KEYS: Mapping[str, str] = {}
TODAY, HARM = list(TIER_WORDS)[:2]


class Doing(NamedTuple):
    """What to do about a case on its clinic date."""

    lead: str
    """When, or what stands already: "at 09:20 today", "in hand until Mon 9 Mar"; empty is now."""
    steps: tuple[Step, ...] = ()
    no_answer: Step | None = None
    note: str = ""
    """Where it cannot wait for the visit of today: when the patient comes in."""
    beside: tuple[str, Doing] | None = None
    """Beside a reason in hand: the name of the first unanswered one, and what to do about that."""

    def words(self, keys: Mapping[str, str] = NO_KEYS) -> str:
        """On one line; ``keys`` gives the key of an action, which stands behind it in brackets, once."""
        shown = set[str]()

        def keyed(step: Step) -> str:
            key = "" if step.act in shown else keys.get(step.act, "")
            shown.add(step.act)
            return f"{step.say} ({key})" if key else step.say

        told = ", then ".join(keyed(step) for step in self.steps)
        told = ", ".join(part for part in (self.lead, told) if part)
        also = [f"no answer: {keyed(self.no_answer)}"] if self.no_answer else []
        also += [self.note] if self.note else []
        also += [f"{self.beside[0]}: {self.beside[1].words(keys)}"] if self.beside else []
        return "; ".join([told, *also])


def doing(standing: Standing) -> Doing | None:
    """What to do about the reason that places the case; None where nothing is asked of it."""
    reason = standing.placing or next(iter(standing.reasons), None)
    if reason is None or reason.do is None:
        return None
    if reason.in_hand_until is not None:
        return _in_hand(reason, reason.do, standing)
    return _open(reason, reason.do, standing)


def do_words(standing: Standing, keys: Mapping[str, str] = NO_KEYS) -> str:
    """The same on one line: "phone today, then lower the load; no answer: in hand until tomorrow"."""
    found = doing(standing)
    return found.words(keys) if found else ""


def _in_hand(reason: Reason, do: Do, standing: Standing) -> Doing:
    """Until when; a reason of today leaves by its last step alone, which stays to be done."""
    assert reason.in_hand_until is not None
    lead = f"in hand until {near_date(reason.in_hand_until, standing.as_of)}"
    other = next((r for r in standing.reasons if not r.in_hand and r.do is not None), None)
    beside = (other.name, _open(other, other.do, standing)) if other and other.do else None
    return Doing(lead, do.steps[-1:] if reason.tier == TODAY else (), beside=beside)


def _open(reason: Reason, do: Do, standing: Standing) -> Doing:
    """A patient who comes in today is seen then, save where that cannot wait (practice notes 1.1)."""
    review = standing.review
    if review.booked != standing.as_of:
        return Doing("", do.steps, do.no_answer)
    if do.at_visit is not None:
        return Doing(
            f"at {review.booked_at} today" if review.booked_at else "at today's visit", (do.at_visit,)
        )
    urgent = reason.tier in (TODAY, HARM)
    comes = f"coming in today{f' at {review.booked_at}' if review.booked_at else ''}"
    return Doing("", do.steps, do.no_answer, comes if urgent else "")
