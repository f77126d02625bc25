"""What a decision about a case needs before it may be written, and why it may not be: no screen, no store.

The same answers serve the single forms and the weekly sweep (practice note 1.5, the table). Every fault is a
sentence that names the field, what was given, and what is allowed.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta

from armrise.store.clinic.case.view import View
from armrise.store.clinic.findings.triggers import findings_to_act_on
from armrise.store.clinic.motion.lift import MATTER, power_loss
from armrise.store.clinic.time import clocks
from armrise.store.clinic.time.slots import ahead, hour_of
from armrise.store.clinic.verdict.messages import urgent_message
from armrise.store.clinic.verdict.screening import open_flags
from armrise.store.record.fields import rule_of
from armrise.store.record.kinds.paperwork import Decision, Referral
from armrise.store.record.kinds.plan import HOLD_REASONS
from armrise.store.record.kinds.safety import Screen
from armrise.store.record.words import full_date

SHORTEST: int = rule_of(Decision, "note").shortest
"""Characters that a reason or an answer has at least: the entries ask for as many."""


@dataclass(slots=True)
class Needs:
    """``refused``: why it cannot be written at all. ``faults``: what is wrong with a field, by its name."""

    refused: str = ""
    faults: dict[str, str] = field(default_factory=dict[str, str])

    @property
    def met(self) -> bool:
        """True when it may be written."""
        return not self.refused and not self.faults


def flag_words(flag: Screen) -> str:
    """An open red flag by its item and day."""
    return f'"{flag.item}" of {full_date(flag.on)}'


def flag_refusal(view: View, what: str) -> str:
    """The one sentence that refuses ``what`` while a possible red flag is open; empty when none is."""
    flags = open_flags(view)
    if not flags:
        return ""
    named = " and ".join(flag_words(f) for f in flags)
    return f"No {what} while the possible red flag {named} is open: record its outcome first."


def power_refusal(view: View) -> str:
    """The one sentence that refuses a discharge while lift or strength is being lost; empty when none is."""
    lost = power_loss(view)
    return f'No discharge while "{MATTER}" is not answered: record {lost.asked} first.' if lost else ""


def finding_refusal(view: View) -> str:
    """The one sentence that refuses a discharge while a finding is not acted on; empty when none is open."""
    found = findings_to_act_on(view)
    if not found:
        return ""
    named = " and ".join(f'"{one.sentence}"' for one in found)
    return f"No discharge while {named} is not answered: record {found[0].answered_by} first."


def message_refusal(view: View) -> str:
    """The one sentence that refuses a discharge while an urgent message waits; empty when none does."""
    waiting = urgent_message(view)
    return f"No discharge before the message is answered: {waiting.sentence}." if waiting else ""


# --- seen, rebook ---------------------------------------------------------------------------------------


def seen(view: View, on: date) -> Needs:
    """A visit recorded late: not ahead, not before the first visit, not on a day recorded as missed."""
    needs = Needs()
    first = view.episode_first_visit
    missed = [a for a in view.upto("attendances") if a.booked_for == on and a.outcome != "attended"]
    seen_on = f"seen on: {full_date(on)}"
    if on > view.today:
        needs.faults["on"] = f"{seen_on} lies ahead; at the latest {full_date(view.today)}."
    elif first and on < first:
        needs.faults["on"] = f"{seen_on} is before the first visit, {full_date(first)}."
    elif missed:
        outcome = missed[-1].outcome
        needs.faults["on"] = f"{seen_on} is recorded as {outcome}; correct that entry, or choose another day."
    return needs


def due_after_seen(view: View, on: date, interval: int | None = None) -> date | None:
    """The date the next review falls due once a visit of ``on`` is recorded."""
    if view.last_visit and view.last_visit.on > on:
        return clocks.due(view)
    days = interval or clocks.stage_interval(view, on)
    return on + timedelta(days=days) if days else None


def rebook(view: View, wanted: date | None, reason: str, *, earliest: date, at: str | None = None) -> Needs:
    """A slot for ``wanted``, from ``earliest`` on; far ahead in a time-gated stage it takes a reason.

    A date that is booked is booked again only to say its hour ``at``, or another one.
    """
    needs = Needs()
    latest = usual_latest(view)
    if wanted is None:
        needs.faults["slot"] = "book for: say a date, such as Thu, 5 Mar or +7."
    elif wanted < earliest:
        needs.faults["slot"] = f"book for: {full_date(wanted)} is too early; from {full_date(earliest)} on."
    elif wanted in ahead(view) and at in (None, hour_of(view, wanted)):
        needs.faults["slot"] = f"book for: {full_date(wanted)} is booked already."
    elif latest and wanted > latest and not reason:
        needs.faults["slot_reason"] = (
            f"why so late: {full_date(wanted)} is more than one interval ahead in a time-gated stage; "
            f"give a reason, or book by {full_date(latest)}."
        )
    return needs


def usual_latest(view: View) -> date | None:
    """In a time-gated stage: one review interval from today; later slots take a reason. Else None."""
    days = clocks.interval(view) if clocks.in_protected_stage(view) else None
    return view.today + timedelta(days=days) if days else None


# --- hold -----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldAsk:
    """A hold as it was typed."""

    reason: str = ""
    until: date | None = None
    named: str = ""
    note: str = ""


def longest_hold(view: View) -> date:
    """The latest end of a hold that begins today."""
    return view.today + timedelta(days=view.rules["hold.most_days"])


def hold(view: View, ask: HoldAsk) -> Needs:
    """A hold: a reason, an end at most some weeks ahead, who agreed in a protected stage, no red flag."""
    needs = Needs(flag_refusal(view, "hold") or _not_open(view, "hold"))
    latest, most = longest_hold(view), view.rules["hold.most_days"]
    if ask.reason not in HOLD_REASONS:
        needs.faults["reason"] = f"reason: choose 1 to {len(HOLD_REASONS)}."
    elif ask.reason == "other" and not ask.note:
        needs.faults["note"] = "note: say what the other reason is."
    if ask.until is None:
        needs.faults["until"] = f"until: a hold needs an end date, at the latest {full_date(latest)}."
    elif not view.today < ask.until <= latest:
        allowed = f"from tomorrow to {full_date(latest)} ({most} days)"
        needs.faults["until"] = f"until: {full_date(ask.until)} is not allowed; {allowed}."
    if clocks.in_protected_stage(view) and not ask.named:
        stage = view.span.stage if view.span else ""
        needs.faults["named"] = f"agreed with: protected stage {stage}, name the surgeon or lead who agreed."
    return needs


def _not_open(view: View, what: str) -> str:
    code = view.record.code
    if view.closed:
        return f"{code} is closed: reopen it before a {what}."
    return f"{code} waits for its first visit: there is nothing to {what} yet." if view.waiting else ""


def review_under_hold(view: View, until: date) -> tuple[date, date] | None:
    """(review due then, review due now) when a hold until ``until`` moves it; None when it does not."""
    due = clocks.original_due(view)
    return (until, due) if due and until > due else None


# --- refer ----------------------------------------------------------------------------------------------


def refer(view: View, to: str, urgency: str, about: str, sent: date) -> Needs:
    """A referral: to whom, how urgent, about what, and the date it was sent."""
    needs = Needs()
    if not to:
        needs.faults["to"] = "to: say to whom, such as surgeon or general practitioner."
    if not urgency:
        needs.faults["urgency"] = "urgency: choose one."
    if not about:
        needs.faults["about"] = "about: choose one."
    if sent > view.today:
        latest = full_date(view.today)
        needs.faults["sent"] = f"sent on: {full_date(sent)} lies ahead; at the latest {latest}."
    return needs


def referrals_waiting(view: View) -> list[Referral]:
    """Referrals of the episode that nothing has come back of, oldest first."""
    answered = view.since("referral_answers", view.episode_start)
    sent: list[Referral] = view.since("referrals", view.episode_start)
    return [r for r in sent if not any(a.about == r.about and view.answers(a, r) for a in answered)]
