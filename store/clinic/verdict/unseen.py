"""What nobody has seen or decided yet: a protected case, how healing counts after an event (ruling 70)."""

from __future__ import annotations

from datetime import date, timedelta

from armrise.store.clinic.case.naming import covers
from armrise.store.clinic.case.view import View
from armrise.store.clinic.findings.looks import Look, looks, subjects
from armrise.store.clinic.healing.other_clock import decided_on
from armrise.store.clinic.time.clocks import in_protected_stage, lost, original_due
from armrise.store.record.light import NamedTuple
from armrise.store.record.words import count_days, words_date
from armrise.store.rules.trigger import Condition

SECOND_EVENT = "second event"
_DISLOCATED = (Condition(event=("dislocation",), assessed=True),)


class Unseen(NamedTuple):
    """Since when a protected case was not seen, and what says so."""

    text: str
    why: str


def out_of_sight(view: View) -> Unseen | None:
    """A protected case that nobody has an eye on: lost, in hand or not, or its review past due."""
    if view.span is None or not in_protected_stage(view):
        return None
    gone, due = lost(view), original_due(view)
    late = (view.today - due).days if due else 0
    if gone is None and late < view.rules["ready.protected_overdue"]:
        return None
    why = gone.sentence if gone else f"review {count_days(late)} overdue"
    return Unseen(f"not seen since {_last_seen(view)}", why)


def _last_seen(view: View) -> str:
    """ "day 5" after the surgery or injury, else the date of the last visit."""
    seen = view.last_visit.on if view.last_visit else view.stage_start
    onset = view.onset()
    if seen is None:
        return "the first visit"
    return f"day {(seen - onset.on).days}" if onset else words_date(seen)


def does_healing_count_anew(view: View) -> str:
    """After a further dislocation or slip, in words; empty once a new onset or a decision says how it counts.

    Asked for some weeks, and for stages that such an event keeps shut until it is said (ruling 94).
    """
    last = _last_event(view)
    if last is None or view.pathway is None:
        return ""
    anew = [o for o in view.upto("onsets") if o.what == view.pathway.clock and covers(view, o, last.entries)]
    if anew or any(decided_on(view, entry, view.today) for entry in last.entries):
        return ""
    following = view.next_stage
    shut = following is not None and following.shut_by_event
    recent = view.today < last.on + timedelta(days=view.rules["ready.event_days"])
    return f"further event on {words_date(last.on)}" if recent or shut else ""


def _last_event(view: View) -> Look | None:
    """The newest further event that the pathway asks an opinion for, of the present healing.

    Where healing counts from something else, a dislocation is one: that it starts no clock of its own there
    (ruling 94) does not say that the first one counts on.
    """
    if view.pathway is None:
        return None
    matters = [m for t in view.pathway.triggers if t.refer == SECOND_EVENT for m in subjects(t.when)]
    if not matters and view.pathway.clock:
        matters = [_DISLOCATED]
    start = view.episode_start or date.min
    found = [look for m in matters for look in looks(view, view.pathway, m) if look.bad and look.on >= start]
    return max(found, key=lambda look: look.on, default=None)
