"""A closed case opened again: the same episode or a new one, and what is owed anew."""

from __future__ import annotations

from collections.abc import Sequence

from armrise.store.clinic.actions import endings
from armrise.store.clinic.actions.needs import Needs
from armrise.store.clinic.case.view import View
from armrise.store.record.kinds.paperwork import Reopen
from armrise.store.record.words import count_days
from armrise.tui.forms.kit.asked import Ask
from armrise.tui.forms.kit.plan import Draft
from armrise.tui.forms.kit.record import RecordForm
from armrise.tui.words.entries import ago, day


class ReopenScreen(RecordForm):
    """Reopens a case by a clinician's decision; a message alone never does."""

    heading = "Reopen"
    write_label = "Reopen"
    kind = Reopen
    asks = (Ask("new_mechanism", "new injury or mechanism"), Ask("reason"))

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

    def checked(self, view: View) -> Needs:
        """The same problem or not, and why."""
        answered = self.answered("new_mechanism") is not None
        return endings.reopen(view, self.line("reason"), mechanism_answered=answered)

    def follows(self, view: View, drafts: Sequence[Draft]) -> list[str]:
        """Which episode it is, and what is owed anew."""
        assert view.closed is not None
        new, gap = bool(self.answered("new_mechanism")), count_days((view.today - view.closed.on).days)
        if endings.same_episode(view, new_mechanism=new):
            told = [f"(the same episode after a gap of {gap}: all clocks go on)"]
        else:
            why = "new mechanism" if new else f"{gap} after it was closed"
            told = [f"(a new episode, {why}: clocks start anew; the old episode stays on record)"]
        return [*told, "(owed again: the red-flag screen, and a baseline)"]
