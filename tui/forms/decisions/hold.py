"""A hold: a reason, an end, who agreed; or the end of one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType

from armrise.store.clinic.actions import needs
from armrise.store.clinic.case.view import View
from armrise.store.clinic.time import clocks
from armrise.store.record.kinds.plan import Hold
from armrise.tui.forms.decisions.booking import review_line
from armrise.tui.forms.kit.asked import Ask
from armrise.tui.forms.kit.plan import Draft
from armrise.tui.forms.kit.record import RecordForm
from armrise.tui.widgets.static import Static
from armrise.tui.words.entries import day
from armrise.tui.words.standing import plural


class HoldScreen(RecordForm):
    """Puts a case on hold until a date, or ends the hold it is on."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f4", "end_hold", "End the hold today", id="hold.end"),
    ]
    kind = Hold
    asks = (
        Ask("reason"),
        Ask("until"),
        Ask("named", "agreed with", beside="surgeon or lead"),
        Ask("note"),
    )
    ending = False
    may_end = True
    """False where a hold has to be given."""

    @property
    def heading(self) -> str:  # type: ignore[override]
        """Beginning, or ending."""
        return "End the hold" if self.ending else "Hold"

    @property
    def keys(self) -> str:  # type: ignore[override]
        """The keys; ending only while there is a hold."""
        ends = "   F4 end the hold today" if self.held_now() and self.may_end and not self.ending else ""
        return f"F2 write{ends}   Esc leave, nothing written   F8 blank"

    def held_now(self) -> clocks.Pause | None:
        """The hold in force."""
        return clocks.hold_now(self.view) if self.view else None

    def lead(self) -> str:
        """The review owed, the present hold, and how long this episode has been on hold already."""
        return "\n".join([review_line(self.view), so_far(self.view)]) if self.view else ""

    def fit(self, view: View) -> None:
        """Nothing is asked to end a hold; a name only in a protected stage."""
        for ask in self.asks:
            self.show(ask.id, not self.ending)
        self.show("named", not self.ending and clocks.in_protected_stage(view))
        latest = needs.longest_hold(view)
        self.say_day("until", f"latest {day(latest, year=False)}")

    def checked(self, view: View) -> needs.Needs:
        """What a hold needs; to end one, that there is one."""
        if self.ending:
            code = view.record.code
            refused = "" if self.held_now() else f"{code} is not on hold: there is nothing to end."
            return needs.Needs(refused)
        ask = needs.HoldAsk(
            reason=self.picked("reason"),
            until=self.day_ahead("until"),
            named=self.line("named"),
            note=self.line("note"),
        )
        return needs.hold(view, ask)

    def drafts(self, view: View) -> list[Draft]:
        """The hold; or the one in force again, ending today."""
        held = self.held_now()
        if self.ending and held:
            return [(Hold.KIND, {"reason": held.hold.reason, "until": view.today})]
        return super().drafts(view)

    def follows(self, view: View, drafts: Sequence[Draft]) -> list[str]:
        """What becomes of the review, and what goes on."""
        held, until = self.held_now(), self.day_ahead("until")
        if self.ending and held:
            return self.ended(view, held)
        moved = needs.review_under_hold(view, until) if until else None
        told = [f"(review then due {day(moved[0])}; was due {day(moved[1])})"] if moved else []
        if clocks.in_protected_stage(view):
            told.append('(healing dates keep running; "out of sight" still speaks)')
        return told

    def ended(self, view: View, held: clocks.Pause) -> list[str]:
        """When it began and would have ended, and when the review is due then."""
        told = [f"the hold since {day(held.start)} ends today, not on {day(held.end)}"]
        due = clocks.original_due(view)
        if due:
            then = day(due) if due >= view.today else f"today; was due {day(due)}"
            told.append(f"(review then due {then})")
        return told

    def action_end_hold(self) -> None:
        """Turn to ending the hold."""
        if self.held_now() and self.may_end and not self.busy:
            self.ending = True
            self.typing()
            self.query_one("#form-head", Static).update(self.head())
            self.query_one("#write").focus()
            self.hints()
            self.show_plan()


def so_far(view: View) -> str:
    """The present hold, and days on hold this episode already: no hold is renewed in silence."""
    found = clocks.pauses(view)
    if not found:
        return "Not on hold in this episode so far."
    days = sum((min(p.end, view.today) - p.start).days for p in found)
    held = clocks.hold_now(view)
    now = f"On hold until {day(held.end, year=False)} ({held.hold.reason}). " if held else ""
    return f"{now}On hold this episode already: {plural(days, 'day')}, in {plural(len(found), 'hold')}."
