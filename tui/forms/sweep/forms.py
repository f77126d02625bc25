"""The compact forms of the weekly sweep: the inputs a decision needs, and the decision in one writing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import Any

from textual.widget import Widget

from armrise.store.clinic.actions.needs import Needs
from armrise.store.clinic.actions.sweep import until_of, why
from armrise.store.clinic.case.view import View
from armrise.store.clinic.time import clocks
from armrise.store.record.kinds.care import Contact
from armrise.tui.forms.decisions.booking import BookingScreen
from armrise.tui.forms.decisions.discharge import DischargeScreen
from armrise.tui.forms.decisions.hold import HoldScreen
from armrise.tui.forms.decisions.refer import ReferScreen
from armrise.tui.forms.kit.asked import Ask
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.forms.kit.record import RecordForm
from armrise.tui.forms.visit.pain import PainAsked


class Swept(RecordForm):
    """Mixed before a form: what it plans is written together with the decision of the sweep."""

    decision = ""

    @property
    def heading(self) -> str:  # type: ignore[override]
        """Which decision."""
        return f"Sweep: {self.decision}"

    def own_date(self, view: View) -> date | None:
        """The date that this decision brings with it."""
        return None

    def reached(self) -> bool:
        """Whether somebody was spoken to, where the decision is a call."""
        return True

    def plan_of(self, view: View) -> Plan:
        """The form's own entries, and the decision; nothing while something lacks."""
        plan = super().plan_of(view)
        if plan.refused or plan.faults or not plan.drafts:
            return plan
        until = until_of(view, self.decision, self.own_date(view), reached=self.reached())
        late = clocks.overdue_days(view)
        values: dict[str, Any] = {"decision": self.decision, "until": until, "reasons": why(self.standing)}
        plan.drafts.append(("sweep decision", values | ({"overdue_days": late} if late else {})))
        plan.then += ["(in the sweep again tomorrow)"] if until <= self.door.today else []
        return plan


class SweepRebook(Swept, BookingScreen):
    """Another slot. The review stays overdue until the patient is seen."""

    decision = "rebook"
    must_book = True

    def earliest(self) -> date:
        """From tomorrow on: today's slot would not take the case out of today's sweep."""
        return self.door.today + timedelta(days=1)

    def own_date(self, view: View) -> date | None:
        """The slot."""
        return self.day_ahead("slot")


class SweepHold(Swept, HoldScreen):
    """A hold until a date."""

    decision = "hold"
    may_end = False

    def own_date(self, view: View) -> date | None:
        """The end of the hold."""
        return self.day_ahead("until")


class SweepRefer(Swept, ReferScreen):
    """A referral, followed up some days after it was sent."""

    decision = "refer"
    required = True

    def own_date(self, view: View) -> date | None:
        """The day it was sent."""
        return self.on_day("sent")


class SweepDischarge(Swept, DischargeScreen):
    """A discharge, by this clinician's decision."""

    decision = "discharge"


class CallForm(PainAsked):
    """A call: what it came to, and the pain triple when somebody spoke."""

    kind = Contact
    asks = (
        Ask("outcome", without=("message answered", "message left", "message received")),
        Ask("load_cut", value="n"),
        Ask("note", "what was said"),
    )

    def rows(self) -> Iterable[Widget]:
        """Outcome, pain, what was agreed and said: in the order of the phone form."""
        known, outcome, *rest = super().rows()
        yield from (known, outcome, *self.pain_rows(), *rest, self.nights_row())

    def fit(self, view: View) -> None:
        """Pain is asked of whoever was reached."""
        spoke = self.picked("outcome") == "spoke"
        self.fit_pain(view, asked=spoke)
        self.show("load_cut", spoke)

    def checked(self, view: View) -> Needs:
        """The outcome; and the pain of whoever was reached."""
        spoke = self.picked("outcome") == "spoke"
        return Needs(faults=self.lacks() | (self.pain_lacking() if spoke else {}))

    def drafts(self, view: View) -> list[Draft]:
        """The pain told, and the contact: it puts in hand what was recorded before it (ruling 4)."""
        return [*self.pain(view).drafts, *super().drafts(view)]

    def follows(self, view: View, drafts: Sequence[Draft]) -> list[str]:
        """What a call is not."""
        if self.picked("outcome") == "spoke":
            review = "(data, and no review of range: an overdue review stays overdue)"
            return [*self.pain(view).then, review]
        guarded = view.span and clocks.in_protected_stage(view)
        return ["(protected stage: an attempt is no contact; try again, or write)"] if guarded else []


class SweepPhone(Swept, CallForm):
    """A call takes the case out of the sweep for a week; the review stays owed."""

    decision = "phone"

    def reached(self) -> bool:
        """Somebody spoke."""
        return self.picked("outcome") == "spoke"
