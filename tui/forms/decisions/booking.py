"""Booking: what became of slots that are past, and the next slot."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from textual.containers import Vertical
from textual.widget import Widget

from armrise.store.clinic.actions import needs
from armrise.store.clinic.case.view import View
from armrise.store.clinic.time import clocks, slots
from armrise.store.record.kinds.care import ATTENDANCES, MISSED, Appointment, Attendance
from armrise.store.record.words import clock_words
from armrise.tui.forms.kit.asked import Ask
from armrise.tui.forms.kit.fields import Pick
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.forms.kit.record import RecordForm
from armrise.tui.words.entries import day, read_time
from armrise.tui.words.standing import plural


class BookingScreen(RecordForm):
    """Records what became of each slot, one key each, and books another."""

    heading = "Booking"
    kind = Appointment
    asks = (
        Ask("booked_for", "book for", key="slot"),
        Ask("reason", "why so late", key="slot_reason", later=True),
        Ask("at", "at what time", key="slot_at", beside="as 09:20, may be left out", later=True),
    )
    must_book = False
    """True where a slot has to be given."""

    def lead(self) -> str:
        """The review owed, what is booked, and missed visits in a row."""
        if self.view is None:
            return ""
        return "\n".join(line for line in (review_line(self.view), missed_line(self.view)) if line)

    def rows(self) -> Iterable[Widget]:
        """Slots to answer, then the slot to book."""
        answering = Vertical(id="slots")
        answering.styles.height = "auto"
        yield answering
        yield from super().rows()

    def read_in(self, view: View) -> None:
        """One list for each slot: past ones with every outcome, those ahead with a cancellation only."""
        past, ahead = slots.unanswered(view), slots.ahead(view)[:2]
        every = [(on, slots.outcomes_for(view), "what became of it") for on in past]
        every += [(on, slots.CANCELLED, "stands, unless cancelled") for on in ahead]
        rows = [SlotPick(on, slots.hour_of(view, on), options, beside) for on, options, beside in every]
        box = self.query_one("#slots", Vertical)
        if [row.on for row in self.query(SlotPick)] != [row.on for row in rows]:
            box.remove_children()
            box.mount_all(rows)
        if rows and slots.unanswered(view) and not self.must_book:
            self.call_after_refresh(rows[0].focus)

    def fit(self, view: View) -> None:
        """The hour of a slot, and why a late one is late, where that is asked."""
        wanted, latest = self.day_ahead("slot"), needs.usual_latest(view)
        self.show("slot_at", wanted is not None)
        self.show("slot_reason", bool(wanted and latest and wanted > latest))
        self.say_day("slot", f"usually by {day(latest, year=False)}" if latest else "")

    def earliest(self) -> date:
        """The first day that may be booked."""
        return self.door.today

    def checked(self, view: View) -> needs.Needs:
        """A slot that may be booked, where one is typed or has to be given."""
        typed, wanted = self.line("slot"), self.day_ahead("slot")
        if not (typed or self.must_book):
            return needs.Needs()
        at = read_time(self.line("slot_at"))
        asked = needs.rebook(view, wanted, self.line("slot_reason"), earliest=self.earliest(), at=at)
        asked.faults |= self.lacks_of("slot_at")
        if typed and wanted is None:
            asked.faults["slot"] = f'book for: "{typed}" is no date; say Thu, 5 Mar or +7.'
        return asked

    def lacking(self, faults: dict[str, str]) -> Plan:
        """What became of the slots is told all the same."""
        plan = super().lacking(faults)
        plan.drafts = [row.draft(self.door.today) for row in self.answered_slots()]
        return plan

    def answered_slots(self) -> list[SlotPick]:
        """The slots of which it was said what became of them."""
        return [row for row in self.query(SlotPick) if row.value]

    def drafts(self, view: View) -> list[Draft]:
        """Attendances, then the booking."""
        drafts = [row.draft(self.door.today) for row in self.answered_slots()]
        return [*drafts, *([(Appointment.KIND, self.stated())] if self.line("slot") else [])]

    def follows(self, view: View, drafts: Sequence[Draft]) -> list[str]:
        """What each outcome calls for; an overdue review stays overdue until the patient is seen."""
        told = [f"({line})" for row in self.answered_slots() for line in row.calls_for(view)]
        if self.line("slot") and clocks.overdue_days(view):
            told.append("(the review stays overdue until the patient is seen)")
        return told

    def plan_of(self, view: View) -> Plan:
        """What is still to choose where nothing is."""
        plan = super().plan_of(view)
        if not (plan.drafts or plan.faults):
            plan.nothing = "Choose what became of a slot, or type a date to book."
        return plan


class SlotPick(Pick):
    """What became of one slot."""

    def __init__(self, on: date, at: str | None, options: tuple[str, ...], beside: str) -> None:
        label = f"slot of {day(on, year=False)}{clock_words(at)}"
        key = f"slot-{on.isoformat()}"
        super().__init__(label, options, of=ATTENDANCES, flow=True, beside=beside, key=key)
        self.on = on
        self.at = at
        self.blank = "choose" if "attended" in options else "booked"

    def draft(self, today: date) -> Draft:
        """The attendance: dated on the day of the slot, or today for one cancelled ahead of it."""
        values = {"on": min(self.on, today), "booked_for": self.on, "at": self.at, "outcome": self.value}
        return (Attendance.KIND, values)

    def calls_for(self, view: View) -> list[str]:
        """What follows, and for who was not brought a thought of safeguarding."""
        follows = slots.follows(view, self.on, self.value)
        missed = self.value in MISSED and slots.brought_by_others(view)
        return [*([follows] if follows else []), *([slots.SAFEGUARDING] if missed else [])]


def review_line(view: View) -> str:
    """The review owed and the next slot, in one line."""
    review = clocks.review(view)
    hour = clock_words(review.booked_at)
    slot = f"booked {day(review.booked, year=False)}{hour}" if review.booked else "none booked"
    if review.due is None:
        return f"No review is owed; {slot}."
    if review.overdue_days:
        late = f"{plural(review.overdue_days, 'day')} overdue, of {review.interval}"
        return f"Review {late}; {slot}." + (f" {review.note.capitalize()}." if review.note else "")
    return f"Review due {day(review.due, year=False)}; {slot}."


def missed_line(view: View) -> str:
    """Missed visits in a row, and whether the patient was written to."""
    misses = clocks.missed(view)
    if not misses:
        return ""
    days = ", ".join(day(a.booked_for, year=False) for a in misses)
    what = "Not brought" if slots.brought_by_others(view) else "Missed"
    letter = slots.letter_to_patient(view)
    wrote = f"letter to the patient sent {day(letter, year=False)}" if letter else "no letter to the patient"
    count = "once" if len(misses) == 1 else f"{len(misses)} times in a row"
    return f"{what} {count} ({days}); {wrote}."
