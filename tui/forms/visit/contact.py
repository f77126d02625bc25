"""A call or message: what its words ask first, what came of it, the pain told, what was agreed and said."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from textual.containers import Vertical
from textual.widget import Widget

from armrise.store.clinic.actions.needs import Needs
from armrise.store.clinic.case.view import View
from armrise.store.clinic.verdict.messages import Warned, asked_first, unanswered
from armrise.store.entries.build import ONLY_BESIDE
from armrise.store.record.kinds.care import RECEIVED, SPOKEN, Contact
from armrise.store.record.kinds.head import REPORTED
from armrise.store.record.kinds.safety import SCREEN_ITEMS, Event
from armrise.store.record.phrase import dated
from armrise.store.rules.red_flag import EVENT
from armrise.tui.forms.kit.asked import Ask, field_for
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.plan import Draft
from armrise.tui.forms.kit.weeks import AsksWeeks, WeeksLine
from armrise.tui.forms.red_flags.news import AnythingNew, AsksNews
from armrise.tui.forms.red_flags.rows import OneRow
from armrise.tui.forms.visit.pain import PainAsked
from armrise.tui.widgets.pieces import Piece
from armrise.tui.widgets.static import Static
from armrise.tui.words.standing import why

HAPPENED = Ask("event", "what happened?", of=Event)
"""Asked where a word of the message asks for an event."""


class ContactScreen(AsksNews, AsksWeeks, PainAsked):
    """Records a contact, an attempt, or a message received."""

    READING = (
        "A call made or a message received. An attempt is no contact; the list says when it was tried.",
        "A word of a waiting message puts its red-flag item first; the word itself answers nothing.",
        "Load cut puts a flare in hand for a week; it needs somebody who was spoken to.",
        *FormScreen.READING,
    )
    heading = "Contact"
    kind = Contact
    asks = (
        Ask("outcome"),
        Ask("load_cut", value="n"),
        Ask("plan_corrected", value="n"),
        Ask("surgeon_told", value="n"),
        Ask("note", "what was said"),
        Ask("on", "day of the call", key="day"),
    )

    def lead(self) -> str:
        """Why one would ring, in sight however much is asked."""
        return why(self.standing) if self.standing.reasons else ""

    def facts(self) -> list[Piece]:
        """Without the reason, which stands above."""
        return [piece for piece in super().facts() if piece.lead != "why"]

    def rows(self) -> Iterable[Widget]:
        """What a message asks first, the outcome, pain as in the sweep, the one question, what was agreed."""
        known, outcome, load_cut, *agreed, note, on = super().rows()
        yield from (known, Vertical(id="first"), outcome, *self.pain_rows(), load_cut, AnythingNew())
        yield from (*agreed, note, self.nights_row(), on, WeeksLine())

    def on_mount(self) -> None:
        """Nothing is asked first until the case is read."""
        super().on_mount()
        first = self.query_one("#first")
        first.styles.height, first.display = "auto", False

    def known(self, view: View) -> list[str]:
        """The messages that wait, in the patient's words."""
        return [dated(entry, self.door.rules, year=view.today.year) for entry in unanswered(view)]

    def read_in(self, view: View) -> None:
        """What the waiting messages ask for stands above everything else, and the keys begin there."""
        words = asked_first(view)
        if not words or self.query("#first > *"):
            return
        box, rows = self.query_one("#first", Vertical), [self.row_for(one) for one in words]
        box.display = True
        said = ", ".join(f"'{one.word}'" for one in words)
        box.mount(Static(f"The message says {said}. Ask first:", markup=False), *rows)
        self.call_after_refresh(rows[0].focus)

    def row_for(self, asked: Warned) -> Widget:
        """The item of the list, or what happened."""
        if asked.item == EVENT:
            return field_for(HAPPENED, Event, self.door.today)
        severity = self.door.rules.screen_items[asked.item].severity
        return OneRow(asked.item, severity, key=f"first-{SCREEN_ITEMS.index(asked.item)}")

    def fit(self, view: View) -> None:
        """Pain, what was agreed, the weeks and the one question need somebody who was spoken to."""
        spoken = self.picked("outcome") in SPOKEN
        for key in ("new", *ONLY_BESIDE[Contact.KIND][2]):
            self.show(key, spoken)
        self.fit_pain(view, asked=spoken)
        self.fit_weeks(self.on_its_day(view), asked=spoken)
        self.drop_untold()

    def pain_day(self) -> date:
        """The morning of the call."""
        return self.on_day("day")

    def on_its_day(self, view: View) -> View:
        """The case on the day of the contact, on which the weeks end."""
        return view.at(self.on_day("day"))

    def checked(self, view: View) -> Needs:
        """An outcome; the whole triple once "exercised?" is answered; weeks that can be read."""
        needs = super().checked(view)
        needs.faults |= self.pain_lacking() if self.answered("exercised") is not None else {}
        needs.faults |= self.weeks(self.on_its_day(view)).faults
        return needs

    def drafts(self, view: View) -> list[Draft]:
        """What was told, the contact, what was asked first, and what the list was answered with.

        The pain is told before the load is cut for it: in hand covers what was recorded before (ruling 4).
        """
        contact: Draft = (Contact.KIND, {**self.stated(), "anything_new": self.news()})
        first = [draft for row in self.query("#first OneRow").results(OneRow) if (draft := row.draft())]
        if self.query("#event") and (event := self.picked("event")):
            first.append((Event.KIND, {"source": REPORTED, "event": event}))
        told = (*self.pain(view).drafts, *self.weeks(self.on_its_day(view)).drafts)
        return [*told, contact, *first, *(self.flags if self.new.display else ())]

    def follows(self, view: View, drafts: Sequence[Draft]) -> list[str]:
        """What an attempt is not; what a message or an answer of the list makes of the case."""
        attempt = self.picked("outcome") not in SPOKEN
        said = ["(nobody was spoken to: an attempt or a message, no contact)"] if attempt else []
        told = len(drafts) > 1 or self.news() == "yes" or self.picked("outcome") == RECEIVED
        return [*said, *self.pain(view).then, *(self.effect_of(drafts) if told else ())]
