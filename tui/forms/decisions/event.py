"""A new injury or instability event: what happened, when, and whether healing is to be counted anew."""

from __future__ import annotations

from collections.abc import Sequence

from armrise.store.clinic.case.view import View
from armrise.store.clinic.verdict.screening import SERIOUS_EVENTS
from armrise.store.record.fields import Flag
from armrise.store.record.kinds.head import REPORTED
from armrise.store.record.kinds.safety import Event, Onset
from armrise.tui.forms.kit.asked import Ask
from armrise.tui.forms.kit.fields import YesNo
from armrise.tui.forms.kit.plan import Draft
from armrise.tui.forms.kit.record import RecordForm
from armrise.tui.words.entries import day

DAYS_BACK = 60
"""An event is often told of at the next review, which may be eight weeks on."""

GATES_SHOWN = 2
"""Opening dates that a restart moves are shown up to this many, the nearest first."""

INJURY_CLOCKS = ("dislocation", "fracture")


class EventScreen(RecordForm):
    """Records what happened. It is a new injury until a visit that assessed it is recorded."""

    heading = "New event"
    kind = Event
    asks = (
        Ask("event", "what happened"),
        Ask("on", key="day", back=DAYS_BACK),
        Ask("combined", "arm out and turned out?", beside="abduction with external rotation"),
        Ask("note"),
        Ask("restart", "count healing anew?", rule=Flag(), blank="no", later=True),
    )

    def lead(self) -> str:
        """What an event does to the case."""
        return "A new injury, with no step forward, until a visit has assessed it."

    def read_in(self, view: View) -> None:
        """Offer the restart where healing counts from an injury."""
        self.show("restart", self.clock in INJURY_CLOCKS)
        onset = view.onset()
        beside = f"counts from {day(onset.on)}" if onset else "no date to count from"
        self.query_one("#restart", YesNo).beside = beside

    @property
    def clock(self) -> str:
        """What the pathway counts healing from, empty when from nothing."""
        pathway = self.door.rules.pathways.get(self.standing.pathway)
        return (pathway.clock if pathway else None) or ""

    def drafts(self, view: View) -> list[Draft]:
        """The event; and the onset as an entry of its own."""
        drafts: list[Draft] = [(Event.KIND, {**self.stated(), "source": REPORTED})]
        if self.answered("restart"):
            drafts.append((Onset.KIND, {"on": self.on_day("day"), "what": self.clock}))
        return drafts

    def follows(self, view: View, drafts: Sequence[Draft]) -> list[str]:
        """From when healing counts, which dates that moves, what changes, and what has to follow."""
        moved = [change.words for change in self.limits_moved(drafts)][:GATES_SHOWN]
        owed = "owed next: a visit that assesses it; the red-flag screen anew"
        return [*self.counted(view), *moved, *super().follows(view, drafts), owed]

    def counted(self, view: View) -> list[str]:
        """Whether it is serious, and from when healing counts then."""
        serious = ["a serious event"] if self.picked("event") in SERIOUS_EVENTS else []
        if not self.clock:
            return serious
        onset = view.onset()
        since = f"{self.clock} of {day(onset.on)}" if onset else f"{self.clock}, its date missing"
        counts = f"healing goes on counting from the {since}"
        if self.answered("restart"):
            counts = f"healing counts from that day, {day(self.on_day('day'))}, day 0"
        return ["; ".join(["serious" if serious else "", counts]).removeprefix("; ")]
