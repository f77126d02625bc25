"""A letter sent or drafted, and which letters are owed since when."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget
from textual.widgets import Static

from armrise.store.clinic.case.view import View
from armrise.store.clinic.standing.conditions import letters_owed
from armrise.store.record.case import CaseRecord
from armrise.store.record.kinds.paperwork import Letter
from armrise.store.record.words import count_days
from armrise.tui.forms.decisions.decision import DecisionScreen
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.effect import effect, standing_with
from armrise.tui.forms.kit.fields import Pick
from armrise.tui.forms.kit.plan import Plan
from armrise.tui.forms.kit.second import WithSecondPage
from armrise.tui.words.entries import day

ABOUT = ("discharge", "referral", "progress", "missed visits")
STATES = ("sent", "draft")
DAYS_BACK = 60


class LetterScreen(WithSecondPage):
    """Records a letter; F4 opens the entry of a decision."""

    heading = "Letter"
    keys = "F2 write   F4 a decision instead   Esc leave, nothing written   F8 blank"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f4", "turn", "Record a decision instead", id="letter.decision"),
    ]

    def lead(self) -> str:
        """What a draft is worth."""
        return "Only a letter that was sent ends what is owed; a draft does not."

    def rows(self) -> Iterable[Widget]:
        """What is owed; about what, sent or draft, when."""
        yield Static("", id="owed", markup=False)
        yield Pick("letter about", ABOUT, flow=True, key="about")
        yield Pick("it is", STATES, value="sent", flow=True, key="state")
        yield DayField("on", self.door.today, self.door.today, key="day", back=DAYS_BACK)

    def on_mount(self) -> None:
        """Start at what it is about."""
        super().on_mount()
        self.query_one("#about").focus()

    def arrived(self, record: CaseRecord) -> None:
        """Say what is owed, and what was written before."""
        view = View.of(record, self.door.rules, self.door.today)
        told = [
            f"Owed: {what} letter, since {self.since(first)}" for first, what in sorted(letters_owed(view))
        ]
        told += [f"On record: {self.told(letter)}" for letter in view.upto("letters")[-2:]]
        self.query_one("#owed", Static).update("\n".join(told or ["No letter is owed, none is on record."]))

    def since(self, first: date) -> str:
        """ "Wed 25 Feb 2026, 5 days"."""
        return f"{day(first)}, {count_days((self.door.today - first).days)}"

    def told(self, letter: Letter) -> str:
        """A letter on record."""
        return f"{letter.about} letter, {letter.state}, {day(letter.on)}"

    def second(self) -> FormScreen:
        """The entry of a decision."""
        return DecisionScreen(self.door, self.standing)

    def plan(self) -> Plan:
        """One letter."""
        if self.record is None:
            return Plan(nothing="Reading the case ...")
        about, state = self.query_one("#about", Pick).value, self.query_one("#state", Pick).value
        when = self.query_one("#day", DayField)
        if when.fault or when.value:
            return Plan(faults={"day": when.fault} if when.fault else {}, nothing="The day is being typed.")
        if not about or not state:
            return Plan(nothing="Choose what the letter is about.")
        draft = ("letter", {"on": when.chosen, "about": about, "state": state})
        after = standing_with(self.record, self.door.rules, self.standing, self.entries([draft]))
        words = [f"{about} letter, {state}, {day(when.chosen)}", *effect(self.standing, after)]
        return Plan([draft], words)

    def action_write(self) -> None:
        """Without a choice, go there."""
        if self.record is not None and not self.query_one("#about", Pick).value:
            self.mark({"about": f"letter about: choose 1 to {len(ABOUT)}."})
            return
        super().action_write()
