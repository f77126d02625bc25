"""A decision about a named matter: carry on, plan reviewed, review not needed; and what it silences."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from textual.widget import Widget

from armrise.store.clinic.case.view import View
from armrise.store.clinic.standing.decisions import silences, usual_matter
from armrise.store.record.kinds.head import ANSWERABLE
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.effect import effect, standing_with, verdict_words
from armrise.tui.forms.kit.fields import Pick
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Plan
from armrise.tui.words.entries import day, identifying

SHORTEST = 3
"""Characters of a note at least."""


class DecisionScreen(FormScreen):
    """Records a decision; says what it ends or silences, and for how long."""

    heading = "Decision"

    def lead(self) -> str:
        """The verdict that may be waiting for an answer."""
        return f"Now {verdict_words(self.standing)}"

    def rows(self) -> Iterable[Widget]:
        """About what, the note, the day."""
        yield Pick("about", ANSWERABLE, value=usual_matter(self.standing), flow=True, key="about")
        yield Line("note", key="note", longest=200, beside="carry on, plan reviewed")
        yield DayField("on", self.door.today, self.door.today, key="day")

    def on_mount(self) -> None:
        """Start at the matter, or at the note where a matter waits for an answer."""
        super().on_mount()
        about = self.query_one("#about", Pick)
        if about.value:
            self.query_one("#note", Line).focus()
        else:
            about.focus()

    @property
    def view(self) -> View:
        """The case on the clinic date."""
        assert self.record is not None
        return View.of(self.record, self.door.rules, self.door.today)

    @property
    def on_day(self) -> date:
        """The chosen day."""
        return self.query_one("#day", DayField).chosen

    def typing(self) -> None:
        """Warn of names in the note."""
        line = self.query_one("#note", Line)
        line.warn(identifying(line.value))

    def plan(self) -> Plan:
        """One decision, with what it does."""
        if self.record is None:
            return Plan(nothing="Reading the case ...")
        about, note = self.query_one("#about", Pick).value, self.query_one("#note", Line).value
        when = self.query_one("#day", DayField)
        if when.fault or when.value:
            return Plan(faults={"day": when.fault} if when.fault else {}, nothing="The day is being typed.")
        if not about:
            return Plan(nothing="Choose what the decision is about.")
        does = silences(self.view, about, self.on_day)
        if len(note) < SHORTEST:
            fault = f"note: at least {SHORTEST} characters, {len(note)} typed."
            return Plan(faults={"note": fault}, nothing=f"Type the note. A decision about {about} {does}.")
        draft = ("decision", {"on": self.on_day, "about": about, "note": note})
        after = standing_with(self.record, self.door.rules, self.standing, self.entries([draft]))
        told = f"decision about {about} on {day(self.on_day)}: {note}"
        return Plan([draft], [told, f"it {does}", *effect(self.standing, after)])

    def action_write(self) -> None:
        """Without a choice, go there."""
        about = self.query_one("#about", Pick)
        if self.record is not None and not about.value:
            self.mark({"about": f"about: choose {about.keys}."})
            return
        super().action_write()
