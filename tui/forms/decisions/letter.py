"""A letter sent or drafted, and which letters are owed since when."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType

from armrise.store.clinic.case.view import View
from armrise.store.clinic.standing.care import letters_owed
from armrise.store.record.kinds.paperwork import Letter
from armrise.store.record.phrase import dated
from armrise.store.record.words import count_days
from armrise.tui.forms.decisions.decision import DecisionScreen
from armrise.tui.forms.kit.asked import Ask
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.record import RecordForm
from armrise.tui.forms.kit.second import WithSecondPage
from armrise.tui.words.entries import day


class LetterScreen(WithSecondPage, RecordForm):
    """Records a letter; F4 opens the entry of a decision."""

    heading = "Letter"
    keys = "F2 write   F4 decision instead   Esc leave, nothing written   F8 blank"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f4", "turn", "Record a decision instead", id="letter.decision"),
    ]
    kind = Letter
    asks = (
        Ask("about", "letter about"),
        Ask("state", "it is", value="sent", needed=True),
        Ask("on", key="day", back=60),
    )

    def lead(self) -> str:
        """What a draft is worth."""
        return "Only a letter that was sent ends what is owed; a draft does not."

    def known(self, view: View) -> list[str]:
        """What is owed, and what was written before."""
        told = [
            f"Owed: {what} letter, since {day(first)}, {count_days((view.today - first).days)}"
            for first, what, _ in sorted(letters_owed(view))
        ]
        told += [f"On record: {dated(letter)}" for letter in view.upto("letters")[-2:]]
        return told or ["No letter is owed, none is on record."]

    def second(self) -> FormScreen:
        """The entry of a decision."""
        return DecisionScreen(self.door, self.standing)
