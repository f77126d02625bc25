"""The reasons for attention: when each is true, how severe, in what words, what ends it, who carries it.

Rank, tier and name are data (the rank table); nothing is weighed against anything else. A reason is added as
a row of that table and as one of :data:`REASONS`, with the same inside code.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import NamedTuple, Protocol

from armrise.store.clinic.case.standing import Word
from armrise.store.clinic.case.view import View
from armrise.store.clinic.findings.triggers import finding_to_act_on
from armrise.store.clinic.healing.breaches import open_breaches
from armrise.store.clinic.motion.drift import drift
from armrise.store.clinic.motion.lift import power_loss
from armrise.store.clinic.motion.unmeasured import range_unmeasured
from armrise.store.clinic.pain.eased import load_cuts
from armrise.store.clinic.pain.flare import flare_state
from armrise.store.clinic.pain.visits import worse_at_visits
from armrise.store.clinic.scores import outcome
from armrise.store.clinic.standing.over import over_the_limit
from armrise.store.clinic.time import clocks
from armrise.store.clinic.verdict.adherence import seldom_done
from armrise.store.clinic.verdict.freshness import question_due
from armrise.store.clinic.verdict.messages import Waiting, owed_message, urgent_message
from armrise.store.clinic.verdict.readiness import URGENCY, verdict
from armrise.store.clinic.verdict.screening import (
    event_severity,
    open_events,
    open_flags,
    safety_gap,
    severity_mark,
    severity_of,
)
from armrise.store.record.kinds.head import REPORTED
from armrise.store.record.words import clock_words, count_days, days_ago, words_date

LOOK_BACK = timedelta(days=28)
"""A window of sessions is whole for every date at least this long after its first."""


@dataclass(frozen=True, slots=True)
class Found:
    """A condition that is true: severity, words, since when (if the rule says), and the entries behind it.

    ``sentence`` tells the worst or the first thing found, ``evidence`` holds every entry that makes it true:
    an answer in hand covers only those known when it was given.
    """

    severity: int
    sentence: str
    since: date | None = None
    evidence: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Answer:
    """A reason answered: the action, when it was given and until when it holds."""

    on: date
    until: date
    action: str
    instant: datetime
    entry_id: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ReasonRule:
    """What the rules know of one reason beyond its row of the rank table."""

    condition: Callable[[View], Found | None]
    hold_hides: bool = False
    of_closed: bool = False
    """A closed case can carry it too."""
    of_waiting: bool = False
    """So can one that waits for its first visit."""
    grows: bool = False
    """A larger severity is new evidence for an answer in hand; the others grow by the calendar alone."""
    reads_sessions: bool = False
    ended_on: Callable[[View], date | None] = lambda view: None
    """The newest decision that ends it though it is true still; it has to come on its first day or later."""
    answers: Callable[[View], list[Answer]] = lambda view: []
    """What puts it in hand besides an entry that says so."""
    by_days: Callable[[View, str, int], str] | None = None
    """Its sentence with the days it has been open, which are its severity then."""
    figures: tuple[str, ...] = ()
    """The groups of figures it reads."""
    stage_figures: tuple[str, ...] = ()
    """The figures of the stage it reads, as fields of the stage."""


class State(Protocol):
    """What a reading says where it is a reason."""

    @property
    def severity(self) -> int:
        """As :class:`Found` has it."""
        ...

    @property
    def sentence(self) -> str:
        """The same."""
        ...

    @property
    def evidence(self) -> tuple[int, ...]:
        """The same."""
        ...


def _told(state: State | None) -> Found | None:
    return Found(state.severity, state.sentence, None, state.evidence) if state else None


# --- conditions, in rank order --------------------------------------------------------------------------


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
    return _told(power_loss(view))


def _fnd(view: View) -> Found | None:
    found = finding_to_act_on(view)
    return Found(found.severity, found.sentence, found.since, found.evidence) if found else None


def _fla(view: View) -> Found | None:
    return _told(flare_state(view))


def _load_cuts(view: View) -> list[Answer]:
    """A contact or visit that cut the load answers a flare."""
    days = timedelta(days=view.rules["in_hand.load_cut_days"])
    return [Answer(c.on, c.on + days, "load cut", c.recorded_at, c.id) for c in load_cuts(view)]


def _lost(view: View) -> Found | None:
    state = clocks.lost(view)
    return Found(state.days, state.sentence, state.since, state.evidence) if state else None


def _range(view: View, code: str) -> Found | None:
    state = drift(view)
    return _told(state) if state and state.code == code else None


def _stf(view: View) -> Found | None:
    return _range(view, "STF")


def _vis(view: View) -> Found | None:
    risen = worse_at_visits(view)
    return Found(risen.severity, risen.sentence, risen.since, risen.evidence) if risen else None


def _wrs(view: View) -> Found | None:
    return _told(outcome.worse(view))


def _scr(view: View) -> Found | None:
    gap = safety_gap(view)
    if gap is None:
        return None
    return Found((view.today - gap.since).days, gap.sentence, gap.since, gap.evidence)


def _overdue(view: View, whole: bool) -> Found | None:
    over, days = clocks.overdue_days(view), clocks.interval(view)
    due = clocks.due(view)
    if view.closed or not over or not days or due is None or (over >= days) != whole:
        return None
    slot = clocks.next_slot(view)
    day = "today" if slot and slot.booked_for == view.today else words_date(slot.booked_for) if slot else ""
    booking = f"booked {day}{clock_words(slot.at)}" if slot else "none booked"
    review = clocks.review(view)
    note = f"; {review.note}" if review.note else ""
    words = f"{count_days(over)} overdue, of {days}, {booking}{note}"
    return Found(over * 100 // days, words, due, clocks.due_rests_on(view))


def _ovd2(view: View) -> Found | None:
    return _overdue(view, whole=True)


def _ovd1(view: View) -> Found | None:
    return _overdue(view, whole=False)


def _dna(view: View) -> Found | None:
    if view.closed or view.span is None or clocks.in_protected_stage(view):
        return None
    misses = clocks.missed_unanswered(view)
    if not misses:
        return None
    last = misses[-1]
    ago = days_ago((view.today - last.booked_for).days)
    what = "was not brought" if last.outcome == "was not brought" else "did not attend"
    count = f" {len(misses)} times in a row, last" if len(misses) > 1 else ""
    words = f"{what}{count} {ago}; no contact since"
    return Found(len(misses), words, None, tuple(a.id for a in misses))


def _msu(view: View) -> Found | None:
    return _waiting(urgent_message(view))


def _msg(view: View) -> Found | None:
    return _waiting(owed_message(view))


def _waiting(told: Waiting | None) -> Found | None:
    return Found(told.severity, told.sentence, told.since, told.evidence) if told else None


def _sil(view: View) -> Found | None:
    if view.closed or view.span is None:
        return None
    days, threshold = clocks.silent_days(view), clocks.silence_threshold(view)
    if days is None or threshold is None or days < threshold:
        return None
    passed = view.today - timedelta(days=days - threshold)
    paused = clocks.days_paused(view, clocks.last_data(view) or view.today)
    held = f" ({count_days(paused)} of them on hold)" if paused else ""
    words = f"no check-in, visit or contact for {count_days(days + paused)}{held}"
    return Found(days, words, passed, tuple(e.id for e in clocks.last_told(view)))


def _rdy(view: View) -> Found | None:
    decided = verdict(view)
    ready = decided.word is Word.READY
    return Found(0, decided.line, None, _steps_here(view)) if ready else None


def _steps_here(view: View) -> tuple[int, ...]:
    return tuple(step.id for step in clocks.steps_here(view))


def _stayed_on(view: View) -> date | None:
    """When the clinician last recorded staying in the stage although it was ready."""
    stays = [o.on for o in view.upto("overrides") if o.against == Word.READY.value]
    return stays[-1] if stays else None


def _ready_words(view: View, line: str, days: int) -> str:
    if days > view.rules["ready.waiting_days"]:
        return f"{line}, waiting {view.rules['ready.waiting_days']}+ days"
    return f"{line}, for {days} days" if days > 1 else line


def _low(view: View) -> Found | None:
    seldom = seldom_done(view)
    return Found(seldom.severity, seldom.sentence, seldom.since, seldom.evidence) if seldom else None


def _ask(view: View) -> Found | None:
    due = question_due(view)
    if due is None:
        return None
    days = (view.today - due.last_fresh).days
    if days <= view.rules["screen.ask_after"]:
        return None  # a review on time asks first
    return Found(days, f"{due.missing}: {due.observed}", due.last_fresh, due.evidence)


def _ovr(view: View) -> Found | None:
    return _told(over_the_limit(view))


def _nrm(view: View) -> Found | None:
    missing = range_unmeasured(view)
    return Found(missing.days, missing.sentence, missing.since, missing.evidence) if missing else None


def _stl(view: View) -> Found | None:
    stage, days = view.stage, clocks.counted_days(view)
    if view.closed or view.pathway is None or stage is None or days is None or days <= stage.stall.whole:
        return None
    if verdict(view).word is Word.READY or _plan_reviewed(view):
        return None
    stall = stage.stall.whole
    since = view.today - timedelta(days=days - stall)
    words = f"day {days} in {stage.code}, usual {stage.usual.whole}, {view.pathway.stall_words} {stall}"
    return Found(100 * days // stall, words, since, _steps_here(view))


def _plan_reviewed(view: View) -> bool:
    rearm = view.rules["stalled.rearm_days"]
    notes = [d for d in view.since("decisions", view.stage_start) if d.about == "stalled"]
    return bool(notes) and (view.today - notes[-1].on).days < rearm


def _prm(view: View) -> Found | None:
    owed = outcome.score_owed(view)
    if owed is None or view.span is None:
        return None
    return Found((view.today - owed.due).days, owed.sentence, owed.due, owed.evidence)


def _ltr(view: View) -> Found | None:
    owed = sorted(letter for letter in letters_owed(view) if letter.since < view.today)
    if not owed:
        return None
    first, what, _ = owed[0]
    words = f"{what} letter owed since {words_date(first)}"
    return Found((view.today - first).days, words, first, tuple(letter.entry_id for letter in owed))


class LetterOwed(NamedTuple):
    """A letter owed from a date on: what about, and by which entry."""

    since: date
    what: str
    entry_id: int


def letters_owed(view: View) -> list[LetterOwed]:
    """Letters owed: after a discharge, and after every referral."""
    discharge = view.closed
    if discharge and discharge.outcome in ("died", "moved"):
        return []
    sent = [entry for entry in view.upto("letters") if entry.state == "sent"]
    owed: list[LetterOwed] = []
    if discharge and discharge.letter:
        done = [s for s in sent if s.about == "discharge" and s.on >= discharge.on]
        if not done:
            owed.append(LetterOwed(discharge.on, "discharge", discharge.id))
    for referral in view.since("referrals", view.episode_start):
        if not any(s.on >= referral.on for s in sent):
            owed.append(LetterOwed(referral.on, "referral", referral.id))
    return owed


def _wat(view: View) -> Found | None:
    return _range(view, "WAT")


_PAIN = ("response", "usual", "baseline", "creep", "ceiling", "flare")
REASONS = {
    "RED": ReasonRule(condition=_red, of_closed=True, of_waiting=True, grows=True),
    "INJ": ReasonRule(condition=_inj, of_closed=True, of_waiting=True, grows=True),
    "LIM": ReasonRule(condition=_lim, of_waiting=True, grows=True, reads_sessions=True),
    "MSU": ReasonRule(
        condition=_msu,
        of_closed=True,
        of_waiting=True,
        grows=True,
        figures=("message",),
    ),
    "FUN": ReasonRule(condition=_fun, grows=True, figures=("function",)),
    "FND": ReasonRule(condition=_fnd, of_waiting=True, grows=True, figures=("function",)),
    "FLA": ReasonRule(
        condition=_fla,
        grows=True,
        reads_sessions=True,
        answers=_load_cuts,
        figures=(*_PAIN, "summary"),
        stage_figures=("limits",),
    ),
    "LOST": ReasonRule(condition=_lost, figures=("lost",), stage_figures=("review",)),
    "STF": ReasonRule(condition=_stf, grows=True, figures=("drift",)),
    # Reads sessions where a flare may say the same; the values themselves are read whole.
    "VIS": ReasonRule(condition=_vis, grows=True, reads_sessions=True, figures=("visit",)),
    "WRS": ReasonRule(condition=_wrs, grows=True, figures=("outcome",)),
    "SCR": ReasonRule(condition=_scr, figures=("screen",)),
    "OVD2": ReasonRule(condition=_ovd2, hold_hides=True, stage_figures=("review",)),
    "DNA": ReasonRule(condition=_dna, hold_hides=True, figures=("missed",)),
    "MSG": ReasonRule(condition=_msg, of_closed=True, figures=("message",)),
    "OVD1": ReasonRule(condition=_ovd1, hold_hides=True, stage_figures=("review",)),
    "SIL": ReasonRule(condition=_sil, hold_hides=True, figures=("silence",), stage_figures=("review",)),
    "RDY": ReasonRule(
        condition=_rdy,
        hold_hides=True,
        reads_sessions=True,
        ended_on=_stayed_on,
        by_days=_ready_words,
        figures=("ready",),
    ),
    "ASK": ReasonRule(condition=_ask, hold_hides=True, figures=("screen",)),
    "LOW": ReasonRule(condition=_low, hold_hides=True, reads_sessions=True, figures=("adherence",)),
    "OVR": ReasonRule(
        condition=_ovr,
        hold_hides=True,
        reads_sessions=True,
        figures=("response", "usual", "over"),
        stage_figures=("limits",),
    ),
    "NRM": ReasonRule(condition=_nrm, hold_hides=True, figures=("range",), stage_figures=("review",)),
    "STL": ReasonRule(condition=_stl, hold_hides=True, figures=("stalled",), stage_figures=("stall",)),
    "PRM": ReasonRule(condition=_prm, hold_hides=True, figures=("score_due",)),
    "LTR": ReasonRule(condition=_ltr, of_closed=True),
    "WAT": ReasonRule(condition=_wat, hold_hides=True, figures=("drift",)),
}
"""Every reason by its inside code, which is that of its row of the rank table."""
