"""A letter sent or drafted, and which letters are owed since when; its text is one key away."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType

from armrise.store.clinic.case.view import View
from armrise.store.clinic.letter.draft import as_sent, open_draft, suppressed
from armrise.store.clinic.standing.care import letters_owed
from armrise.store.record.kinds.paperwork import Letter
from armrise.store.record.phrase import dated
from armrise.store.record.words import count_days
from armrise.store.rules.words.patient import WordsError
from armrise.tui.forms.decisions.decision import DecisionScreen
from armrise.tui.forms.decisions.letter_file import write_letter
from armrise.tui.forms.decisions.letter_text import LetterTextScreen
from armrise.tui.forms.kit.asked import Ask
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.plan import Draft
from armrise.tui.forms.kit.record import RecordForm
from armrise.tui.forms.kit.second import WithSecondPage
from armrise.tui.words.entries import day


class LetterScreen(WithSecondPage, RecordForm):
    """Records a letter; F7 opens its text, F9 writes it as a file, F4 opens the entry of a decision."""

    heading = "Letter"
    keys = "F2 write   F7 text   F9 file   F4 decision   Esc leave   F8 blank"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f4", "turn", "Record a decision instead", id="letter.decision"),
        Binding("f7", "text", "The letter's text", id="letter.text"),
        Binding("f9", "to_file", "Write the file", id="letter.file"),
    ]
    kind = Letter
    asks = (
        Ask("about", "letter about"),
        Ask("state", "it is", value="sent", needed=True),
        Ask("on", key="day", back=60),
    )

    def lead(self) -> str:
        """What a draft is worth, and where the text is."""
        return "Only a sent letter ends what is owed; a draft does not. F7 opens its text."

    def known(self, view: View) -> list[str]:
        """What is owed, and what was written before."""
        told = [
            f"Owed: {what} letter, since {day(first)}, {count_days((view.today - first).days)}"
            for first, what, _ in sorted(letters_owed(view))
        ]
        told += [f"On record: {dated(letter)}" for letter in view.upto("letters")[-2:]]
        if none := suppressed(view):
            told.append(none)
        return told or ["No letter is owed, none is on record."]

    def drafts(self, view: View) -> list[Draft]:
        """The letter; one that was sent has the text of the draft that waited for it."""
        stated = self.stated()
        gone = stated.get("state") == "sent"
        return [(self.kind.KIND, stated | as_sent(view, stated["about"]) if gone else stated)]

    def follows(self, view: View, drafts: Sequence[Draft]) -> list[str]:
        """What it ends, and whose text it has."""
        (_, stated), *_ = drafts
        waiting = open_draft(view, stated["about"]) if stated.get("body") else None
        text = [f"(its text is that of the draft of {day(waiting.on)})"] if waiting else []
        return [*text, *super().follows(view, drafts)]

    def second(self) -> FormScreen:
        """The entry of a decision."""
        return DecisionScreen(self.door, self.standing)

    def turned(self, words: str | None) -> None:
        """Back from the text or the decision: what was chosen here is written with it, and waits no more."""
        if words:
            self._drop()
        super().turned(words)

    @property
    def about(self) -> str:
        """What the letter is about; before it is chosen, what is owed."""
        owed = sorted(letters_owed(self.view)) if self.view else []
        return self.picked("about") or (owed[0].what if owed else "")

    def action_text(self) -> None:
        """Open the text of the letter that is chosen, or owed."""
        if self.busy or self.view is None:
            return
        if none := suppressed(self.view):
            self.say(none)
        elif not self.about:
            self.mark({"about": "letter about: choose what its text is about."})
        else:
            self.app.push_screen(LetterTextScreen(self.door, self.standing, self.about), self.turned)

    def action_to_file(self) -> None:
        """Write the newest letter on record of that matter, or a draft made now, as a page for paper."""
        if self.busy or self.view is None:
            return
        if not self.about:
            self.mark({"about": "letter about: choose which letter."})
            return
        from armrise.store.exchange.paper.letter import newest

        try:
            found = newest(self.view, self.about, fictional=self.door.fictional)
        except WordsError as fault:
            found = str(fault)
        if isinstance(found, str):
            self.say(found)
        else:
            write_letter(self, found)
