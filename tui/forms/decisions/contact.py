"""A call or message: what came of it, and what was agreed."""

from __future__ import annotations

from collections.abc import Sequence

from armrise.store.clinic.actions.needs import Needs
from armrise.store.clinic.case.view import View
from armrise.store.entries.build import ONLY_BESIDE
from armrise.store.record.kinds.care import SPOKEN, Contact
from armrise.tui.forms.kit.asked import Ask
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.plan import Draft
from armrise.tui.forms.kit.record import RecordForm


class ContactScreen(RecordForm):
    """Records a contact, an attempt, or a message received."""

    READING = (
        "A call made or a message received. An attempt reaches nobody and is no contact.",
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

    def checked(self, view: View) -> Needs:
        """An outcome; and somebody spoken to where something was agreed."""
        outcome, (_, spoken, agreed) = self.picked("outcome"), ONLY_BESIDE[Contact.KIND]
        needs = super().checked(view)
        if outcome and outcome not in spoken:
            needs.faults |= {
                ask.id: f'{ask.words}: needs somebody spoken to; the outcome is "{outcome}".'
                for ask in self.asks
                if ask.name in agreed and self.answered(ask.id)
            }
        return needs

    def follows(self, view: View, drafts: Sequence[Draft]) -> list[str]:
        """What an attempt is not."""
        attempt = self.picked("outcome") not in SPOKEN
        return ["(nobody was spoken to: an attempt or a message, no contact)"] if attempt else []
