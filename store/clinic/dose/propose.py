"""The dose proposal of each programme item: repetitions first, then load, and less of it after pain.

A proposal is advice with its reason (practice note 5.2, rulings 5, 33 and 57). The programme changes only
when a clinician accepts one. Rules are tried in the note's order and the first that fits speaks. Session
classes are those of :mod:`armrise.store.clinic.pain.response`; nothing is classed here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.dose.facts import UNTOLD, CaseFacts, ItemFacts
from armrise.store.clinic.dose.parts import deload
from armrise.store.clinic.dose.proposal import (
    DELOAD,
    REASSESS,
    REDUCE,
    RESTART,
    STOP,
    WAIT,
    Proposal,
    hold,
    propose,
)
from armrise.store.clinic.dose.raising import on_the_way_up, one_at_a_time, short
from armrise.store.clinic.dose.words import missing_score
from armrise.store.clinic.healing.breaches import breaches
from armrise.store.clinic.pain.classes import FLARE, IN_WORDS, INCOMPLETE, OVER, RAISED
from armrise.store.clinic.pain.response import Judged
from armrise.store.clinic.time.clocks import hold_now
from armrise.store.clinic.verdict.screening import open_events, open_flags
from armrise.store.record.words import count_days, words_date

SEE_VERDICT = "see the verdict"
_TOO_MUCH = (OVER, RAISED)


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


# --- 2 and 4: how long ago ------------------------------------------------------------------------------


def _last_done(facts: ItemFacts) -> date:
    """The newest session of the item; of one never done, the day it was prescribed."""
    return facts.last.on if facts.last else facts.versions[0].on


def _reassess(facts: ItemFacts) -> Proposal | None:
    """Nothing done for so long that no dose can be carried on, unless a dose was set since."""
    most = facts.rules["dose.reassess_days"]
    last = _last_done(facts)
    quiet = (facts.today - last).days
    renewed = (facts.item.on - last).days > most and (facts.today - facts.item.on).days <= most
    if quiet <= most or renewed:
        return None
    ago, judged = f"{count_days(quiet)} ago", [facts.last.judged] if facts.last else []
    what = f"last session {ago}" if facts.last else f"prescribed {ago} and no session recorded since"
    return propose(facts, REASSESS, None, f"{what}: look again before any dose", *judged)


def _restart(facts: ItemFacts) -> Proposal | None:
    """Some weeks without it: begin lower, unless a dose was set after as long a pause."""
    first = facts.rules["dose.restart_days"]
    last = _last_done(facts)
    quiet = (facts.today - last).days
    since = (facts.today - facts.item.on).days
    if facts.last is None or quiet < first or ((facts.item.on - last).days >= first and since < first):
        return None
    lower = deload(facts.item, facts.case.home, facts.rules)
    dose, how = lower or (facts.current, "nothing left to lower")
    return propose(facts, RESTART, dose, f"last session {count_days(quiet)} ago: {how}", facts.last.judged)


# --- 3 and 5: pain --------------------------------------------------------------------------------------


def _flare(facts: ItemFacts) -> Proposal | None:
    """The newest session that says anything is a flare which no accepted change has answered (ruling 5)."""
    case, flare = facts.case, facts.case.newest_known
    if flare is None or flare.klass != FLARE:
        return None
    blame = case.blame(flare)
    if facts.item.exercise in blame.exercises:
        return None if facts.answered(flare) else _deload(facts, flare, blame.why)
    if _new_since(facts, flare) or _restart(facts) is not None:
        return None
    return hold(facts, f"flare on {words_date(flare.on)}, {blame.why}: this one stays as it is", flare)


def _new_since(facts: ItemFacts, judged: Judged) -> bool:
    """True when the item's dose was set after a session: nothing has been done at it yet."""
    return not any(t.on == judged.on and t.at_this_dose for t in facts.sessions)


def _deload(facts: ItemFacts, flare: Judged, why: str) -> Proposal:
    before = [j for j in facts.case.known[-1 - facts.rules["dose.flare_before"] : -1] if j.klass == FLARE]
    said = f"flare on {words_date(flare.on)}: {flare.cause}; {why}"
    said += f"; flare before it too, {SEE_VERDICT}" if before else ""
    lower = deload(facts.item, facts.case.home, facts.rules)
    if lower is None:
        return _nothing_to_lower(facts, said, *before, flare)
    dose, how = lower
    not_before, condition = _settled(facts, flare)
    found = propose(facts, DELOAD, dose, f"{said}; {how}", *before, flare)
    return replace(found, not_before=not_before, condition=condition)


