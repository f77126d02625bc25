"""A flare as told, cause (f) of a flare that is not settling (rulings 73 and 94)."""

from __future__ import annotations

from datetime import timedelta

from armrise.store.clinic.case.naming import covers, entries_about
from armrise.store.clinic.case.view import View
from armrise.store.clinic.pain.classes import FLARE
from armrise.store.clinic.pain.eased import eased
from armrise.store.clinic.pain.periods import is_flare
from armrise.store.clinic.pain.sustained import known_since, raised_mornings, settled_since
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.pain import PeriodSummary
from armrise.store.record.light import NamedTuple
from armrise.store.record.words import month_day

MATTER = "flare"
"""What an entry names that answers it, once the shoulder has settled."""


class ToldFlare(NamedTuple):
    """Cause (f): severity 2, or 1 where it has settled by now; in words; the summary that told it."""

    severity: int
    words: str
    entry_id: int


def flare_as_told(view: View) -> ToldFlare | None:
    """The newest period told with a flare, until it ends; never by age alone."""
    told: list[PeriodSummary] = view.since("summaries", view.segment_start)
    flares = [one for one in told if is_flare(view, one)]
    if not flares or _ended(view, flares[-1], told):
        return None
    last = flares[-1]
    said = f"{last.mornings_worse} mornings worse than usual since {month_day(last.since)}"
    return ToldFlare(1 if last.settled == "yes" else 2, f"flare, as told: {said}", last.id)


def _ended(view: View, flare: PeriodSummary, told: list[PeriodSummary]) -> bool:
    calm = view.rules["summary.mornings"]
    later = [one for one in told if one.on > flare.on and one.mornings_worse is not None]
    if any((one.mornings_worse or 0) <= calm for one in later):
        return True
    by_load = [cut for cut in eased(view) if covers(view, cut, [flare])]
    if flare.settled == "yes":
        decided = any(covers(view, entry, [flare]) for entry in entries_about(view, MATTER))
        ended = bool(by_load) or decided or _seen_since(view, flare)
    else:
        ended = any(_quiet_since(view, cut) for cut in by_load)
    return ended or settled_since(view, flare.on)


def _seen_since(view: View, flare: PeriodSummary) -> bool:
    """Whether anybody saw or spoke with the patient on a later day than that of the telling."""
    seen: list[Entry] = [c for c in view.upto("contacts") if c.spoken]
    seen += view.upto("visits")
    return any(e.on > flare.on and view.record.could_see(e.id, flare.id) for e in seen)


def _quiet_since(view: View, cut: Entry) -> bool:
    """Whether enough days have passed since load was taken away, none of them with a flare recorded."""
    until = cut.on + timedelta(days=view.rules["summary.cut_days"])
    if view.today < until:
        return False
    view.sure(cut.on)
    flared = (j.on for j in known_since(view, cut.on) if j.klass == FLARE)
    return not any(cut.on < day <= until for day in (*raised_mornings(view, cut.on), *flared))
