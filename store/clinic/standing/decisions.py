"""What a recorded decision ends or silences, and for how long, in words; said before it is written."""

from __future__ import annotations

from datetime import date, timedelta

from armrise.store.clinic.case.standing import Standing, Word
from armrise.store.clinic.case.view import View
from armrise.store.clinic.findings.triggers import findings_to_act_on
from armrise.store.clinic.healing.healing import clocks_elsewhere
from armrise.store.clinic.healing.other_clock import MATTER as HEALING_CLOCK
from armrise.store.clinic.motion.lift import MATTER as LOSING_POWER
from armrise.store.clinic.motion.lift import power_loss
from armrise.store.clinic.pain.told_flare import MATTER as FLARE
from armrise.store.clinic.pain.told_flare import flare_as_told
from armrise.store.clinic.pain.visits import MATTER as WORSE_AT_VISITS
from armrise.store.clinic.pain.visits import worse_at_visits
from armrise.store.clinic.standing.over import ABOUT as OVER_THE_LIMIT
from armrise.store.clinic.time import clocks
from armrise.store.clinic.verdict.adherence import MATTER as SELDOM_DONE
from armrise.store.clinic.verdict.refer import rule_true
from armrise.store.clinic.verdict.unseen import does_healing_count_anew
from armrise.store.record.kinds.head import ANSWERABLE
from armrise.store.record.words import count_days, full_date

STALLED, LONG_STAY = "stalled", "STL"
NOT_NEEDED = "review not needed"
SURGICAL_OPINION = "surgical opinion"
ENDED_OTHERWISE = {
    "losing range": "a referral about it, or a value that is no longer low, ends it",
    "post-operative stiffness": "a visit, contact or referral that tells the surgeon ends it",
    "worse, or not responding": "a visit with a decision ends it",
    "possible red flag": "only the outcome of the flag ends it",
}
"""Matters that a decision alone leaves as they are, and what ends them instead."""
FLARE_GOES_ON = "is kept on record: it ends a flare only where that was told with the shoulder settled"
_NOT_TRUE = "is kept on record: it is not true on that day, so it answers nothing later"


def usual_matter(standing: Standing) -> str:
    """What a decision most likely is about: a refer rule that waits, or the long stay; else empty."""
    rule = standing.verdict.rule
    if standing.verdict.word is Word.REFER and rule in ANSWERABLE and rule not in ENDED_OTHERWISE:
        return rule
    return STALLED if any(reason.code == LONG_STAY for reason in standing.reasons) else ""


def silences(view: View, about: str, on: date) -> str:
    """What a decision about ``about`` dated ``on`` does, in one phrase."""
    if about == STALLED:
        return _silenced("long in stage", view.rules["stalled.rearm_days"], on) + ", or to the next step"
    if about == OVER_THE_LIMIT:
        return _silenced(OVER_THE_LIMIT, view.rules["over.answer_days"], on)
    if about == SELDOM_DONE:
        return _silenced(SELDOM_DONE, view.rules["adherence.answer_days"], on)
    if about == FLARE:
        told = flare_as_told(view.at(on))
        return 'ends "flare, as told"' if told and told.severity == 1 else FLARE_GOES_ON
    if about == NOT_NEEDED:
        return _moved(view, on)
    if about in ENDED_OTHERWISE:
        return f"is kept on record, ends nothing: {ENDED_OTHERWISE[about]}"
    if about == SURGICAL_OPINION:
        return "; ".join(["answers the prompt to offer a surgical opinion", *_findings(view, about, on)])
    if about == HEALING_CLOCK:
        return _clock(view, on)
    if about == WORSE_AT_VISITS:
        true = worse_at_visits(view.at(on))
        return "ends it: the values so far count as the best from then on" if true else _NOT_TRUE
    found = [*([power] if (power := _power(view, about, on)) else []), *_findings(view, about, on)]
    return "; ".join(found) or _refer(view, about, on)


def _findings(view: View, about: str, on: date) -> list[str]:
    """What it does to findings to act on that are true on the day of the decision."""
    true = [found for found in findings_to_act_on(view.at(on)) if about in found.about]
    return [
        f'leaves "{one.sentence}" open: record {one.answered_by}'
        if one.referral_only
        else f'answers "{one.sentence}"'
        for one in true
    ]


def _clock(view: View, on: date) -> str:
    """What it does where an onset does not fit the pathway, or another event asks how healing counts."""
    then, shortest = view.at(on), view.rules["ready.clock_decision_shortest"]
    if clocks_elsewhere(then, on) or does_healing_count_anew(then):
        return f"says how healing counts from then on, in at least {shortest} characters"
    return _NOT_TRUE


def _power(view: View, about: str, on: date) -> str:
    """What it does to a loss of lift or strength; empty where it is about another matter."""
    lost = power_loss(view.at(on))
    if lost and lost.answer == about:
        return f'ends "{LOSING_POWER}" until more of it is lost'
    if about != LOSING_POWER:
        return ""
    return f"is kept on record, ends nothing: record {lost.asked}" if lost else _NOT_TRUE


def _silenced(reason: str, days: int, on: date) -> str:
    return f'silences "{reason}" for {count_days(days)}, until {full_date(on + timedelta(days=days))}'


def _moved(view: View, on: date) -> str:
    """The next due date before and after."""
    days, now = clocks.interval(view), clocks.due(view)
    if days is None or now is None:
        return "is kept on record: no review interval is set, so no due date moves"
    return f"moves the review due from {full_date(now)} to {full_date(on + timedelta(days=days))}"


def _refer(view: View, about: str, on: date) -> str:
    """The refer rule that is answered, if one of that name is true on the day of the decision."""
    named = [r for r in view.pathway.refer if r.rule == about] if view.pathway else []
    if not named:
        triggers = (*(view.pathway.triggers if view.pathway else ()), *view.rules.triggers)
        asked = any(about in trigger.about for trigger in triggers)
        return _NOT_TRUE if asked else "is kept on record, silences nothing"
    true = [r for r in named if rule_true(view.at(on), r)]
    if not true or view.stage is None or (view.stage_start and on < view.stage_start):
        return "is kept on record: the rule is not true on that day, so it answers nothing later"
    return f'answers "{true[0].text}" for the rest of {view.stage.code}'
