"""The dose proposal of each programme item: repetitions first, then load, and less of it after pain.

A proposal is advice with its reason (practice note 5.2, rulings 5, 33 and 57). The programme changes only
when a clinician accepts one. Rules are tried in the note's order and the first that fits speaks. Session
classes are those of :mod:`armrise.store.clinic.pain.response`; nothing is classed here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

from armrise.store.clinic.case.view import View
from armrise.store.clinic.dose.raising import on_the_way_up, one_at_a_time, short
from armrise.store.clinic.healing.breaches import breaches
from armrise.store.clinic.pain.classes import INCOMPLETE
from armrise.store.clinic.programme.facts import UNTOLD, CaseFacts, ItemFacts
from armrise.store.clinic.programme.less import arc_as_ordered
from armrise.store.clinic.programme.lowering import lowered
from armrise.store.clinic.programme.missing import missing_score
from armrise.store.clinic.programme.proposal import STOP, WAIT, Proposal, hold, propose
from armrise.store.clinic.time.clocks import hold_now
from armrise.store.clinic.verdict.screening import open_events, open_flags
from armrise.store.record.words import words_date


def proposals(view: View) -> list[Proposal]:
    """One proposal for each item in force, in the programme's order; none for a closed case."""
    if view.closed:
        return []
    case = CaseFacts(view)
    facts = [ItemFacts(case, item) for item in case.items]
    return one_at_a_time(case, [(fact, first_that_fits(fact)) for fact in facts])


def first_that_fits(facts: ItemFacts) -> Proposal:
    """What the first rule that fits one item says."""
    return next((found for rule in _RULES if (found := rule(facts))), None) or on_the_way_up(facts)


# --- 1: what may not be done today ----------------------------------------------------------------------


def _stop(facts: ItemFacts) -> Proposal | None:
    """Forbidden today, on hold, or something open that has to be looked at first."""
    view = facts.case.view
    barred = [b for b in breaches(view) if b.standing and b.entry_id == facts.item.id]
    if barred:
        words = max(barred, key=lambda b: b.severity).sentence.removeprefix("in the programme: ")
        return replace(propose(facts, STOP, None, f"not allowed today: {words}"), stops=True)
    open_now = _open_now(view)
    if open_now is None:
        return None
    entry, reason, until, condition = open_now
    found = propose(facts, STOP, None, reason)
    return replace(found, evidence=(entry, facts.item.id), not_before=until, condition=condition)


def _open_now(view: View) -> tuple[int, str, date | None, str] | None:
    """(entry, reason, until, condition) of what lets every exercise rest; None when nothing does."""
    flags, events, held = open_flags(view), open_events(view), hold_now(view)
    if flags:
        condition = "rest until the red flag has its outcome"
        return flags[-1].id, f"possible red flag open: {flags[-1].item}", None, condition
    if events:
        condition = "rest until the injury is assessed"
        return events[-1].id, f"new injury not assessed: {events[-1].event}", None, condition
    if held:
        until = held.end
        return held.hold.id, f"on hold until {words_date(until)}", until, ""
    return None


# --- 6: what is not known -------------------------------------------------------------------------------


def _not_done_yet(facts: ItemFacts) -> Proposal | None:
    """A dose nobody has trained at cannot be judged (ruling 57)."""
    if facts.last_at_dose:
        return None
    set_on = facts.set_on
    since = f" since it was set on {words_date(set_on.on)}" if set_on.on < facts.today else ", set today"
    return hold(facts, f"no session at this dose yet{since}")


def _wait(facts: ItemFacts) -> Proposal | None:
    """The newest session lacks a score, or what was done of this exercise."""
    newest, last = facts.case.newest, facts.last_at_dose
    if newest is None or last is None or (newest.klass != INCOMPLETE and last.full != UNTOLD):
        return None
    judged, missing = newest if newest.klass == INCOMPLETE else last.judged, missing_score(facts)
    return replace(propose(facts, WAIT, facts.current, missing, judged), missing=missing)


_RULES: tuple[Callable[[ItemFacts], Proposal | None], ...] = (
    _stop,
    arc_as_ordered,
    lowered,
    _not_done_yet,
    _wait,
    short,
)