def _nothing_to_lower(facts: ItemFacts, said: str, *judged: Judged) -> Proposal:
    found = propose(facts, STOP, None, f"{said}; nothing is left to lower: choose another", *judged)
    return replace(found, stops=True)


def _settled(facts: ItemFacts, flare: Judged) -> tuple[date | None, str]:
    """(first day if it lies ahead, what has to be seen): a settled morning, never the very next day."""
    rules, response = facts.rules, facts.case.response
    day = flare.on + (1 + rules["dose.flare_rest_days"]) * DAY
    first = day if day > facts.today else None
    if flare.baseline is None:
        return first, "not before a morning as usual (the baseline is not known)"
    most = flare.baseline + rules["flare.settled_within"]
    mornings = [d for d in response.wakes if flare.on < d <= facts.today]
    worst = [response.worst_value(d) for d in mornings if response.settled_value(d) is not None]
    settled = any(value is not None and value <= most for value in worst)
    return first, "" if settled else f"not before a morning of {most} or less"


def _raised(facts: ItemFacts) -> Proposal | None:
    """The newest session that says anything went over a limit: once holds, twice running takes a set off.

    Over the limit and raised next morning are treated alike (ruling 77).
    """
    case, newest = facts.case, facts.case.newest_known
    if newest is None or newest.klass not in _TOO_MUCH or _new_since(facts, newest):
        return None
    before = case.known[-2] if len(case.known) > 1 else None
    # Such a session before the present dose speaks against it only when the dose was raised since.
    twice = before and before.klass in _TOO_MUCH and (facts.raised_last or not _new_since(facts, before))
    missing = missing_score(facts) if case.newest and case.newest.klass == INCOMPLETE else ""
    if before is None or not twice:
        also = f"; {missing}" if missing else ""
        said = IN_WORDS[newest.klass]
        found = hold(facts, f"{said} once on {words_date(newest.on)}: {newest.cause}{also}", newest)
        return replace(found, missing=missing)
    blame = case.blame(newest)
    what = " or ".join(dict.fromkeys(IN_WORDS[judged.klass] for judged in (before, newest)))
    said = f"{what} twice, {words_date(before.on)} and {words_date(newest.on)}; {blame.why}"
    if facts.item.exercise not in blame.exercises:
        return replace(hold(facts, f"{said}: this one stays as it is", before, newest), missing=missing)
    return replace(_reduce(facts, said, before, newest), missing=missing)


def _reduce(facts: ItemFacts, said: str, *judged: Judged) -> Proposal:
    item = facts.item
    if item.sets > 1:
        dose = replace(facts.current, sets=item.sets - 1)
        return propose(facts, REDUCE, dose, f"{said}: one set fewer", *judged)
    lower = deload(item, facts.case.home, facts.rules)
    if lower is None:
        return _nothing_to_lower(facts, said, *judged)
    return propose(facts, REDUCE, lower[0], f"{said}: {lower[1]}", *judged)


# --- 6: what is not known -------------------------------------------------------------------------------


def _not_done_yet(facts: ItemFacts) -> Proposal | None:
    """A dose nobody has trained at cannot be judged (ruling 57)."""
    if facts.at_dose:
        return None
    set_on = facts.set_on
    since = f" since it was set on {words_date(set_on.on)}" if set_on.on < facts.today else ", set today"
    return hold(facts, f"no session at this dose yet{since}")


def _wait(facts: ItemFacts) -> Proposal | None:
    """The newest session lacks a score, or what was done of this exercise."""
    newest, last = facts.case.newest, facts.at_dose[-1] if facts.at_dose else None
    if newest is None or last is None or (newest.klass != INCOMPLETE and last.full != UNTOLD):
        return None
    judged, missing = newest if newest.klass == INCOMPLETE else last.judged, missing_score(facts)
    return replace(propose(facts, WAIT, facts.current, missing, judged), missing=missing)


_RULES: tuple[Callable[[ItemFacts], Proposal | None], ...] = (
    _stop,
    _reassess,
    _flare,
    _restart,
    _raised,
    _not_done_yet,
    _wait,
    short,
)
