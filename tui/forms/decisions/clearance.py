"""A clearance: the surgeon's agreement, union or stability, given, refused, not known or taken back."""

from __future__ import annotations

from collections.abc import Sequence

from armrise.store.clinic.case.view import View
from armrise.store.record.kinds.plan import Clearance
from armrise.tui.forms.kit.asked import Ask
from armrise.tui.forms.kit.plan import Draft
from armrise.tui.forms.kit.record import RecordForm
from armrise.tui.words.entries import day

SHOWN = 3
"""Clearances on record that are shown, the newest."""


class ClearanceScreen(RecordForm):
    """Records one permission or its refusal. For what it is given is always asked."""

    heading = "Clearance"
    kind = Clearance
    asks = (
        Ask("by", "clearance by"),
        Ask("scope", "for", needed=True),
        Ask("answer"),
        Ask("on", key="day", back=60),
    )

    def lead(self) -> str:
        """What each of them is."""
        return "For resisted work it is asked for separately. Union: clinical or on X-ray."

    def known(self, view: View) -> list[str]:
        """The newest on record."""
        found: list[Clearance] = view.upto("clearances")[-SHOWN:]
        told = [f"On record: {c.by}, {c.scope}: {c.answer}, {day(c.on)}" for c in found]
        return told or ["No clearance is on record."]

    def drafts(self, view: View) -> list[Draft]:
        """The clearance, from whom it comes."""
        source = "surgeon" if self.picked("by") == "surgeon" else "clinician measured"
        return [(Clearance.KIND, {**self.stated(), "source": source})]

    def follows(self, view: View, drafts: Sequence[Draft]) -> list[str]:
        """The limits it moves, then what changes."""
        return [change.words for change in self.limits_moved(drafts)] + super().follows(view, drafts)
