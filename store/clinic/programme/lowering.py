"""When a programme item goes lower or stays for pain or a pause: lines 2 to 5 of practice note 5.2.

The verdict reads them too, so that both say the same (ruling 78).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import takewhile

from armrise.store.clinic.case.view import DAY
from armrise.store.clinic.pain.classes import FLARE, IN_WORDS, INCOMPLETE, OVER, RAISED
from armrise.store.clinic.pain.response import Judged
from armrise.store.clinic.programme.facts import ItemFacts
from armrise.store.clinic.programme.less import after_flare, after_pair, keeps_moving
from armrise.store.clinic.programme.missing import missing_score
from armrise.store.clinic.programme.parts import deload
from armrise.store.clinic.programme.proposal import REASSESS, RESTART, Proposal, hold, propose
from armrise.store.record.words import count_days, words_date

SEE_VERDICT = "see the verdict"
_TOO_MUCH = (OVER, RAISED)


def lowered(facts: ItemFacts) -> Proposal | None:
    """What the first of these lines that fits says; None where none does."""
    lines = (_reassess, _flare, _restart, _too_much)
    return next((found for line in lines if (found := line(facts))), None)


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
    lower = None if keeps_moving(facts) else deload(facts.item, facts.case.home, facts.rules)
    how = "range is being lost, so no less of it" if keeps_moving(facts) else "nothing left to lower"
    dose, how = lower or (facts.current, how)
    return propose(facts, RESTART, dose, f"last session {count_days(quiet)} ago: {how}", facts.last.judged)


# --- 3 and 5: pain --------------------------------------------------------------------------------------


def _flare(facts: ItemFacts) -> Proposal | None:
    """The newest session that says anything is a flare which no accepted change has answered (ruling 5)."""
    case, flare = facts.case, facts.case.newest_known
    if flare is None or flare.klass != FLARE:
        return None
    blame = case.blame(flare)
    if facts.item.exercise in blame.exercises:
        return None if facts.answered(flare) else _lower(facts, flare, blame.why)
    if _new_since(facts, flare) or _restart(facts) is not None:
        return None
    return hold(facts, f"flare on {words_date(flare.on)}, {blame.why}: this one stays as it is", flare)


def _new_since(facts: ItemFacts, judged: Judged) -> bool:
    """True when the item's dose was set after a session: nothing has been done at it yet."""
    since = takewhile(lambda told: told.on >= judged.on, facts.newest_first)
    return not any(told.on == judged.on and told.at_this_dose for told in since)


def _lower(facts: ItemFacts, flare: Judged, why: str) -> Proposal:
    before = [j for j in facts.case.known[-1 - facts.rules["dose.flare_before"] : -1] if j.klass == FLARE]
    said = f"flare on {words_date(flare.on)}: {flare.cause}; {why}"
    said += f"; the session before it flared too: {SEE_VERDICT}" if before else ""
    found = after_flare(facts, said, *before, flare)
    if found.dose is None or facts.is_mobility:
        return found
    not_before, condition = _settled(facts, flare)
    return replace(found, not_before=not_before, condition=condition)


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


def _too_much(facts: ItemFacts) -> Proposal | None:
    """The newest session that says anything went over a limit: once holds, twice running takes some off.

    Over the limit and raised next morning are treated alike (ruling 77).
    """
    case, newest = facts.case, facts.case.newest_known
    if newest is None or newest.klass not in _TOO_MUCH or _new_since(facts, newest):
        return None
    before = next(iter(case.known[-2:-1]), None)
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
    return replace(after_pair(facts, said, before, newest), missing=missing)
