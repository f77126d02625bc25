"""Measures and scores of a day, without a visit: pain, range, strength, questionnaires."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from armrise.store.clinic.actions.placing import strength_barred
from armrise.store.clinic.case.view import View
from armrise.store.clinic.scores.scale import direction
from armrise.store.record.case import CaseRecord
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.fields import Score
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.forms.kit.second import WithSecondPage
from armrise.tui.forms.measures import plan as plans
from armrise.tui.forms.measures.activity import Activity, name_activities
from armrise.tui.forms.measures.given import given_in
from armrise.tui.forms.measures.items import ItemsScreen
from armrise.tui.forms.measures.range_line import METHODS, NOT_CHOSEN, POSITIONS, RangeLine
from armrise.tui.forms.measures.range_line_case import ACTIVE, PASSIVE, STRENGTH, asked_for, how_before
from armrise.tui.forms.paged.fields import Letters, Proposed, Total
from armrise.tui.forms.paged.form import PagedForm
from armrise.tui.widgets.static import Static

LINES = {"active": ACTIVE, "passive": PASSIVE, "strength": STRENGTH}


class MeasuresScreen(WithSecondPage, PagedForm):
    """Records what was measured or scored on one day; F4 opens a questionnaire with its items."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f3", "day", "Change the day", id="measures.day"),
        Binding("f4", "turn", "A questionnaire by its items, or another one", id="measures.items"),
    ]
    heading = "Measures and scores"
    keys = "F2 write all   F3 day   F4 by items   PgDn PgUp blocks   Esc leave   F8 blank"
    titles = ("pain and range", "strength and scores")

    def blocks(self) -> Sequence[Sequence[Widget]]:
        """The day with pain and range; strength with the scores."""
        rules, today = self.door.rules, self.door.today
        regions = [key for key, spec in rules.instruments.items() if spec.region]
        return (
            (
                DayField("measured on", today, today, key="day"),
                Score("worst pain in 24 hours", key="worst"),
                Score("pain at rest", key="rest"),
                Score("pain at night", key="night"),
                Score("nights woken, of last 7", high=7, key="waking"),
                RangeLine("active", asked_for(ACTIVE, rules, None), NOT_CHOSEN, key="active"),
                RangeLine("passive", asked_for(PASSIVE, rules, None), NOT_CHOSEN, key="passive"),
                Letters("measured with", METHODS, key="method"),
                Letters("in which position", POSITIONS, key="position"),
            ),
            (
                Static("", id="barred", markup=False),
                RangeLine("dynamometer", asked_for(STRENGTH, rules, None), NOT_CHOSEN, key="strength"),
                Proposed("outcome score", regions, key="instrument"),
                Total("total", key="total"),
                *(Activity(number, key=key) for number, key in enumerate(plans.FUNCTIONS, 1)),
            ),
        )

    def on_mount(self) -> None:
        """Start at the first value, not at the day."""
        super().on_mount()
        self.row("worst").focus()

    def action_day(self) -> None:
        """Go to the day."""
        self.go(0)

    def second(self) -> FormScreen:
        """A questionnaire with its items."""
        return ItemsScreen(self.door, self.standing)

    def arrived(self, record: CaseRecord) -> None:
        """Sides, what was before, and whether strength may be tested."""
        view = View.of(record, self.door.rules, self.door.today)
        for key, names in LINES.items():
            line = self.row(key)
            line.fit(asked_for(names, self.door.rules, record), (record.side, record.other_side))
        barred = strength_barred(view, view.pathway)
        self.tell_if("barred", f"  {barred}: x says so" if barred else "")
        name_activities(self, record)
        if view.pathway:
            score = self.row("instrument")
            score.propose(view.pathway.score, f"{view.pathway.score}, of {view.pathway.code}")

    def typing(self) -> None:
        """The range of the total hangs on the questionnaire."""
        spec = self.door.rules.instruments.get(self.row("instrument").code)
        if spec:
            total = self.row("total")
            total.low, total.high = spec.low, spec.high
            total.say_beside(f"{spec.low} to {spec.high}, {direction(spec)}")

    def parts(self) -> Sequence[Plan]:
        """What each block would write."""
        record = self.record
        if record is None:
            return [Plan(nothing="Reading the case ...")]
        field = self.row("day")
        given = given_in(self, record.other_side)
        before = how_before(record, (*ACTIVE, *PASSIVE))
        pain, lines = (
            plans.ratings(given),
            plans.measured(given, ("active", "passive"), plans.means(given), before),
        )
        first = Plan([*pain.drafts, *lines.drafts], lines.then, lines.faults)
        if field.fault or field.value:
            first.faults["day"] = field.fault or "measured on: the day is being typed; Enter takes it."
        second = plans.measured(given, ("strength",), plans.DYNAMOMETER)
        plans.region_score(second, given)
        plans.function(second, given)
        return [self.of_day(part, field) for part in (first, second)]

    def of_day(self, plan: Plan, field: DayField) -> Plan:
        """The same, dated on the chosen day."""
        plan.drafts = [self.dated(draft, field) for draft in plan.drafts]
        plan.nothing = "Nothing typed here yet."
        return plan

    def dated(self, draft: Draft, field: DayField) -> Draft:
        """A draft of the chosen day."""
        kind, values = draft
        return kind, {**values, "on": field.chosen}
