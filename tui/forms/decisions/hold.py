"""A hold: a reason, an end, who agreed; or the end of one."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from armrise.store.clinic.actions import needs
from armrise.store.clinic.case.view import View
from armrise.store.clinic.time import clocks
from armrise.store.record.kinds.plan import HOLD_REASONS
from armrise.tui.forms.decisions.booking import review_line
from armrise.tui.forms.kit.fields import Pick
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Plan
from armrise.tui.forms.kit.viewed import ViewForm
from armrise.tui.words.entries import day
from armrise.tui.words.standing import plural


class HoldScreen(ViewForm):
    """Puts a case on hold until a date, or ends the hold it is on."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f4", "end_hold", "End the hold today", id="hold.end"),
    ]
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

    def rows(self) -> Iterable[Widget]:
        """Reason, end, who agreed, note."""
        yield Pick("reason", HOLD_REASONS, flow=True, key="reason")
        yield Line("until", key="until", longest=20)
        yield Line("agreed with", key="named", longest=60)
        yield Line("note", key="note", longest=200)

    def on_mount(self) -> None:
        """Start at the reason."""
        super().on_mount()
        self.query_one("#reason").focus()

    def fit(self, view: View) -> None:
        """Nothing is asked to end a hold; a name only in a protected stage."""
        for key in ("reason", "until", "note"):
            self.show(key, not self.ending)
        self.show("named", not self.ending and clocks.in_protected_stage(view))
        self.query_one("#named", Line).say_beside("surgeon or lead")
        latest = needs.longest_hold(view)
        self.say_day("until", f"latest {day(latest, year=False)}")

    def ask(self) -> needs.HoldAsk:
        """The hold as typed."""
        return needs.HoldAsk(
            reason=self.picked("reason"),
            until=self.day_ahead("until"),
            named=self.line("named"),
            note=self.line("note"),
        )

    def plan_of(self, view: View) -> Plan:
        """The hold, and what becomes of the review; or its end."""
        if self.ending:
            return self.end_plan(view)
        ask = self.ask()
        asked = needs.hold(view, ask)
        if not asked.met or ask.until is None:
            return self.lacking(asked)
        values = {"reason": ask.reason, "until": ask.until, "note": ask.note, "named": ask.named}
        plan = Plan([("hold", {name: value for name, value in values.items() if value})])
        by = f", agreed with {ask.named}" if ask.named else ""
        note = f": {ask.note}" if ask.note else ""
        plan.words.append(f"on hold from today, back on {day(ask.until)}: {ask.reason}{note}{by}")
        moved = needs.review_under_hold(view, ask.until)
        if moved:
            plan.words.append(f"(review then due {day(moved[0])}; was due {day(moved[1])})")
        if clocks.in_protected_stage(view):
            plan.words.append('(healing dates keep running; "out of sight" still speaks)')
        return plan

    def end_plan(self, view: View) -> Plan:
        """A hold that ends today."""
        held = clocks.hold_now(view)
        if held is None:
            return Plan(refused=f"{view.record.code} is not on hold: there is nothing to end.")
        plan = Plan([("hold", {"reason": held.hold.reason, "until": view.today})])
        plan.words.append(f"the hold since {day(held.start)} ends today, not on {day(held.end)}")
        due = clocks.original_due(view)
        if due:
            then = "" if due >= view.today else f" today; was due {day(due)}"
            plan.words.append(f"(review then due{then or f' {day(due)}'})")
        return plan

    def action_end_hold(self) -> None:
        """Turn to ending the hold."""
        if self.held_now() and self.may_end and not self.busy:
            self.ending = True
            self.typing()
            self._retell()

    def _retell(self) -> None:
        from textual.widgets import Static

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
