"""The review visit: a check-in, what was measured, and a decision on the verdict that follows from both."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import timedelta
from textwrap import fill
from typing import Any

from textual.containers import Vertical
from textual.widget import Widget

from armrise.store.clinic.actions.suppose import added
from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import View
from armrise.store.clinic.scores.scale import direction
from armrise.store.clinic.standing.stand import stand
from armrise.store.record.case import CaseRecord
from armrise.store.record.kinds.head import Entry
from armrise.tui.forms.decisions.step import StepScreen
from armrise.tui.forms.first_visit.ending import interval_fault
from armrise.tui.forms.kit.fields import Pick, Score
from armrise.tui.forms.kit.plan import Plan
from armrise.tui.forms.kit.weeks import AsksWeeks, WeeksLine
from armrise.tui.forms.measures.activity import Activity, name_activities
from armrise.tui.forms.measures.given import Given, given_in
from armrise.tui.forms.measures.plan import FUNCTIONS
from armrise.tui.forms.measures.range_line import METHODS, NOT_CHOSEN, POSITIONS, RangeLine
from armrise.tui.forms.measures.range_line_case import REVIEW, asked_for
from armrise.tui.forms.paged.fields import Answer, DateLine, Letters, ProposedLine, Total
from armrise.tui.forms.paged.form import PagedForm
from armrise.tui.forms.visit import review_plan
from armrise.tui.forms.visit.checkin import CheckInScreen
from armrise.tui.shell.closing import proposed_slot
from armrise.tui.shell.door import Door
from armrise.tui.widgets.static import Static
from armrise.tui.words.entries import score

TELLS, FOUND, DECIDES = range(3)


class ReviewScreen(AsksWeeks, PagedForm, CheckInScreen):
    """Records a review in three blocks and opens the step screen where a step was chosen."""

    heading = "Review visit"
    records_news = True
    asks_usual_first = False
    titles = ("what the patient tells", "what is found", "decision")
    write_label = "Write the review"
    keys = "F2 write all   F3 day   PgDn PgUp blocks   Esc leave, nothing written"

    def __init__(self, door: Door, standing: Standing) -> None:
        super().__init__(door, standing)
        self.asks = review_plan.About()
        self.stepped = False
        self.view: View | None = None

    # frame

    def lead(self) -> str:
        """Where in the form this is, and the limits in force."""
        limits = CheckInScreen.lead(self)
        return PagedForm.lead(self) + (f"\n{limits}" if limits else "")

    def blocks(self) -> Sequence[Sequence[Widget]]:
        """A check-in, findings, decision."""
        rules, today = self.door.rules, self.door.today
        return (
            tuple(self.told_rows()),
            (
                Score("worst pain in 24 hours", key="worst"),
                Score("pain at rest", key="rest"),
                Score("pain at night", key="night"),
                RangeLine("range", asked_for(REVIEW, rules, None, full=True), NOT_CHOSEN, key="range"),
                Letters("measured with", METHODS, key="method"),
                Letters("in which position", POSITIONS, key="position"),
                Score("exercised, of last 7 days", high=7, key="adherence"),
                Vertical(id="asks"),
                Letters("medicine", review_plan.CHANGES, key="medicine"),
                Total("total", key="total"),
                *(Activity(number, key=key) for number, key in enumerate(FUNCTIONS, 1)),
            ),
            (
                Static("", id="verdict", markup=False),
                Answer("injury assessed today?", key="assessed"),
                Answer("plan corrected?", aside="the forbidden load stopped: y n d", key="corrected"),
                Answer("load cut?", key="cut"),
                Answer("decision on the plan taken?", key="decision"),
                Pick("what now?", review_plan.WHAT_NOW, flow=True, key="now"),
                ProposedLine("review in, days", longest=3, key="interval"),
                DateLine("next visit", today, ahead=True, key="next"),
            ),
        )

    def told_rows(self) -> Iterable[Widget]:
        """Those of a check-in, and before its exercises the weeks since the last visit."""
        for row in CheckInScreen.rows(self):
            if row.id == "sets":
                yield WeeksLine()
            yield row

    def on_mount(self) -> None:
        """Nothing is asked yet that hangs on the case."""
        super().on_mount()
        self.query_one("#asks").styles.height = "auto"
        self.fit_asks()

    def arrived(self, record: CaseRecord) -> None:
        """Work out what this case is asked."""
        super().arrived(record)
        self.view = View.of(record, self.door.rules, self.door.today)
        self.fit_weeks(self.view)
        self.asks = review_plan.about(record, self.standing, self.door.rules, self.door.today)
        self.query_one("#asks", Vertical).mount_all(
            Answer(f"{name}?" if len(name) < 24 else f"{name[:23]}~", aside=self.aside(name), key=f"find-{n}")
            for n, name in enumerate(self.asks.findings)
            if not self.query(f"#find-{n}")
        )
        name_activities(self, record)
        self.look_again()
        self.fit_asks()
        self.fit_decision()

    @staticmethod
    def aside(name: str) -> str:
        """A finding too long for its label is said in full beside it."""
        return "" if len(name) < 24 else f"{name}: y n d"

    def fit_asks(self) -> None:
        """Only what matters for this case today is asked."""
        asks = self.asks
        for key, shown in (
            ("assessed", asks.injury),
            ("corrected", asks.breach),
            ("cut", asks.flare),
            ("decision", asks.worse),
            ("total", bool(asks.score)),
            *((key, bool(asks.score)) for key in FUNCTIONS),
        ):
            self.row(key).display = shown
        self.row("adherence").beside = f"{asks.asked_days} asked for"
        if self.record is not None:
            self.fit_lines(self.record)

    def fit_lines(self, record: CaseRecord) -> None:
        """What the range was before, how it was taken, and which total is owed."""
        line = self.row("range")
        asked = asked_for(REVIEW, self.door.rules, record, full=True)
        line.fit(asked, (record.side, record.other_side))
        other = (
            "other side known, may be left out"
            if self.asks.other_known
            else "other side never measured: both"
        )
        line.say_beside(other)
        for key in ("method", "position"):
            self.row(key).blank = review_plan.as_before(self.asks, key)
            self.row(key).refresh(layout=True)
        if self.asks.score:
            spec = self.door.rules.instruments[self.asks.score]
            total = self.row("total")
            total.low, total.high = spec.low, spec.high
            total.say_beside(f"{self.asks.score}, {direction(spec)}; {self.asks.score_words}")

    def recorded(self) -> bool:
        """True when the session of the chosen day is on record with its morning: it is not asked again."""
        return bool(self.about and self.about.sessions and not self.about.morning_open)

    def fit_beside(self) -> None:
        """What is on record of that day is shown and not asked; a second session is a check-in's business."""
        super().fit_beside()
        if not self.recorded():
            return
        assert self.about is not None
        for key in ("during", "later"):
            field = self.row(key)
            field.can_focus = False
            field.beside, field.blank = "on record", score(getattr(self.about.sessions[-1], key))

    def fit_sets(self) -> None:
        """No sets are asked of a session that is on record."""
        if self.recorded():
            self.query_one("#sets", Vertical).remove_children()
        else:
            super().fit_sets()

    def fit_day(self) -> None:
        """Nor is anything done beside it."""
        super().fit_day()
        if self.recorded():
            for key in ("also", "sling"):
                self.row(key).display = False

    # keys

    def all_as_asked(self) -> None:
        """Every exercise as prescribed: on to what is found."""
        super().all_as_asked()
        self.go(FOUND)

    def action_day(self) -> None:
        """Go to the day."""
        if self.at != TELLS:
            self.go(TELLS)
        super().action_day()

    # what is typed

    def typing(self) -> None:
        """The verdict follows what is typed."""
        super().typing()
        if self.view is not None:
            self.fit_weeks(self.view)
        if self.at == DECIDES:
            self.fit_decision()

    def opened(self) -> None:
        """The decision shows the verdict as it would be."""
        if self.at == DECIDES:
            self.fit_decision()

    def fit_decision(self) -> None:
        """The verdict that would follow, the interval, and the next date."""
        if self.record is None:
            return
        supposed = self.supposed()
        room = self.room - 2
        lines = [fill(line, room, subsequent_indent="    ") for line in review_plan.verdict_words(supposed)]
        self.query_one("#verdict", Static).update("\n".join(lines))
        interval, following = self.row("interval"), self.row("next")
        days = str(self.asks.interval or "")
        interval.propose(days, f"Enter: {days}, usual in {self.standing.stage}" if days else "")
        wanted = days if interval_fault(interval.value) else interval.value or days
        if wanted:
            when = self.door.today + timedelta(days=int(wanted))
            following.propose(*proposed_slot(self, when))

    def supposed(self) -> Standing:
        """What would follow if what is typed were written now."""
        assert self.record is not None
        entries = self.entries(self.plan().drafts)
        record = added(self.record, entries)
        return stand(record, self.door.rules, self.door.today)

    def typed_now(self) -> Given:
        """Every field, with the score that is owed."""
        given = given_in(self, self.record.other_side if self.record else "")
        return replace(given, text={**given.text, "instrument": self.asks.score})

    def parts(self) -> Sequence[Plan]:
        """What each block would write."""
        if self.record is None or self.about is None or self.view is None:
            return [Plan(nothing="Reading the case ...")]
        given = self.typed_now()
        told, weeks = CheckInScreen.plan(self), self.weeks(self.view)
        told.drafts += weeks.drafts
        told.faults |= weeks.faults
        found = review_plan.found(given, self.asks)
        return [told, found, review_plan.decided(given, self.asks, self.record)]

    # writing

    def write_now(self, entries: list[Entry]) -> str:
        """All of it in one transaction."""
        super().write_now(entries)
        return f"{self.standing.code} {self.standing.side}: review written, {len(entries)} entries."

    def hand_over(self) -> None:
        """Where a step was chosen, its screen comes next; what it wrote is told with the review."""
        to = review_plan.DIRECTIONS.get(self.row("now").value)
        if self.done is None or to is None or self.stepped:
            super().hand_over()
            return
        self.stepped = True
        written, self.done = self.done, None

        def stepped(said: Any) -> None:
            self.done = f"{written} {said or 'No step was written.'}"
            if self.is_active:
                self.hand_over()

        self.app.push_screen(StepScreen(self.door, self.standing, direction=to), stepped)
