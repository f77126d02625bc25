"""Booking: what became of slots that are past, and the next slot."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from textual.containers import Vertical
from textual.widget import Widget

from armrise.store.clinic.actions import needs
from armrise.store.clinic.case.view import View
from armrise.store.clinic.time import clocks, slots
from armrise.store.record.kinds.care import MISSED
from armrise.tui.forms.kit.fields import Pick
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.forms.kit.viewed import ViewForm
from armrise.tui.words.entries import day
from armrise.tui.words.standing import plural


class BookingScreen(ViewForm):
    """Records what became of each slot, one key each, and books another."""

    heading = "Booking"
    must_book = False
    """True where a slot has to be given."""

    def lead(self) -> str:
        """The review owed, what is booked, and missed visits in a row."""
        if self.view is None:
            return ""
        return "\n".join(line for line in (review_line(self.view), missed_line(self.view)) if line)

    def rows(self) -> Iterable[Widget]:
        """Slots to answer, then the slot to book."""
        yield Vertical(id="slots")
        yield Line("book for", key="slot", longest=20)
        yield Line("why so late", key="slot_reason", longest=200)

    def on_mount(self) -> None:
        """A reason is asked only where it is needed."""
        super().on_mount()
        self.query_one("#slots").styles.height = "auto"
        self.show("slot_reason", False)
        self.query_one("#slot", Line).focus()

    def read_in(self, view: View) -> None:
        """One list for each slot: past ones with every outcome, those ahead with a cancellation only."""
        rows: list[SlotPick] = []
        for on in slots.unanswered(view):
            rows.append(SlotPick(on, slots.outcomes_for(view), "what became of it"))
        for on in slots.ahead(view)[:2]:
            rows.append(SlotPick(on, slots.CANCELLED, "stands, unless cancelled"))
        box = self.query_one("#slots", Vertical)
        if [row.on for row in self.query(SlotPick)] != [row.on for row in rows]:
            box.remove_children()
            box.mount_all(rows)
        if rows and slots.unanswered(view) and not self.must_book:
            self.call_after_refresh(rows[0].focus)

    def fit(self, view: View) -> None:
        """Why a late slot is late, where that is asked."""
        wanted, latest = self.day_ahead("slot"), needs.usual_latest(view)
        self.show("slot_reason", bool(wanted and latest and wanted > latest))
        self.say_day("slot", f"usually by {day(latest, year=False)}" if latest else "")

    def earliest(self) -> date:
        """The first day that may be booked."""
        return self.door.today

    def plan_of(self, view: View) -> Plan:
        """Attendances, then the booking, each followed by what it calls for."""
        plan = Plan(nothing="Choose what became of a slot, or type a date to book.")
        for row in self.query(SlotPick):
            if row.value:
                plan.drafts.append(row.draft(self.door.today))
                plan.words += row.words(view)
        if not (self.line("slot") or self.must_book):
            return plan
        wanted, reason = self.day_ahead("slot"), self.line("slot_reason")
        asked = needs.rebook(view, wanted, reason, earliest=self.earliest())
        if wanted is None and self.line("slot"):
            asked.faults["slot"] = f'book for: "{self.line("slot")}" is no date; say Thu, 5 Mar or +7.'
        if not asked.met or wanted is None:
            return Plan(plan.drafts, plan.words, asked.faults, self.lacking(asked).nothing)
        plan.drafts.append(booking(wanted, reason))
        plan.words += booked_words(view, wanted, reason)
        return plan


class SlotPick(Pick):
    """What became of one slot."""

    def __init__(self, on: date, options: tuple[str, ...], beside: str) -> None:
        label = f"slot of {day(on, year=False)}"
        super().__init__(label, options, flow=True, beside=beside, key=f"slot-{on.isoformat()}")
        self.on = on
        self.blank = "choose" if "attended" in options else "booked"

    def draft(self, today: date) -> Draft:
        """The attendance: dated on the day of the slot, or today for one cancelled ahead of it."""
        return (
            "attendance",
            {"on": min(self.on, today), "booked_for": self.on, "outcome": self.value},
        )

    def words(self, view: View) -> list[str]:
        """What is written, what follows, and for who was not brought a thought of safeguarding."""
        told = [f"slot of {day(self.on)}: {self.value}"]
        follows = slots.follows(view, self.on, self.value)
        if follows:
            told.append(f"({follows})")
        if self.value in MISSED and slots.brought_by_others(view):
            told.append(f"({slots.SAFEGUARDING})")
        return told


def booking(wanted: date, reason: str) -> Draft:
    """An appointment made today."""
    values = {"booked_for": wanted, "reason": reason}
    return ("appointment", values if reason else {"booked_for": wanted})


def booked_words(view: View, wanted: date, reason: str) -> list[str]:
    """What is written; an overdue review stays overdue until the patient is seen."""
    told = [f"booked for {day(wanted)}" + (f": {reason}" if reason else "")]
    if clocks.overdue_days(view):
        told.append("(the review stays overdue until the patient is seen)")
    return told


def review_line(view: View) -> str:
    """The review owed and the next slot, in one line."""
    review = clocks.review(view)
    slot = f"booked {day(review.booked, year=False)}" if review.booked else "none booked"
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
    return f"{what} {len(misses)} in a row ({days}); {wrote}."
