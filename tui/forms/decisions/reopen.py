"""A closed case opened again: the same episode or a new one, and what is owed anew."""

from __future__ import annotations

from collections.abc import Iterable

from textual.widget import Widget

from armrise.store.clinic.actions import endings
from armrise.store.clinic.case.view import View
from armrise.tui.forms.kit.fields import YesNo
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Plan
from armrise.tui.forms.kit.viewed import ViewForm
from armrise.tui.words.entries import ago, day


class ReopenScreen(ViewForm):
    """Reopens a case by a clinician's decision; a message alone never does."""

    heading = "Reopen"
    write_label = "Reopen"

    def lead(self) -> str:
        """When and how it was closed, and until when a reopening goes on in the same episode."""
        closed = self.view.closed if self.view else None
        if self.view is None or closed is None:
            return ""
        days = self.view.rules["reopening.same_episode_days"]
        return (
            f"Closed {day(closed.on)}, {ago(closed.on, self.view.today)}: {closed.outcome}.\n"
            f"Within {days} days and the same problem: the same episode goes on."
        )

    def rows(self) -> Iterable[Widget]:
        """Same problem or not, and why."""
        yield YesNo("new injury or mechanism", key="new_mechanism")
        yield Line("reason", key="reason", longest=200)

    def on_mount(self) -> None:
        """Start at the question."""
        super().on_mount()
        self.query_one("#new_mechanism").focus()

    def plan_of(self, view: View) -> Plan:
        """The reopening, which episode it is, and what is owed anew."""
        new, reason = self.answered("new_mechanism"), self.line("reason")
        asked = endings.reopen(view, reason, mechanism_answered=new is not None)
        if not asked.met:
            return self.lacking(asked)
        plan = Plan([("reopening", {"new_mechanism": bool(new), "reason": reason})])
        assert view.closed is not None
        gap = (view.today - view.closed.on).days
        if endings.same_episode(view, new_mechanism=bool(new)):
            plan.words.append(f"reopened, the same episode after a gap of {gap} days: {reason}")
            plan.words.append("(all clocks go on)")
        else:
            why = "new mechanism" if new else f"{gap} days after it was closed"
            plan.words.append(f"reopened as a new episode, {why}: {reason}")
            plan.words.append("(clocks start anew; the old episode stays on record)")
        plan.words.append("(owed again: the red-flag screen, and a baseline)")
        return plan
