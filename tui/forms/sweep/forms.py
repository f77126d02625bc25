"""The compact forms of the weekly sweep: the inputs a decision needs, and the decision in one writing."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any

from textual.widget import Widget

from armrise.store.clinic.actions.sweep import until_of, why
from armrise.store.clinic.case.view import View
from armrise.store.clinic.time import clocks
from armrise.tui.forms.decisions.booking import BookingScreen
from armrise.tui.forms.decisions.discharge import DischargeScreen
from armrise.tui.forms.decisions.hold import HoldScreen
from armrise.tui.forms.decisions.refer import ReferScreen
from armrise.tui.forms.kit.fields import Pick, YesNo
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Plan
from armrise.tui.forms.kit.viewed import ViewForm
from armrise.tui.forms.visit.pain import PainAsked
from armrise.tui.words.entries import day

CALLED = ("spoke", "no answer", "wrong number")
"""What a call of the sweep came to (practice note 1.5)."""


class Swept(ViewForm):
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
        plan.words.append(f"decided in the sweep: {self.decision}{self.out_until(until)}")
        return plan

    def out_until(self, until: date) -> str:
        """Until when it is out of the sweep."""
        if until <= self.door.today:
            return "; in the sweep again tomorrow"
        return f"; out of it until {day(until, year=False)}"


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

    def out_until(self, until: date) -> str:
        """For good."""
        return "; closed"


class CallForm(PainAsked):
    """A call: what it came to, and the pain triple when somebody spoke."""

    def rows(self) -> Iterable[Widget]:
        """Outcome, then pain, then a note."""
        yield Pick("outcome", CALLED, flow=True, key="outcome")
        yield from self.pain_rows()
        yield YesNo("load cut", value="n", key="load_cut")
        yield Line("note", key="note", longest=200)

    def on_mount(self) -> None:
        """Start at the outcome."""
        super().on_mount()
        self.query_one("#outcome").focus()

    def fit(self, view: View) -> None:
        """Pain is asked of whoever was reached."""
        spoke = self.picked("outcome") == "spoke"
        self.fit_pain(view, asked=spoke)
        self.show("load_cut", spoke)

    def plan_of(self, view: View) -> Plan:
        """The contact, and the pain told in it."""
        outcome = self.picked("outcome")
        if not outcome:
            return Plan(faults={"outcome": "outcome: choose 1 to 3."}, nothing="Still needed: outcome.")
        lacking = self.pain_lacking() if outcome == "spoke" else {}
        if lacking:
            named = ", ".join(words.partition(":")[0] for words in lacking.values())
            return Plan(faults=lacking, nothing=f"Still needed: {named}.")
        note, cut = self.line("note"), bool(self.answered("load_cut"))
        values = {"outcome": outcome, "load_cut": cut} | ({"note": note} if note else {})
        plan = Plan([("contact", values)])
        told = ["phoned today: " + outcome, "load cut" if cut else "", note]
        plan.words.append("; ".join(part for part in told if part))
        if outcome == "spoke":
            self.pain_into(plan)
            plan.words.append("(data, and no review of range: an overdue review stays overdue)")
        elif view.span and clocks.in_protected_stage(view):
            plan.words.append("(protected stage: an attempt is no contact; try again, or write)")
        return plan


class SweepPhone(Swept, CallForm):
    """A call takes the case out of the sweep for a week; the review stays owed."""

    decision = "phone"

    def reached(self) -> bool:
        """Somebody spoke."""
        return self.picked("outcome") == "spoke"
