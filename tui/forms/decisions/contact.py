"""A call or message: what its words ask first, what came of it, what was agreed, and the one question."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from textual.containers import Vertical
from textual.widget import Widget
from textual.widgets import Static

from armrise.store.clinic.actions.needs import Needs
from armrise.store.clinic.case.view import View
from armrise.store.clinic.verdict.messages import RECEIVED, Warned, asked_first, unanswered
from armrise.store.entries.build import ONLY_BESIDE
from armrise.store.record.kinds.care import SPOKEN, Contact
from armrise.store.record.kinds.head import REPORTED
from armrise.store.record.kinds.safety import SCREEN_ITEMS, Event
from armrise.store.record.phrase import dated
from armrise.store.rules.red_flag import EVENT
from armrise.tui.forms.kit.asked import Ask, field_for
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.plan import Draft
from armrise.tui.forms.kit.record import RecordForm
from armrise.tui.forms.kit.weeks import AsksWeeks, WeeksLine
from armrise.tui.forms.red_flags.news import AnythingNew, AsksNews
from armrise.tui.forms.red_flags.rows import OneRow

HAPPENED = Ask("event", "what happened?", of=Event)
"""Asked where a word of the message asks for an event."""


class ContactScreen(AsksNews, AsksWeeks, RecordForm):
    """Records a contact, an attempt, or a message received."""

    READING = (
        "A call made or a message received. An attempt reaches nobody and is no contact.",
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
        Ask("note"),
        Ask("on", key="day"),
    )

    def lead(self) -> str:
        """Why one would ring: the live reasons, at most three."""
        return "\n".join(reason.sentence for reason in self.standing.reasons[:3])

    def rows(self) -> Iterable[Widget]:
        """What the message says and asks for, the contact, the weeks as told, and last the one question."""
        known, *rest = super().rows()
        yield from (known, Vertical(id="first"), *rest)
        yield WeeksLine()
        yield AnythingNew()

    def on_mount(self) -> None:
        """Nothing is asked first until the case is read."""
        super().on_mount()
        self.query_one("#first").styles.height = "auto"

    def known(self, view: View) -> list[str]:
        """The messages that wait, in the patient's words."""
        return [dated(entry, self.door.rules, year=view.today.year) for entry in unanswered(view)]

    def read_in(self, view: View) -> None:
        """What the waiting messages ask for stands above everything else, and the keys begin there."""
        words = asked_first(view)
        if not words or self.query("#first > *"):
            return
        box, rows = self.query_one("#first", Vertical), [self.row_for(one) for one in words]
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
        """The weeks and the one question need somebody who was spoken to."""
        spoken = self.picked("outcome") in ("", *SPOKEN)
        self.show("new", spoken)
        self.fit_weeks(self.on_its_day(view), asked=spoken)
        self.drop_untold()

    def on_its_day(self, view: View) -> View:
        """The case on the day of the contact, on which the weeks end."""
        return view.at(self.on_day("day"))

    def checked(self, view: View) -> Needs:
        """An outcome; and somebody spoken to where something was agreed."""
        outcome, (_, spoken, agreed) = self.picked("outcome"), ONLY_BESIDE[Contact.KIND]
        needs = super().checked(view)
        needs.faults |= self.weeks(self.on_its_day(view)).faults
        if outcome and outcome not in spoken:
            needs.faults |= {
                ask.id: f'{ask.words}: needs somebody spoken to; the outcome is "{outcome}".'
                for ask in self.asks
                if ask.name in agreed and self.answered(ask.id)
            }
        return needs

    def drafts(self, view: View) -> list[Draft]:
        """The contact, what was asked first, and what the list was answered with."""
        contact: Draft = (Contact.KIND, {**self.stated(), "anything_new": self.news()})
        first = [draft for row in self.query("#first OneRow").results(OneRow) if (draft := row.draft())]
        if self.query("#event") and (event := self.picked("event")):
            first.append((Event.KIND, {"source": REPORTED, "event": event}))
        weeks = self.weeks(self.on_its_day(view)).drafts
        return [contact, *first, *weeks, *(self.flags if self.new.display else ())]

    def follows(self, view: View, drafts: Sequence[Draft]) -> list[str]:
        """What an attempt is not; what a message or an answer of the list makes of the case."""
        attempt = self.picked("outcome") not in SPOKEN
        said = ["(nobody was spoken to: an attempt or a message, no contact)"] if attempt else []
        told = len(drafts) > 1 or self.news() == "yes" or self.picked("outcome") == RECEIVED
        return [*said, *(self.effect_of(drafts) if told else ())]
