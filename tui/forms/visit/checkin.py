"""The check-in: pain during, later and next morning of a named day, sets done, and anything new."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widget import Widget

from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import View
from armrise.store.record.case import CaseRecord
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.fields import Changed, Score, YesNo
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Plan
from armrise.tui.forms.programme.sets import SetsField, also_done
from armrise.tui.forms.red_flags.news import AnythingNew, AsksNews
from armrise.tui.forms.visit.checkin_plan import (
    Known,
    Typed,
    asks_usual,
    known,
    make,
    named_day,
    one_nought,
    pain_beside,
    programme_on,
    sling_on,
)
from armrise.tui.shell.door import Door
from armrise.tui.widgets.static import Static

NIGHTS = 7


class Also(Line):
    """An exercise that is not on the programme."""

    hint = "what, load class, sets x repetitions, as: band row R1 3x10"


class CheckInScreen(AsksNews):
    """Records what a patient reports of one day. Nothing has to be filled in; empty is not asked."""

    READING = (
        "What the patient reports of one day: pain during, later that day and on the next morning, 0 to 10.",
        "Pain is asked each time, never repeated. Limits and the usual morning stand beside the fields.",
        "y at anything new opens the red-flag list.",
        *FormScreen.READING,
    )
    heading = "Check-in"
    records_news = False
    asks_usual_first: ClassVar[bool] = True
    """Whether the first of its kind asks the usual morning too."""
    keys = "F2 write   F3 other day   Esc leave, nothing written   F8 blank"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f3", "day", "Change the day", id="checkin.day"),
    ]

    def __init__(self, door: Door, standing: Standing) -> None:
        super().__init__(door, standing)
        self.about: Known | None = None
        self.doubt = ""
        """What is said of a 1 that a 0 followed."""

    def lead(self) -> str:
        """Limits in force come first; those of pain stand beside the fields."""
        limits = "; ".join(line for line in self.standing.limits if not line.startswith("pain:"))
        return f"Limits today: {limits}" if limits else ""

    def rows(self) -> Iterable[Widget]:
        """The day, the question about anything new, the triple, waking; exercises follow when read."""
        today = self.door.today
        yield Static("", id="named", markup=False)
        yield DayField("exercises of", today - timedelta(days=1), today, key="day")
        yield AnythingNew()
        yield Score("pain during", key="during")
        yield Score("pain later that day", key="later")
        yield Score("pain next morning", key="morning")
        yield Score("usual morning pain", beside="the first baseline", key="usual")
        yield Score("nights woken, of last 7", high=NIGHTS, beside="may be left out", key="waking")
        yield YesNo("sling left off early?", key="sling")
        yield Vertical(id="sets")
        yield Also("also done, if anything", key="also", longest=80)

    def on_mount(self) -> None:
        """Start at the first question, not at the day."""
        super().on_mount()
        self.query_one("#sets").styles.height = "auto"
        self.query_one("#sling").display = False
        self.query_one("#usual").display = False
        self.name_day()
        self.query_one("#new").focus()

    def arrived(self, record: CaseRecord) -> None:
        """Fill in what hangs on the record and the day."""
        self.fit_day()

    @property
    def day(self) -> DayField:
        """The day field."""
        return self.query_one("#day", DayField)

    def name_day(self) -> None:
        """Say in words which morning and which day this is."""
        self.query_one("#named", Static).update(f"  {named_day(self.day.chosen, self.door.today)}")

    def fit_day(self) -> None:
        """Show limits, baseline, what is on record and the exercises of the chosen day."""
        self.name_day()
        if self.record is None:
            return
        self.about = known(self.record, self.day.chosen, self.door.today)
        self.fit_beside()
        self.fit_sets()
        for key, shown in (
            ("also", not self.about.only_morning),
            (
                "usual",
                self.asks_usual_first and asks_usual(self.record, self.door.rules, self.door.today),
            ),
            ("sling", not self.about.only_morning and self.sling_worn()),
        ):
            self.query_one(f"#{key}").display = shown

    def sling_worn(self) -> bool:
        """True when the sling is to be worn on the chosen day."""
        assert self.record is not None
        return sling_on(self.record, self.door.rules, self.day.chosen)

    def fit_beside(self) -> None:
        """Limits of the stage of that day beside the scores, or why a score is not asked."""
        assert self.record is not None
        assert self.about is not None
        view = View.of(self.record, self.door.rules, self.door.today)
        beside = pain_beside(self.about, view, self.standing.pain.baseline)
        done = self.about.sessions[-1] if self.about.only_morning else None
        for name in ("during", "later"):
            field = self.query_one(f"#{name}", Score)
            field.can_focus = done is None
            field.beside = "on record" if done else beside[name]
            field.blank = str(getattr(done, name)) if done else "not asked"
        morning = self.query_one("#morning", Score)
        morning.can_focus, morning.beside = self.about.morning_open, beside["morning"]
        ahead, told = self.about.next_morning > self.door.today, str(self.about.morning)
        morning.blank = "not asked" if self.about.morning_open else "-" if ahead else told

    def fit_sets(self) -> None:
        """One row for each exercise in force that day; what was typed stays where the exercise stays."""
        assert self.record is not None
        assert self.about is not None
        items = [] if self.about.only_morning else programme_on(self.record, self.door.rules, self.about.on)
        box = self.query_one("#sets", Vertical)
        if [row.item for row in self.walk_children(SetsField)] == items:
            return
        typed = {row.item.exercise: row.kept_text() for row in self.walk_children(SetsField)}
        box.remove_children()
        rows = [SetsField(item, key=f"set-{item.id or n}") for n, item in enumerate(items)]
        for row in rows:
            row.put_back(typed.get(row.item.exercise, ""))
        box.mount_all(rows)

    def on_changed(self, event: Changed) -> None:
        """A changed day changes what is asked."""
        if self.record is not None and self.about is not None and self.about.on != self.day.chosen:
            self.fit_day()
        super().on_changed(event)

    def typing(self) -> None:
        """A yes taken back drops the list's answers; 1 followed by 0 may have been meant as ten."""
        self.drop_untold()
        during, later = (self.query_one(f"#{name}", Score).answer for name in ("during", "later"))
        doubt = one_nought(during, later)
        if doubt != self.doubt:
            self.say(doubt)
        self.doubt = doubt

    def all_as_asked(self) -> None:
        """Every exercise as prescribed."""
        for row in self.walk_children(SetsField):
            row.fault = ""
            row.value = str(row.item.sets)
        self.set_focus(self.query_one("#write"))

    def plan(self) -> Plan:
        """What would be written now."""
        if self.about is None:
            return Plan(nothing="Reading the case ...")
        if self.day.fault or self.day.value:
            faults = {"day": self.day.fault} if self.day.fault else {}
            return Plan(faults=faults, nothing="The day is being typed.")
        plan = make(self.typed(), self.about, self.door.rules)
        also = self.query_one("#also", Line)
        if also.value and also_done(also.value) is None:
            plan.faults["also"] = f'also done: "{also.value}" needs its load class, as band row R1 3x10.'
        return plan

    def typed(self) -> Typed:
        """The fields as values."""
        names = ("during", "later", "morning", "waking", "usual")
        scores = {name: self.query_one(f"#{name}", Score) for name in names}
        answers = {name: field.answer for name, field in scores.items() if not field.fault}
        rows = [row for row in self.walk_children(SetsField) if not row.fault]
        return Typed(
            **answers,
            items=tuple(row.done() for row in rows),
            also=also_done(self.query_one("#also", Line).value),
            sling_off=self.query_one("#sling", YesNo).yes,
            nothing_new=self.new.value == "n",
            flags=self.flags,
        )

    def action_day(self) -> None:
        """Go to the day."""
        self.day.focus()
