"""Reasons of the care: who waits for an answer, a visit, a step, a plan, a form or a letter."""

from __future__ import annotations

from datetime import date, timedelta
from typing import NamedTuple

from armrise.store.clinic.case.standing import Word
from armrise.store.clinic.case.turns import PLACED, first_ahead, next_of
from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.scores import outcome
from armrise.store.clinic.standing.rule import Found, ReasonRule, as_dated
from armrise.store.clinic.time import clocks
from armrise.store.clinic.time.ahead import lost_until, misses_until, overdue_until, silence_until
from armrise.store.clinic.verdict.messages import messages_until, owed_message, urgent_message
from armrise.store.clinic.verdict.readiness import verdict, word
from armrise.store.record.kinds.paperwork import Decision
from armrise.store.record.words import clock_words, count_days, days_ago, words_date


def _msu(view: View) -> Found | None:
    return as_dated(urgent_message(view))


def _lost(view: View) -> Found | None:
    state = clocks.lost(view)
    return Found(state.days, state.sentence, state.since, state.evidence) if state else None


def _msg(view: View) -> Found | None:
    return as_dated(owed_message(view))


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
    ready = word(view) is Word.READY
    return Found(0, verdict(view).line, None, _steps_here(view)) if ready else None


def _is_ready(view: View) -> bool:
    return word(view) is Word.READY


def _never_by_itself(view: View) -> date:
    return date.max


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


def _stl(view: View) -> Found | None:
    stage, days = view.stage, clocks.counted_days(view)
    if view.closed or view.pathway is None or stage is None or days is None or days <= stage.stall.whole:
        return None
    if word(view) is Word.READY or _plan_reviewed(view):
        return None
    stall = stage.stall.whole
    since = view.today - timedelta(days=days - stall)
    words = f"day {days} in {stage.code}, usual {stage.usual.whole}, {view.pathway.stall_words} {stall}"
    return Found(100 * days // stall, words, since, _steps_here(view))


def _stalled_until(view: View) -> date:
    return min(next_of(view, (*PLACED, "holds", "decisions")), first_ahead(view, _days_of_stalling(view)))


def _days_of_stalling(view: View) -> list[date]:
    """The first day that is long in the stage, and that on which a review of the plan has had its time."""
    stage, days = view.stage, clocks.counted_days(view)
    if view.closed or stage is None or days is None:
        return []
    noted = (note.on for note in _plan_reviews(view))
    rearmed = [on + timedelta(days=view.rules["stalled.rearm_days"]) for on in noted]
    long = view.today + timedelta(days=stage.stall.whole + 1 - days)
    return [*rearmed, long] if long > view.today else rearmed


def _plan_reviewed(view: View) -> bool:
    rearm, notes = view.rules["stalled.rearm_days"], _plan_reviews(view)
    return bool(notes) and (view.today - notes[-1].on).days < rearm


def _plan_reviews(view: View) -> list[Decision]:
    return [d for d in view.since("decisions", view.stage_start) if d.about == "stalled"]


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


def _letters_until(view: View) -> date:
    """The day after each letter came to be owed."""
    days = (letter.since + DAY for letter in letters_owed(view))
    return min(next_of(view, (*PLACED, "referrals", "letters")), first_ahead(view, days))


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


OF_THE_CARE = {
    "MSU": ReasonRule(
        condition=_msu,
        stands=messages_until,
        absent=((urgent_message, None),),
        counts="2 with a warning word, 1 other",
        of_closed=True,
        of_waiting=True,
        grows=True,
        figures=("message",),
    ),
    "LOST": ReasonRule(
        condition=_lost,
        stands=lost_until,
        counts="days since the last contact",
        figures=("lost",),
        stage_figures=("review",),
    ),
    "MSG": ReasonRule(
        condition=_msg,
        stands=messages_until,
        counts="days since the first message",
        of_closed=True,
        figures=("message",),
    ),
    "OVD2": ReasonRule(
        condition=_ovd2,
        stands=overdue_until,
        counts="days overdue of the interval, per cent, rounded down",
        hold_hides=True,
        stage_figures=("review",),
    ),
    "DNA": ReasonRule(
        condition=_dna,
        turns=clocks.MISS_TURNS,
        stands=misses_until,
        counts="missed visits in a row",
        hold_hides=True,
        figures=("missed",),
    ),
    "OVD1": ReasonRule(
        condition=_ovd1,
        stands=overdue_until,
        counts="days overdue of the interval, per cent, rounded down",
        hold_hides=True,
        stage_figures=("review",),
    ),
    "SIL": ReasonRule(
        condition=_sil,
        stands=silence_until,
        counts="days without data",
        hold_hides=True,
        figures=("silence",),
        stage_figures=("review",),
    ),
    "RDY": ReasonRule(
        condition=_rdy,
        is_true=_is_ready,
        stands=_never_by_itself,
        of_word=True,
        counts="days open",
        hold_hides=True,
        reads_sessions=True,
        ended_on=_stayed_on,
        by_days=_ready_words,
        figures=("ready",),
    ),
    "STL": ReasonRule(
        condition=_stl,
        stands=_stalled_until,
        of_word=True,
        counts="days in stage of the stall days, per cent",
        hold_hides=True,
        figures=("stalled",),
        stage_figures=("stall",),
    ),
    "PRM": ReasonRule(
        condition=_prm,
        stands=outcome.owed_until,
        counts="days past due",
        hold_hides=True,
        figures=("score_due",),
    ),
    "LTR": ReasonRule(
        condition=_ltr,
        stands=_letters_until,
        counts="days since the first was owed",
        of_closed=True,
    ),
}
"""By inside code, in rank order."""
