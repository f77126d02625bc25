"""A lift that was measured, and that a later look denies (rulings 65 and 66)."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import TypeVar

from armrise.store.clinic.case.naming import covers, entries_about
from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.motion.lift import CUFF, LOOK
from armrise.store.clinic.motion.motion import degrees, values
from armrise.store.clinic.motion.powers import FLEXION
from armrise.store.record.kinds.head import MEASURED, Entry
from armrise.store.record.kinds.measured import Finding, Measure
from armrise.store.record.light import NamedTuple
from armrise.store.record.words import words_date

E = TypeVar("E", bound=Entry)


class LiftDenied(NamedTuple):
    """A lift that was measured, and that a later look denies: how severe, and which entries say so."""

    severity: int
    least: int
    """The degrees that were not lifted."""
    lift: Measure
    look: Finding

    about = (CUFF,)
    """What an entry names that answers it."""
    referral_only = False
    answered_by = f'another look, or a decision or referral about "{CUFF}"'
    """What ends it, in words."""

    @property
    def sentence(self) -> str:
        """Both, in words."""
        measured = f"{degrees(self.lift)} were measured on {words_date(self.lift.on)}"
        return f"cannot lift to {self.least} degrees, though {measured}: look again"

    @property
    def observed(self) -> str:
        """What the verdict says was seen."""
        look = f"{self.look.answer} on {words_date(self.look.on)}"
        return f"{look}, active flexion {degrees(self.lift)} before"

    @property
    def since(self) -> date:
        """The day of the look."""
        return self.look.on

    @property
    def evidence(self) -> tuple[int, ...]:
        """The value and the look."""
        return (self.lift.id, self.look.id)


@once_a_view
def lift_denied(view: View) -> LiftDenied | None:
    """A lift that a later look denies; None where value and look agree.

    Losing lift (ruling 65, b) reads the look in some stages from a later one only. A stage is not opened on
    the value there: not to believe it is the safer reading. Anybody's "no" denies it; a clinician's "yes" or
    later value, or an entry about the cuff, ends it.
    """
    look = newest([f for f in _told(view, view.upto("findings")) if f.name == LOOK and _counts(f)])
    if view.span is None or view.closed or look is None or look.answer == "yes":
        return None
    lifts = _told(view, values(view, FLEXION))
    before = [m for m in lifts if m.on <= look.on]
    ended = any(m.on > look.on and m.source == MEASURED for m in lifts)
    ended = ended or any(covers(view, entry, [look]) for entry in entries_about(view, CUFF))
    least = view.rules["function.lift_least"]
    if ended or not before or degrees(before[-1]) < least:
        return None
    return LiftDenied(view.rules["function.look_severity"], least, before[-1], look)


def _counts(look: Finding) -> bool:
    return look.answer == "no" or (look.answer == "yes" and look.source == MEASURED)


def _told(view: View, entries: Iterable[E]) -> list[E]:
    """Those of this episode and since its newest surgery: what was lifted before says nothing of it."""
    operated = [onset.on for onset in view.upto("onsets") if onset.what == "surgery"]
    first = max([*operated, view.episode_start or date.min])
    return [entry for entry in entries if entry.on >= first]
