"""The weekly sweep: which cases are in it, in which order, and until when a decision takes one out.

The queue follows from the entries alone, so a sitting that was broken off goes on where it was. A decision
is an entry; nothing is decided, and nobody is ever discharged, by itself (practice note 1.5).
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from armrise.store.clinic.actions import endings
from armrise.store.clinic.case.standing import Reason, Standing
from armrise.store.clinic.case.view import View
from armrise.store.clinic.standing.triage import sort_key
from armrise.store.clinic.time import clocks, slots
from armrise.store.record.kinds.care import SweepDecision
from armrise.store.record.kinds.head import Entry
from armrise.store.record.light import dataclass
from armrise.store.record.words import clock_words, count_days, full_date, words_date

SWEPT = ("LOST", "OVD2", "DNA", "OVD1", "SIL")
"""Reasons that bring a case into the sweep: overdue, out of sight, missed, silent. Those in hand too."""

COMPANION = {
    "seen": "visits",
    "rebook": "appointments",
    "phone": "contacts",
    "hold": "holds",
    "refer": "referrals",
}
"""What a decision writes beside itself; withdrawn, the decision stands for nothing."""


# --- until when -----------------------------------------------------------------------------------------


def until_of(view: View, decision: str, own: date | None = None, *, reached: bool = True) -> date:
    """Until when a decision of today takes a case out of the sweep.

    ``own`` is the date a decision brings with it: the slot booked, the end of the hold, the next review due,
    the day a referral was sent. A discharge closes the case, so its own day is enough. ``reached`` False is a
    call that nobody answered: a protected case is then asked for again the next day, because an attempt tells
    nothing of a shoulder that is out of sight.
    """
    rules, today = view.rules, view.today
    if decision == "phone":
        alone = not reached and clocks.in_protected_stage(view)
        days = "sweep.unanswered_protected_days" if alone else "sweep.phone_days"
        return today + timedelta(days=rules[days])
    if decision == "refer":
        return (own or today) + timedelta(days=rules["sweep.refer_days"])
    return own or today


def standing_decision(view: View) -> SweepDecision | None:
    """The decision that keeps a case out of the sweep today, or None.

    On its own day a decision always does: the case was decided. Afterwards it does until its date, and not
    when what it rested on is gone, or a visit was missed since.
    """
    decisions: list[SweepDecision] = view.upto("sweep_decisions")
    if not decisions or view.closed:
        return None
    last = max(decisions, key=lambda d: (d.recorded_at, d.id))
    if last.on != view.today and view.today >= last.until:
        return None
    missed_since = any(view.told_after(a, last.recorded_at, last.id) for a in clocks.missed(view))
    return last if _holds(view, last) and not missed_since else None


def _holds(view: View, decision: SweepDecision) -> bool:
    """Whether what the decision wrote still stands; a hold ended or a slot cancelled does not."""
    name = COMPANION.get(decision.decision)
    if name is None:
        return False
    beside: list[Entry] = [e for e in getattr(view.record, name) if e.recorded_on == decision.recorded_on]
    if not beside:
        return False
    if decision.decision == "hold":
        return clocks.hold_now(view) is not None
    if decision.decision == "rebook":
        return decision.until in {*slots.ahead(view), *slots.unanswered(view)}
    return True


# --- the queue ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class SweepCase:
    """A case in the sweep, with everything its screen says."""

    standing: Standing
    reasons: tuple[Reason, ...]
    """Those that bring it here, by rank."""
    contact: str
    tried: str
    booked: str
    guards: tuple[str, ...]


def why(standing: Standing) -> str:
    """The names of the reasons that bring a case into the sweep, as a decision records them."""
    return ", ".join(reason.name for reason in standing.reasons if reason.code in SWEPT)


def in_sweep(view: View, standing: Standing) -> tuple[Reason, ...]:
    """The reasons that bring a case into the sweep today, none when it is not in it."""
    if standing.status not in ("active", "on hold") or standing_decision(view):
        return ()
    return tuple(reason for reason in standing.reasons if reason.code in SWEPT)


def look(view: View, standing: Standing) -> SweepCase | None:
    """The case as the sweep shows it, None when it is not in it."""
    reasons = in_sweep(view, standing)
    if not reasons:
        return None
    contact, tried, slot = contact_words(view), tried_words(view), booked_words(view)
    return SweepCase(standing, reasons, contact, tried, slot, guards(view))


def order(cases: Iterable[SweepCase]) -> list[SweepCase]:
    """As in triage; what triage leaves to the code alone goes by the longest overdue of its interval."""

    def key(case: SweepCase) -> tuple[object, ...]:
        *before, code = sort_key(case.standing)
        return (*before, -case.standing.review.ratio, code)

    return sorted(cases, key=key)


# --- in words -------------------------------------------------------------------------------------------


def contact_words(view: View) -> str:
    """When somebody last saw or spoke with the patient."""
    last = clocks.last_contact(view)
    if last is None:
        return "nobody has seen or spoken with the patient yet"
    how = "seen" if any(v.on == last for v in view.upto("visits")) else "spoken with"
    return f"{how} {full_date(last)}, {count_days((view.today - last).days)} ago"


def tried_words(view: View) -> str:
    """Attempts since then."""
    tried = slots.attempts(view)
    if not tried:
        return "nobody has tried since"
    return f"{len(tried)} since then: {'; '.join(f'{c.outcome} {words_date(c.on)}' for c in tried[-3:])}"


def booked_words(view: View) -> str:
    """The slot ahead, and slots past that nobody has answered."""
    slot = clocks.next_slot(view)
    booked = f"booked {full_date(slot.booked_for)}{clock_words(slot.at)}" if slot else "none booked"
    past = [day for day in slots.unanswered(view) if slot is None or day != slot.booked_for]
    return f"{booked}; slot of {words_date(past[-1])}: not recorded what became of it" if past else booked


def guards(view: View) -> tuple[str, ...]:
    """What to mind before deciding: protected stages, minors, missed visits in a row, holds already had."""
    told: list[str] = []
    if clocks.in_protected_stage(view):
        stage = view.span.stage if view.span else ""
        days = count_days(view.rules["discharge.protected_attempts"])
        told.append(
            f"Protected stage {stage}: phone today, see within the week. A hold names who agreed; "
            f"a discharge takes contact tried on {days} and the referrer told."
        )
    if slots.brought_by_others(view):
        told.append(slots.SAFEGUARDING)
    missed = endings.unanswered_misses(view)
    if missed and len(clocks.missed(view)) >= view.rules["missed.in_row"]:
        told.append(missed)
    days = sum((min(p.end, view.today) - p.start).days for p in clocks.pauses(view))
    if days:
        told.append(f"On hold this episode already: {count_days(days)}.")
    return tuple(told)
