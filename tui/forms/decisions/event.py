"""A new injury or instability event: what happened, when, and whether healing is to be counted anew."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from textual.widget import Widget

from armrise.store.clinic.actions.suppose import added
from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.ordered import changes
from armrise.store.clinic.verdict.screening import SERIOUS_EVENTS
from armrise.store.record.case import CaseRecord
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.safety import EVENTS
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.effect import effect, standing_with
from armrise.tui.forms.kit.fields import Pick, YesNo
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.words.entries import ago, day, identifying

DAYS_BACK = 60
"""An event is often told of at the next review, which may be eight weeks on."""

GATES_SHOWN = 2
"""Opening dates that a restart moves are shown up to this many, the nearest first."""

INJURY_CLOCKS = ("dislocation", "fracture")
REPORTED = "patient reported"


class EventScreen(FormScreen):
    """Records what happened. It is a new injury until a visit that assessed it is recorded."""

    heading = "New event"

    def lead(self) -> str:
        """What an event does to the case."""
        return "A new injury, with no step forward, until a visit has assessed it."

    def rows(self) -> Iterable[Widget]:
        """What, when, how the arm stood, a note; then the one question about the healing clock."""
        yield Pick("what happened", EVENTS, flow=True, key="event")
        yield DayField("on", self.door.today, self.door.today, key="day", back=DAYS_BACK)
        yield YesNo("arm out and turned out?", key="combined", beside="abduction with external rotation")
        yield Line("note", key="note", longest=200)
        yield YesNo("count healing anew?", key="restart")

    def on_mount(self) -> None:
        """Start at what happened; the clock is asked about once it is known which one runs."""
        super().on_mount()
        self.query_one("#restart").display = False
        self.query_one("#event").focus()

    def arrived(self, record: CaseRecord) -> None:
        """Offer the restart where healing counts from an injury."""
        restart = self.query_one("#restart", YesNo)
        restart.display = self.clock in INJURY_CLOCKS
        restart.blank = "no"
        onset = View.of(record, self.door.rules, self.door.today).onset()
        restart.beside = f"counts from {day(onset.on)}" if onset else "no date to count from"

    @property
    def clock(self) -> str:
        """What the pathway counts healing from, empty when from nothing."""
        pathway = self.door.rules.pathways.get(self.standing.pathway)
        return (pathway.clock if pathway else None) or ""

    def typing(self) -> None:
        """Warn of names in the note."""
        line = self.query_one("#note", Line)
        line.warn(identifying(line.value))

    def plan(self) -> Plan:
        """The event, and the new onset when it was asked for."""
        if self.record is None:
            return Plan(nothing="Reading the case ...")
        event, when = self.query_one("#event", Pick).value, self.query_one("#day", DayField)
        if when.fault or when.value:
            faults = {"day": when.fault} if when.fault else {}
            return Plan(faults=faults, nothing="The day is being typed.")
        if not event:
            return Plan(nothing="Choose what happened.")
        drafts = self.drafts(event)
        entries = self.entries(drafts)
        after = standing_with(self.record, self.door.rules, self.standing, entries)
        moved = [change.words for change in changes(self.view, self.view_with(entries))][:GATES_SHOWN]
        words = [*self.words(event), *moved, *effect(self.standing, after), self.owed()]
        return Plan(drafts, words)

    @property
    def view(self) -> View:
        """The case on the clinic date."""
        assert self.record is not None
        return View.of(self.record, self.door.rules, self.door.today)

    def view_with(self, entries: Sequence[Entry]) -> View:
        """The same with ``entries`` written."""
        assert self.record is not None
        return View.of(added(self.record, entries), self.door.rules, self.door.today)

    def drafts(self, event: str) -> list[Draft]:
        """The event; and the onset as an entry of its own."""
        on = self.query_one("#day", DayField).chosen
        note = self.query_one("#note", Line).value
        values: dict[str, Any] = {"on": on, "source": REPORTED, "event": event}
        values |= {"combined": True} if self.query_one("#combined", YesNo).yes else {}
        values |= {"note": note} if note else {}
        found: list[Draft] = [("event", values)]
        if self.restarts:
            found.append(("onset", {"on": on, "what": self.clock}))
        return found

    @property
    def restarts(self) -> bool:
        """True when the clinician said that healing is counted anew."""
        restart = self.query_one("#restart", YesNo)
        return bool(restart.display) and restart.yes

    def words(self, event: str) -> list[str]:
        """What will be written."""
        on = self.query_one("#day", DayField).chosen
        serious = ", serious" if event in SERIOUS_EVENTS else ""
        combined = ", arm out and turned out" if self.query_one("#combined", YesNo).yes else ""
        note = self.query_one("#note", Line).value
        told = f"new event{serious}: {event} on {day(on)}, {ago(on, self.door.today)}{combined}"
        lines = [f"{told}; {note}" if note else told]
        if self.restarts:
            lines.append(f"new onset: {self.clock} on {day(on)}; healing counts from that day, day 0")
        elif self.clock:
            lines.append(f"healing goes on counting from the {self.counted_from()}")
        return lines

    def counted_from(self) -> str:
        """What the healing clock counts from now, with its date."""
        onset = self.view.onset()
        return f"{self.clock} of {day(onset.on)}" if onset else f"{self.clock}, its date missing"

    def owed(self) -> str:
        """What has to follow."""
        return "owed next: a visit that assesses it; the red-flag screen anew"

    def action_write(self) -> None:
        """Without a choice, go there."""
        if self.record is not None and not self.query_one("#event", Pick).value:
            self.mark({"event": f"what happened: choose 1 to {len(EVENTS)}."})
            return
        super().action_write()
