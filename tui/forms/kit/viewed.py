"""A form that asks the clinical computation what it needs, over the case seen on the clinic date."""

from __future__ import annotations

from datetime import date

from textual.widgets import Static

from armrise.store.clinic.actions.needs import Needs
from armrise.store.clinic.case.view import View
from armrise.store.record.case import CaseRecord
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.fields import Field, Pick, YesNo
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Plan
from armrise.tui.words.entries import ago, day, identifying, read_day

NOTES = ("note", "safeguarding", "review_reason", "slot_reason", "reason", "answer")
"""Lines of free text, in which a name is warned about."""


class ViewForm(FormScreen):
    """A form over a :class:`View`; it is asked anew whenever a field changes."""

    view: View | None = None

    def arrived(self, record: CaseRecord) -> None:
        """The case has been read."""
        self.view = View.of(record, self.door.rules, self.door.today)
        self.query_one("#form-lead", Static).update(self.lead())
        self.query_one("#form-lead").display = bool(self.lead())
        self.read_in(self.view)
        self.typing()

    def read_in(self, view: View) -> None:
        """Fill in what hangs on the case."""

    def fit(self, view: View) -> None:
        """Show the fields that are asked now."""

    def plan_of(self, view: View) -> Plan:
        """What would be written now."""
        raise NotImplementedError

    def plan(self) -> Plan:
        """Nothing before the case is read."""
        return Plan(nothing="Reading the case ...") if self.view is None else self.plan_of(self.view)

    def typing(self) -> None:
        """Fields come and go with what is typed; one that went cannot be at fault."""
        if self.view is not None:
            self.fit(self.view)
        for field in self.query(Field):
            if field.fault and not field.display:
                field.fault = ""
        for line in self.query(Line):
            if line.id in NOTES:
                line.warn(identifying(line.value))

    # the fields by their ids

    def line(self, key: str) -> str:
        """The text of a line that is asked; empty where it is not."""
        field = self.query_one(f"#{key}", Line)
        return field.value if field.display else ""

    def picked(self, key: str) -> str:
        """What was chosen, where it is asked."""
        field = self.query_one(f"#{key}", Pick)
        return field.value if field.display else ""

    def answered(self, key: str) -> bool | None:
        """Yes or no; None where nothing was answered or it is not asked."""
        field = self.query_one(f"#{key}", YesNo)
        return field.yes if field.value and field.display else None

    def on_day(self, key: str) -> date:
        """The chosen day."""
        return self.query_one(f"#{key}", DayField).chosen

    def day_ahead(self, key: str) -> date | None:
        """The date typed in a line, read as one ahead; None when there is none."""
        return read_day(self.line(key), self.door.today, ahead=True)

    def say_day(self, key: str, allowed: str) -> None:
        """Beside a line: the typed date in words, and what is allowed."""
        wanted = self.day_ahead(key)
        shown = "Thu, 5 Mar or +7"
        if wanted:
            shown = f"{day(wanted, year=False)}, {ago(wanted, self.door.today)}"
        self.query_one(f"#{key}", Line).say_beside(f"{shown}; {allowed}" if allowed else shown)

    def show(self, key: str, asked: bool) -> None:
        """Ask a field, or do not."""
        self.query_one(f"#{key}").display = asked

    def lacking(self, needs: Needs) -> Plan:
        """What still lacks: the fields by their labels, marked when it is to be written."""
        named = [sentence.partition(":")[0] for sentence in needs.faults.values()]
        return Plan(refused=needs.refused, faults=needs.faults, nothing=f"Still needed: {', '.join(named)}.")
