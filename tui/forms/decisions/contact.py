"""A call or message: what came of it, and what was agreed."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from textual.widget import Widget

from armrise.store.record.kinds.care import CONTACT_OUTCOMES, SPOKEN
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.fields import Pick, YesNo
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Plan
from armrise.tui.words.entries import day, identifying

FLAGS = {"load_cut": "load cut", "plan_corrected": "plan corrected", "surgeon_told": "surgeon told"}


class ContactScreen(FormScreen):
    """Records a contact, an attempt, or a message received."""

    READING = (
        "A call made or a message received. An attempt reaches nobody and is no contact.",
        "Load cut puts a flare in hand for a week; it needs somebody who was spoken to.",
        *FormScreen.READING,
    )
    heading = "Contact"

    def lead(self) -> str:
        """Why one would ring: the live reasons, at most three."""
        return "\n".join(reason.sentence for reason in self.standing.reasons[:3])

    def rows(self) -> Iterable[Widget]:
        """Outcome, the three agreements, a note, the day."""
        yield Pick("outcome", CONTACT_OUTCOMES, flow=True, key="outcome")
        yield YesNo("load cut", value="n", key="load_cut")
        yield YesNo("plan corrected", value="n", key="plan_corrected")
        yield YesNo("surgeon told", value="n", key="surgeon_told")
        yield Line("note", key="note", longest=200)
        yield DayField("on", self.door.today, self.door.today, key="day")

    def on_mount(self) -> None:
        """Start at the outcome."""
        super().on_mount()
        self.query_one("#outcome").focus()

    @property
    def on_day(self) -> date:
        """The chosen day."""
        return self.query_one("#day", DayField).chosen

    def typing(self) -> None:
        """A note that looks like a name or number is warned about, not refused."""
        line = self.query_one("#note", Line)
        line.warn(identifying(line.value))

    def plan(self) -> Plan:
        """One contact entry."""
        plan = Plan(nothing="Choose the outcome.")
        outcome = self.query_one("#outcome", Pick).value
        said = {name: self.query_one(f"#{name}", YesNo).yes for name in FLAGS}
        faults = self._faults(outcome, said)
        if faults:
            return Plan(faults=faults, nothing="Put the marked field right before it can be written.")
        if not outcome:
            return plan
        note = self.query_one("#note", Line).value
        values = {"on": self.on_day, "outcome": outcome, **said}
        plan.drafts.append(("contact", {**values, "note": note} if note else values))
        agreed = [words for name, words in FLAGS.items() if said[name]]
        told = [f"contact on {day(self.on_day)}: {outcome}", *agreed, note]
        plan.words.append("; ".join(words for words in told if words))
        if outcome not in SPOKEN:
            plan.words.append("(nobody was spoken to: an attempt or a message, no contact)")
        return plan

    def _faults(self, outcome: str, said: dict[str, bool]) -> dict[str, str]:
        """A day at fault, or load cut with nobody who could have been told."""
        field = self.query_one("#day", DayField)
        if field.fault:
            return {"day": field.fault}
        if outcome and outcome not in SPOKEN:
            for name in ("load_cut", "plan_corrected"):
                if said[name]:
                    return {name: f'{FLAGS[name]}: needs somebody spoken to; the outcome is "{outcome}".'}
        return {}

    def action_write(self) -> None:
        """Without an outcome, go there."""
        if self.record is not None and not self.query_one("#outcome", Pick).value:
            self.mark({"outcome": f"outcome: choose 1 to {len(CONTACT_OUTCOMES)}."})
            return
        super().action_write()
