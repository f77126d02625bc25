"""A decision about a named matter: carry on, plan reviewed, review not needed; and what it silences."""

from __future__ import annotations

from collections.abc import Sequence

from armrise.store.clinic.case.view import View
from armrise.store.clinic.standing.decisions import silences, usual_matter
from armrise.store.record.kinds.paperwork import Decision
from armrise.tui.forms.kit.asked import Ask
from armrise.tui.forms.kit.effect import verdict_words
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.forms.kit.record import RecordForm


class DecisionScreen(RecordForm):
    """Records a decision; says what it ends or silences, and for how long."""

    heading = "Decision"
    kind = Decision
    asks = (
        Ask("about"),
        Ask("note", beside="carry on, plan reviewed"),
        Ask("on", key="day"),
    )

    def lead(self) -> str:
        """The verdict that may be waiting for an answer."""
        return f"Now {verdict_words(self.standing)}"

    def proposal(self, ask: Ask) -> str:
        """The matter that waits for an answer."""
        return usual_matter(self.standing) if ask.name == "about" else ask.value

    def lacking(self, faults: dict[str, str]) -> Plan:
        """What a decision about this matter would do, before the note is typed."""
        plan = super().lacking(faults)
        if self.picked("about"):
            plan.nothing = f"Type the note. A decision about {self.picked('about')} {self.does()}."
        return plan

    def does(self) -> str:
        """What a decision about the chosen matter ends or silences."""
        assert self.view is not None
        return silences(self.view, self.picked("about"), self.on_day("day"))

    def follows(self, view: View, drafts: Sequence[Draft]) -> list[str]:
        """What it ends or silences, then what changes."""
        return [f"it {self.does()}", *super().follows(view, drafts)]
