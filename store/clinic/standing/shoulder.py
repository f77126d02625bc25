"""Reasons of the shoulder itself: what is dangerous, what grows worse, what was not asked or measured."""

from __future__ import annotations

from datetime import date, timedelta

from armrise.store.clinic.case.view import View
from armrise.store.clinic.findings.triggers import (
    finding_to_act_on,
    findings_to_act_on,
    findings_until,
    to_act,
)
from armrise.store.clinic.healing.breaches import BREACH_TURNS, breaches_until, open_breaches
from armrise.store.clinic.motion.drift import LOSING_TURNS as LOSING_RANGE_TURNS
from armrise.store.clinic.motion.drift import RANGE_TURNS, drift, is_losing_range, range_until
from armrise.store.clinic.motion.lift import (
    LOSING_TURNS,
    POWER_TURNS,
    is_losing,
    power_loss,
    power_until,
)
from armrise.store.clinic.motion.unmeasured import range_unmeasured, unmeasured_until
from armrise.store.clinic.pain.eased import load_cuts
from armrise.store.clinic.pain.flare import FLARE_TURNS, flare_state, is_flaring
from armrise.store.clinic.pain.visits import VISIT_TURNS, is_worse_at_visits, visits_until, worse_at_visits
from armrise.store.clinic.scores.worse import WORSE_TURNS, is_worse, worse
from armrise.store.clinic.standing.over import OVER_TURNS, over_the_limit, over_until
from armrise.store.clinic.standing.rule import Answer, Found, ReasonRule, as_dated, as_found
from armrise.store.clinic.verdict.adherence import seldom_done, seldom_until
from armrise.store.clinic.verdict.ahead import flare_until
from armrise.store.clinic.verdict.freshness import question_due, question_until
from armrise.store.clinic.verdict.readiness import URGENCY
from armrise.store.clinic.verdict.screening import (
    EVENT_TURNS,
    FLAG_TURNS,
    event_severity,
    events_until,
    flags_until,
    gaps_until,
    open_events,
    open_flags,
    safety_gap,
    severity_mark,
    severity_of,
)
from armrise.store.record.kinds.head import REPORTED
from armrise.store.record.words import days_ago


def _red(view: View) -> Found | None:
    flags = open_flags(view)
    if not flags:
        return None
    worst = max(severity_of(view, f) for f in flags)
    items = "; ".join(_flag_words(view, f.item, f.note, f.on, f.source) for f in flags)
    return Found(
        worst, f"{items}: {URGENCY[worst]}{severity_mark(view, flags)}", None, tuple(f.id for f in flags)
    )


def _flag_words(view: View, item: str, note: str | None, on: date, source: str) -> str:
    told = "reported" if source == REPORTED else "found"
    what = f"{note} ({item})" if note else item
    return f"{what}, {told} {days_ago((view.today - on).days)}"


def _inj(view: View) -> Found | None:
    events = open_events(view)
    if not events:
        return None
    worst = max(event_severity(e) for e in events)
    last = events[-1]
    note = f" ({last.note})" if last.note else ""
    words = f"{last.event} {days_ago((view.today - last.on).days)}, not assessed{note}"
    return Found(worst, words, None, tuple(e.id for e in events))


def _lim(view: View) -> Found | None:
    broken = open_breaches(view)
    if not broken:
        return None
    worst = max(b.severity for b in broken)
    shown = [b for b in broken if b.severity == worst][-1]
    return Found(worst, shown.sentence, None, tuple(dict.fromkeys(b.entry_id for b in broken)))


def _fun(view: View) -> Found | None:
    return as_found(power_loss(view))


def _fnd(view: View) -> Found | None:
    return as_dated(finding_to_act_on(view))


def _fla(view: View) -> Found | None:
    return as_found(flare_state(view))


def _load_cuts(view: View) -> list[Answer]:
    """A contact or visit that cut the load answers a flare."""
    days = timedelta(days=view.rules["in_hand.load_cut_days"])
    return [Answer(c.on, c.on + days, "load cut", c.recorded_at, c.id) for c in load_cuts(view)]


def _stf(view: View) -> Found | None:
    return _range(view, "STF")


def _range(view: View, code: str) -> Found | None:
    state = drift(view)
    return as_found(state) if state and state.code == code else None


def _vis(view: View) -> Found | None:
    return as_dated(worse_at_visits(view))


def _wrs(view: View) -> Found | None:
    return as_found(worse(view))


def _scr(view: View) -> Found | None:
    gap = safety_gap(view)
    if gap is None:
        return None
    return Found((view.today - gap.since).days, gap.sentence, gap.since, gap.evidence)


def _ask(view: View) -> Found | None:
    due = question_due(view)
    if due is None:
        return None
    days = (view.today - due.last_fresh).days
    if days <= view.rules["screen.ask_after"]:
        return None  # a review on time asks first
    return Found(days, f"{due.missing}: {due.observed}", due.last_fresh, due.evidence)


