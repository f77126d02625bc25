"""Entries that name a matter, and whether they came after what they answer."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Hashable, Iterable

from armrise.store.clinic.case.view import View
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.safety import Event, Onset
from armrise.store.rules.pathway import CLOCKS

SURGEON_TOLD = ("visits", "contacts", "referrals")
"""The kinds that can say that the surgeon was told."""


def entries_about(view: View, matter: str) -> list[Entry]:
    """Referrals and decisions about ``matter``, and visits with a decision that answers it."""
    found: list[Entry] = [e for n in ("referrals", "decisions") for e in view.upto(n) if e.about == matter]
    found += [v for v in view.upto("visits") if v.decision and v.answers == matter]
    return found


def covers(view: View, answer: Entry, evidence: Iterable[Entry]) -> bool:
    """Whether ``answer`` is dated on or after all of ``evidence``, and could know of it.

    What is written in one go is known to all of it: the visit that decides stands before the values it saw.
    """
    sees = view.record.could_see
    return all(
        answer.on >= e.on and answer.recorded_at >= e.recorded_at and sees(answer.id, e.id) for e in evidence
    )


def tissue_onsets(view: View) -> list[Onset | Event]:
    """Surgery, fractures and dislocations on record.

    Where no pathway counts its days from one, a dislocation told as an event is an onset too (ruling 94).
    """
    found: list[Onset | Event] = [o for o in view.upto("onsets") if o.what in CLOCKS]
    if view.pathway and view.pathway.clock is None:
        found += [e for e in view.upto("events") if e.event == "dislocation"]
    return found


def known(view: View, *names: str) -> Hashable:
    """Two days of a history on which these fields hold as many entries have the same ones."""
    return tuple(bisect_right(view.history.ordered(name)[1], view.today) for name in names)
