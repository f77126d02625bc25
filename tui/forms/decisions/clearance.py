"""A clearance: the surgeon's agreement, union or stability, given, refused, not known or taken back."""

from __future__ import annotations

from collections.abc import Iterable

from textual.widget import Widget
from textual.widgets import Static

from armrise.store.clinic.actions.suppose import added
from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.ordered import changes
from armrise.store.record.case import CaseRecord
from armrise.store.record.kinds.plan import Clearance
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.effect import effect, standing_with
from armrise.tui.forms.kit.fields import Pick
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.words.entries import day

BY = ("surgeon", "union", "stability")
SCOPES = ("movement", "resisted")
ANSWERS = ("yes", "no", "not known", "withdrawn")
DAYS_BACK = 60
SHOWN = 3
"""Clearances on record that are shown, the newest."""


class ClearanceScreen(FormScreen):
    """Records one permission or its refusal."""

    heading = "Clearance"

    def lead(self) -> str:
        """What each of them is."""
        return "For resisted work it is asked for separately. Union: clinical or on X-ray."

    def rows(self) -> Iterable[Widget]:
        """What is on record; by what, for what, the answer, the day."""
        yield Static("", id="known", markup=False)
        yield Pick("clearance by", BY, flow=True, key="by")
        yield Pick("for", SCOPES, flow=True, key="scope")
        yield Pick("answer", ANSWERS, flow=True, key="answer")
        yield DayField("on", self.door.today, self.door.today, key="day", back=DAYS_BACK)

    def on_mount(self) -> None:
        """Start at by what."""
        super().on_mount()
        self.query_one("#by").focus()

    def arrived(self, record: CaseRecord) -> None:
        """Say what is on record."""
        found: list[Clearance] = self.view.upto("clearances")[-SHOWN:]
        told = [f"On record: {c.by}, {c.scope}: {c.answer}, {day(c.on)}" for c in found]
        self.query_one("#known", Static).update("\n".join(told or ["No clearance is on record."]))

    @property
    def view(self) -> View:
        """The case on the clinic date."""
        assert self.record is not None
        return View.of(self.record, self.door.rules, self.door.today)

    def plan(self) -> Plan:
        """One clearance, with what it changes."""
        if self.record is None:
            return Plan(nothing="Reading the case ...")
        by, scope, answer = (self.query_one(f"#{key}", Pick).value for key in ("by", "scope", "answer"))
        when = self.query_one("#day", DayField)
        if when.fault or when.value:
            return Plan(faults={"day": when.fault} if when.fault else {}, nothing="The day is being typed.")
        if not (by and scope and answer):
            return Plan(nothing="Choose by what, for what, and the answer.")
        source = "surgeon" if by == "surgeon" else "clinician measured"
        values = {"on": when.chosen, "source": source, "by": by, "scope": scope, "answer": answer}
        draft: Draft = ("clearance", values)
        entries = self.entries([draft])
        later = View.of(added(self.record, entries), self.door.rules, self.door.today)
        changed = [change.words for change in changes(self.view, later)]
        after = standing_with(self.record, self.door.rules, self.standing, entries)
        told = f"clearance by {by} for {scope}: {answer}, {day(when.chosen)}"
        return Plan([draft], [told, *changed, *effect(self.standing, after)])

    def action_write(self) -> None:
        """Without a choice, go there."""
        if self.record is not None:
            for key in ("by", "scope", "answer"):
                pick = self.query_one(f"#{key}", Pick)
                if not pick.value:
                    self.mark({key: f"{pick.label}: choose {pick.keys}."})
                    return
        super().action_write()