def _low(view: View) -> Found | None:
    return as_dated(seldom_done(view))


def _ovr(view: View) -> Found | None:
    return as_found(over_the_limit(view))


def _nrm(view: View) -> Found | None:
    missing = range_unmeasured(view)
    return Found(missing.days, missing.sentence, missing.since, missing.evidence) if missing else None


def _wat(view: View) -> Found | None:
    return _range(view, "WAT")


_PAIN = ("response", "usual", "baseline", "creep", "ceiling", "flare")
OF_THE_SHOULDER = {
    "RED": ReasonRule(
        condition=_red,
        turns=FLAG_TURNS,
        stands=flags_until,
        absent=((open_flags, ()),),
        counts="3 same day, 2 urgent, 1 soon or query",
        of_closed=True,
        of_waiting=True,
        grows=True,
    ),
    "INJ": ReasonRule(
        condition=_inj,
        turns=EVENT_TURNS,
        stands=events_until,
        absent=((open_events, ()),),
        counts="2 dislocation or sudden loss of active lift, 1 other",
        of_closed=True,
        of_waiting=True,
        grows=True,
    ),
    "LIM": ReasonRule(
        condition=_lim,
        turns=BREACH_TURNS,
        stands=breaches_until,
        absent=((open_breaches, ()),),
        counts="3 resisted work, lifting, full weight or tasks, 2 passive or active work or range, 1 sling",
        of_waiting=True,
        grows=True,
        reads_sessions=True,
    ),
    "FUN": ReasonRule(
        condition=_fun,
        is_true=is_losing,
        turns=POWER_TURNS,
        stands=power_until,
        turned=LOSING_TURNS,
        absent=((power_loss, None),),
        counts="2 after a repair or an injury, or lift with strength, 1 other",
        grows=True,
        figures=("function",),
    ),
    "FND": ReasonRule(
        condition=_fnd,
        stands=findings_until,
        absent=((to_act, ()), (findings_to_act_on, ())),
        counts="the largest that the rule files state for the findings",
        of_waiting=True,
        grows=True,
        figures=("function",),
    ),
    "FLA": ReasonRule(
        condition=_fla,
        is_true=is_flaring,
        turns=FLARE_TURNS,
        stands=flare_until,
        absent=((flare_state, None),),
        counts="the largest of points above the usual morning, nights woken more, 2 as told (1 settled)",
        grows=True,
        reads_sessions=True,
        answers=_load_cuts,
        answered_by=("contacts", "visits"),
        figures=(*_PAIN, "summary"),
        stage_figures=("limits",),
    ),
    "STF": ReasonRule(
        condition=_stf,
        is_true=is_losing_range,
        turns=RANGE_TURNS,
        turned=LOSING_RANGE_TURNS,
        stands=range_until,
        absent=((drift, None),),
        counts="3 below half of the other side or two planes, 2 one plane or stiff after a repair",
        grows=True,
        figures=("drift",),
    ),
    # Reads sessions where a flare may say the same; the values themselves are read whole.
    "VIS": ReasonRule(
        condition=_vis,
        is_true=is_worse_at_visits,
        turns=VISIT_TURNS,
        stands=visits_until,
        absent=((worse_at_visits, None),),
        counts="2 higher by far at once, or rest and night high on one day, 1 higher more than once",
        grows=True,
        reads_sessions=True,
        figures=("visit",),
    ),
    "WRS": ReasonRule(
        condition=_wrs,
        is_true=is_worse,
        turns=WORSE_TURNS,
        absent=((worse, None),),
        counts="2 worse, 1 not responding at the checkpoint",
        grows=True,
        figures=("outcome",),
    ),
    "SCR": ReasonRule(
        condition=_scr,
        stands=gaps_until,
        counts="days since the first of them was owed",
        figures=("screen",),
    ),
    "ASK": ReasonRule(
        condition=_ask,
        stands=question_until,
        counts="days since the screen was last fresh",
        hold_hides=True,
        figures=("screen",),
    ),
    "LOW": ReasonRule(
        condition=_low,
        stands=seldom_until,
        counts="100 less the per cent done of what is asked",
        hold_hides=True,
        reads_sessions=True,
        figures=("adherence",),
    ),
    "OVR": ReasonRule(
        condition=_ovr,
        turns=OVER_TURNS,
        stands=over_until,
        counts="sessions over it",
        hold_hides=True,
        reads_sessions=True,
        figures=("response", "usual", "over"),
        stage_figures=("limits",),
    ),
    "NRM": ReasonRule(
        condition=_nrm,
        stands=unmeasured_until,
        counts="days since the last value",
        hold_hides=True,
        figures=("range",),
        stage_figures=("review",),
    ),
    "WAT": ReasonRule(
        condition=_wat,
        turns=RANGE_TURNS,
        stands=range_until,
        absent=((drift, None),),
        counts="degrees lost",
        hold_hides=True,
        figures=("drift",),
    ),
}
"""By inside code, in rank order."""
