"""Clocks: days in stage, holds, the review owed, silence, missed visits, and protected cases out of sight.

Whole calendar days by clinic-local dates throughout. Healing gates are no clock of this room: biology does
not pause, so a hold never moves them.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from itertools import zip_longest
from typing import Any, NamedTuple

from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.standing import Review
from armrise.store.clinic.case.turns import turns
from armrise.store.clinic.case.view import DAY, NeedsFullHistory, View, newest
from armrise.store.clinic.time.diary import keeps_diary
from armrise.store.record.kinds.care import MISSED, Appointment, Attendance, Contact
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import Finding, Measure, Score
from armrise.store.record.kinds.pain import Morning, PeriodSummary
from armrise.store.record.kinds.plan import Hold, Step
from armrise.store.record.kinds.safety import Screen
from armrise.store.record.words import count_days, days_ago, month_day

DATA_FIELDS = (
    *("visits", "sessions", "mornings", "summaries", "measures", "scores", "screens", "events", "findings"),
)
"""Kinds that tell something about the patient, beside contacts. A booking or a letter does not."""


# --- holds ----------------------------------------------------------------------------------------------


class Pause(NamedTuple):
    """A hold as it turned out: from ``start`` until ``end`` (exclusive)."""

    start: date
    end: date
    hold: Hold


@once_a_view
def pauses(view: View) -> list[Pause]:
    """Holds up to today, oldest first; a later hold cuts an earlier one short."""
    holds = view.since("holds", view.episode_start)
    pairs = zip_longest(holds, holds[1:])
    found = [Pause(h.on, min(h.until, later.on) if later else h.until, h) for h, later in pairs]
    return [pause for pause in found if pause.end > pause.start]


@once_a_view
def hold_now(view: View) -> Pause | None:
    """The hold active today: start <= today < end."""
    return newest([p for p in pauses(view) if p.start <= view.today < p.end])


HOLD_TURNS = turns("holds", days=lambda view: [hold.until for hold in view.upto("holds")])
"""When a hold begins or ends."""


def days_paused(view: View, first: date) -> int:
    """Days on hold between ``first`` and today."""
    return _paused_between(view, first, view.today)


def _paused_between(view: View, first: date, last: date) -> int:
    return sum(max(0, (min(p.end, last) - max(p.start, first)).days) for p in pauses(view))


# --- days in stage --------------------------------------------------------------------------------------


@once_a_view
def total_days(view: View) -> int | None:
    """Days in the present stage over all stays of this episode."""
    if view.span is None:
        return None
    start = view.episode_start
    return sum((end - first).days for first, end in _stays(view) if start is None or first >= start)


@once_a_view
def counted_days(view: View) -> int | None:
    """Total days in the stage less the days on hold: what "long in stage" counts."""
    total = total_days(view)
    return None if total is None else total - sum(_paused_between(view, *stay) for stay in _stays(view))


def _stays(view: View) -> list[tuple[date, date]]:
    """(first day, end, today at the latest) of every stay in the present stage."""
    stage = view.span.stage if view.span else None
    here = [s for s in view.history.spans if s.stage == stage and s.start <= view.today]
    return [(s.start, min(s.end or view.today, view.today)) for s in here]


def steps_here(view: View) -> tuple[Step, ...]:
    """The steps into the present stage in this episode, from which its days count, oldest first."""
    start, stage = view.episode_start, view.span.stage if view.span else None
    here = [s for s in view.history.spans if s.stage == stage and s.start <= view.today]
    return tuple(s.step for s in here if start is None or s.start >= start)


def first_here(view: View) -> date | None:
    """The first day in the present stage in this episode."""
    return min((step.on for step in steps_here(view)), default=view.stage_start)


# --- the review owed ------------------------------------------------------------------------------------


def stage_interval(view: View, day: date) -> int | None:
    """The review interval in days of the stage the case was in on ``day``."""
    stage = view.history.stage_on(day)
    if stage is None:
        # A stage gone from the rule file must not silence "overdue": the shortest interval holds.
        pathway = view.history.pathway_of(view.history.record.pathway)
        return min((s.review.whole for s in pathway.stages), default=None) if pathway else None
    early, within = stage.review_early, stage.review_early_days
    if early and within and view.first_visit and (day - view.first_visit).days < within.whole:
        return early.whole
    return stage.review.whole


@once_a_view
def interval(view: View) -> int | None:
    """The review interval in days: as set at the last visit, else that of the stage at that visit."""
    visit = view.last_visit
    if visit is not None:
        return visit.interval or stage_interval(view, visit.on)
    return stage_interval(view, view.stage_start) if view.stage_start else None


@once_a_view
def original_due(view: View) -> date | None:
    """The date the next review falls due, before any hold moves it."""
    days = interval(view)
    start = view.last_visit.on if view.last_visit else view.stage_start
    if days is None or start is None:
        return None
    waived = [d.on for d in view.since("decisions", start) if d.about == "review not needed"]
    return (max(waived) if waived else start) + timedelta(days=days)


@once_a_view
def due(view: View) -> date | None:
    """The date the review is due: the original one, or the end of a hold that reaches past it."""
    original = original_due(view)
    if original is None:
        return None
    last = view.last_visit.on if view.last_visit else None
    ends = [p.end for p in pauses(view) if last is None or p.end > last]
    return max([original, *ends])


def due_rests_on(view: View) -> tuple[int, ...]:
    """The entries behind the due date: the visit or step it counts from, and what waived or moved it."""
    start = view.last_visit or (view.span.step if view.span else None)
    if start is None:
        return ()
    waived = [d.id for d in view.since("decisions", start.on) if d.about == "review not needed"]
    day = due(view)
    return (start.id, *waived, *(p.hold.id for p in pauses(view) if p.end == day))


def overdue_days(view: View) -> int:
    """Days past the due date, 0 when due today or later."""
    return max(0, view.days_since(due(view)) or 0)


def next_slot(view: View) -> Appointment | None:
    """The next booked slot from today on that has not been cancelled or kept; of one date that told last."""
    seen = {v.on for v in view.upto("visits")}
    slots: list[Appointment] = view.upto("appointments")
    ahead = [s for s in slots if s.booked_for >= view.today and s.booked_for not in seen]
    waiting = [s for s in ahead if settled_by(view, s) is None]
    first = min((s.booked_for for s in waiting), default=None)
    told = (s for s in waiting if s.booked_for == first)
    return max(told, key=lambda s: (s.recorded_at, s.id), default=None)


def settled_by(view: View, slot: Appointment) -> Attendance | None:
    """The newest entry about what became of a slot, of those recorded after it was booked."""
    booked_at = (slot.recorded_at, slot.id)
    about = [a for a in view.upto("attendances") if a.booked_for == slot.booked_for]
    return newest([a for a in about if (a.recorded_at, a.id) >= booked_at])


@once_a_view
def review(view: View) -> Review:
    """The review owed, in dates and as a share of its interval; none once the case is closed."""
    if view.closed:
        return Review(None, None, 0, 0.0, **_slot(view))
    day, days = due(view), interval(view)
    over = overdue_days(view)
    original = original_due(view)
    ended = [p.end for p in pauses(view) if day and p.end == day and p.end <= view.today and original != day]
    note = ""
    if ended and original:
        note = f"hold ended {month_day(ended[-1])}, no decision; was due {month_day(original)}"
    elif original and day != original:
        note = f"was due {month_day(original)}, moved by the hold"
    ratio = over / days if days else 0.0
    moved_from = original if original != day else None
    return Review(day, days, over, ratio, original_due=moved_from, note=note, **_slot(view))


def _slot(view: View) -> dict[str, Any]:
    slot = next_slot(view)
    return {"booked": slot.booked_for if slot else None, "booked_at": slot.at if slot else None}


# --- silence --------------------------------------------------------------------------------------------


@once_a_view
def last_data(view: View) -> date | None:
    """The newest date with data of any kind: a check-in, visit, measurement, answer or contact."""
    newest_day = max((e.on for e in last_told(view)), default=None)
    known_from = view.record.known_from
    if known_from and (newest_day is None or newest_day < known_from):
        raise NeedsFullHistory
    return newest_day


@once_a_view
def last_told(view: View) -> list[Entry]:
    """The newest entries that are data, those of one date."""
    fields = (view.upto(name) for name in (*DATA_FIELDS, "contacts"))
    told = [last for found in fields if (last := next((e for e in reversed(found) if tells(e)), None))]
    return [e for e in told if e.on == max(t.on for t in told)]


def tells(entry: Entry) -> bool:
    """Whether it says something of the patient: nothing repeated or absent, no unanswered call."""
    match entry:
        case Measure():
            return entry.real
        case Score():
            return isinstance(entry.total, Decimal)
        case Morning():
            return isinstance(entry.pain, int)
        case PeriodSummary():
            return entry.tells
        case Screen() | Finding():
            return entry.answer in ("yes", "no")
        case Contact():
            return entry.spoken
        case _:
            return True


@once_a_view
def silence_threshold(view: View) -> int | None:
    """Days without data that count as silence: a share of the review interval, with floor and cap.

    Where no diary is kept nothing is expected between visits, so that it is longer than the interval.
    """
    days = interval(view)
    if days is None:
        return None
    rules = view.rules
    share = -(-days * rules["silence.numerator"] // rules["silence.denominator"])
    usual = min(max(share, rules["silence.floor_days"]), rules["silence.cap_days"])
    return usual if diary_kept(view) else max(usual, days + rules["silence.no_diary_extra"])


def diary_kept(view: View) -> bool:
    """Whether anything was told at home, between visits, in the weeks up to the newest data."""
    newest_day = last_data(view)
    return newest_day is not None and keeps_diary(view, newest_day)


def silent_days(view: View) -> int | None:
    """Days since the last data, without the days on hold; None before there was any."""
    last = last_data(view)
    return None if last is None else (view.today - last).days - days_paused(view, last)


# --- missed visits --------------------------------------------------------------------------------------


@once_a_view
def last_contact(view: View) -> date | None:
    """The newest visit or contact in which somebody spoke with the patient or carer."""
    days = [c.on for c in view.upto("contacts") if c.spoken]
    days += [v.on for v in view.upto("visits")]
    days += [a.booked_for for a in view.upto("attendances") if a.outcome == "attended"]
    return max([d for d in days if d <= view.today], default=None)


@once_a_view
def missed(view: View) -> list[Attendance]:
    """Missed visits in a row: since the last attendance or contact, oldest first."""
    return sorted(_missed_after(view, last_contact(view)), key=lambda a: (a.booked_for, a.id))


def _missed_after(view: View, day: date | None) -> list[Attendance]:
    """Missed visits of slots after ``day``, in the order of entry."""
    misses = [a for a in view.upto("attendances") if a.outcome in MISSED and a.booked_for <= view.today]
    return [a for a in misses if day is None or a.booked_for > day]


def missed_unanswered(view: View) -> list[Attendance]:
    """The missed visits that are a reason now: two in a row, or one without contact for a week.

    A new booking answers them until the next miss; the count goes on.
    """
    found = missed(view)
    if not found:
        return []
    last = found[-1].booked_for
    if any(a.on >= last and a.booked_for > last for a in view.upto("appointments")):
        return []
    rules = view.rules
    if len(found) >= rules["missed.in_row"]:
        return found
    return found if (view.today - last).days >= rules["missed.contact_days"] else []


def _days_of_misses(view: View) -> list[date]:
    """The days of the slots, which may have been told before, and those on which a contact was due."""
    within = timedelta(days=view.rules["missed.contact_days"])
    slots = [a.booked_for for a in view.upto("attendances")]
    return [*slots, *(day + within for day in slots)]


MISS_TURNS = turns("attendances", "contacts", "appointments", days=_days_of_misses)
"""When missed visits become a reason, and when they are none any more."""


class Lost(NamedTuple):
    """A protected case out of sight: since when, days since the last contact, and why."""

    since: date
    days: int
    sentence: str
    evidence: tuple[int, ...]


def in_protected_stage(view: View) -> bool:
    """True in a time-gated stage; a stage the rule file no longer has counts where the pathway heals."""
    if view.stage is not None:
        return view.stage.protected
    return view.pathway is not None and view.pathway.clock is not None


def lost(view: View) -> Lost | None:
    """The reason "protected case out of sight" on the view's date."""
    if view.closed or view.span is None or not in_protected_stage(view):
        return None
    visit = view.last_visit.on if view.last_visit else view.stage_start
    misses = _missed_after(view, visit)
    original = original_due(view)
    trigger = original + timedelta(days=view.rules["lost.overdue_days"]) if original else None
    late = trigger if trigger and trigger <= view.today else None
    spoken = [c.on for c in view.upto("contacts") if c.spoken and (visit is None or c.on >= visit)]
    contact = max(spoken, default=None)
    since = _lost_since(view, [a.booked_for for a in misses], late, contact)
    if since is None:
        return None
    days = (view.today - (last_contact(view) or since)).days
    ids = [*(a.id for a in misses), *(due_rests_on(view) if late else ())]
    return Lost(since, days, _lost_words(view, misses, days), tuple(ids))


def _lost_since(view: View, misses: list[date], late: date | None, contact: date | None) -> date | None:
    """The date it became true, or None while a contact answers it."""
    triggers: list[date] = sorted([*misses, late] if late else misses)
    if not triggers:
        return None
    if contact is None:
        return triggers[0]
    quiet_until = contact + timedelta(days=view.rules["lost.contact_days"]) - DAY
    if late and view.today > quiet_until:
        return triggers[0]
    newer = [m for m in misses if m > contact]
    return min(newer) if newer else None


def _lost_words(view: View, misses: list[Attendance], days: int) -> str:
    parts: list[str] = []
    if misses:
        miss = misses[-1]
        ago = (view.today - miss.booked_for).days
        what = "was not brought" if miss.outcome == "was not brought" else "missed visit"
        parts.append(f"{what} {days_ago(ago)}")
        calls = view.since("contacts", miss.booked_for)
        if any(c.outcome == "no answer" and not c.spoken for c in calls):
            parts.append("phone unanswered")
    over = view.days_since(original_due(view)) or 0
    if over > 0:
        parts.append(f"review {count_days(over)} overdue")
    parts.append(f"last contact {days_ago(days)}")
    return ", ".join(parts)
