"""The sweep's "seen": a visit recorded late, with the short form of the review set."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal, InvalidOperation
from typing import Any

from textual.widget import Widget

from armrise.store.clinic.actions import needs
from armrise.store.clinic.case.view import View
from armrise.store.clinic.time import slots
from armrise.store.record.fields import Absence
from armrise.store.record.words import plain
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.forms.sweep.forms import Swept
from armrise.tui.forms.visit.checkin import ASKED, AnythingNew
from armrise.tui.forms.visit.pain import PainAsked
from armrise.tui.forms.visit.redflags import RedFlagScreen
from armrise.tui.words.entries import day

RANGES = ("passive_external_rotation", "active_flexion")
LABELS = {"passive_external_rotation": "passive rotation at side", "active_flexion": "active flexion"}
NOT = "n not measured"
DAYS_BACK = 60
LONGEST = 366


class SeenForm(PainAsked):
    """A visit told late: when, anything new, pain, two ranges, exercise done, the next review."""

    flags: tuple[Draft, ...] = ()

    def rows(self) -> Iterable[Widget]:
        """The day first: everything else is of it."""
        today = self.door.today
        yield DayField("seen on", today - timedelta(days=1), today, key="on", back=DAYS_BACK)
        yield AnythingNew("anything new?", beside=ASKED, key="new")
        yield from self.pain_rows()
        for name in RANGES:
            yield Line(LABELS[name], key=name, longest=8)
        yield Line("exercise done, of asked", key="adherence", longest=8)
        yield Line("next review in, days", key="interval", longest=4)

    def on_mount(self) -> None:
        """Start at the day."""
        super().on_mount()
        self.query_one("#on").focus()

    def read_in(self, view: View) -> None:
        """The day of the newest slot nobody has answered, and the stage's interval."""
        past = slots.unanswered(view)
        if past:
            self.query_one("#on", DayField).put(past[-1])
        for name in RANGES:
            self.query_one(f"#{name}", Line).say_beside(f"degrees; {NOT}")
        self.query_one("#adherence", Line).say_beside("as 5/7; n not asked")

    def pain_day(self) -> date:
        """The morning of the visit."""
        return self.on_day("on")

    def fit(self, view: View) -> None:
        """The pain of the day before the visit, and when the next review then falls due."""
        self.fit_pain(view, asked=True)
        due = needs.due_after_seen(view, self.on_day("on"), self.days())
        words = f"due {day(due)}" if due else ""
        usual = "the stage's own" if not self.line("interval") else ""
        said = "; ".join(part for part in (usual, words) if part)
        self.query_one("#interval", Line).say_beside(said)

    def open_flags(self) -> None:
        """A yes opens the red-flag list."""
        screen = RedFlagScreen(self.door, self.standing.code, self.standing.side)
        self.app.push_screen(screen, self.flagged)

    def flagged(self, drafts: list[Draft] | None) -> None:
        """The list came back: its answers are of the visit and written with it."""
        self.flags = tuple(drafts or ())
        new = self.query_one("#new", AnythingNew)
        if self.flags:
            new.beside = f"{len(self.flags)} answered, written with this"
            self.set_focus(new)
            self.focus_next()
        else:
            new.value = ""
            self.say("Nothing was chosen on the red-flag list, so nothing new is recorded.")
        self.show_plan()

    def days(self) -> int | None:
        """The interval typed, None for the stage's own or for what is none."""
        text = self.line("interval")
        return int(text) if text.isdecimal() and 1 <= int(text) <= LONGEST else None

    def plan_of(self, view: View) -> Plan:
        """The visit, what was found, and what is still lacking."""
        asked = needs.seen(view, self.on_day("on"))
        asked.faults |= self.lacks(view)
        if not asked.met:
            return self.lacking(asked)
        plan = Plan([self.visit()])
        late = (view.today - self.on_day("on")).days
        told = f", told {late} days later" if late > 1 else ""
        new = self.query_one("#new", AnythingNew)
        plan.words.append(
            f"visit of {day(self.on_day('on'))}{told}; anything new: {'yes' if new.yes else 'no'}"
        )
        self.pain_into(plan)
        self.measured_into(plan)
        for kind, values in self.flags:
            plan.drafts.append((kind, {"on": self.on_day("on"), **values}))
            plan.words.append(f"red-flag list: {values.get('item') or values.get('event')}")
        return plan

    def visit(self) -> Draft:
        """The visit itself."""
        values: dict[str, Any] = {"on": self.on_day("on")}
        values["anything_new"] = "yes" if self.query_one("#new", AnythingNew).yes else "no"
        if self.days():
            values["interval"] = self.days()
        return ("visit", values)

    def measures(self) -> dict[str, Decimal | Absence | None]:
        """Ranges in degrees and adherence in per cent; None where nothing readable was typed."""
        read = {name: number(self.line(name), Absence.NOT_MEASURED) for name in RANGES}
        return {**read, "adherence": share(self.line("adherence"))}

    def measured_into(self, plan: Plan) -> None:
        """One measurement each; what was not measured is written as that, never left to be guessed."""
        labels = {**LABELS, "adherence": "exercise done"}
        for name, value in self.measures().items():
            values = {"on": self.on_day("on"), "name": name, "value": value}
            if name in RANGES:
                values["rater"] = self.door.author
            else:
                values["source"] = "patient reported"
            plan.drafts.append(("measure", values))
        told = [f"{labels[name]} {_told(value, name)}" for name, value in self.measures().items()]
        plan.words.append("; ".join(told))

    def lacks(self, view: View) -> dict[str, str]:
        """What of the review set is not answered, or out of its range."""
        lacking: dict[str, str] = {}
        day_field, new = self.query_one("#on", DayField), self.query_one("#new", AnythingNew)
        if day_field.fault or day_field.value:
            lacking["on"] = day_field.fault or "seen on: finish the date with Enter."
        if not new.value:
            lacking["new"] = "anything new?: answer y or n."
        lacking |= self.pain_lacking()
        for name, value in self.measures().items():
            fault = self.range_fault(view, name, value)
            if fault:
                lacking[name] = fault
        if self.line("interval") and self.days() is None:
            lacking["interval"] = f'next review in: "{self.line("interval")}" is not 1 to {LONGEST} days.'
        return lacking

    def range_fault(self, view: View, name: str, value: Decimal | Absence | None) -> str:
        """Why a typed measurement is none."""
        if name == "adherence":
            return "" if value is not None else "exercise done: as 5/7, or n for not asked."
        spec = view.rules.measures[name]
        allowed = f"{plain(spec.low)} to {plain(spec.high)} degrees, or n for not measured"
        if value is None or (isinstance(value, Decimal) and not spec.low <= value <= spec.high):
            typed = f'"{self.line(name)}" is not allowed; ' if self.line(name) else ""
            return f"{LABELS[name]}: {typed}{allowed}."
        return ""


def number(text: str, absence: Absence) -> Decimal | Absence | None:
    """A number as typed, the absence for "n", None for anything else."""
    if text.lower() == "n":
        return absence
    try:
        found = Decimal(text)
    except InvalidOperation:
        return None
    return found if found.is_finite() else None


def share(text: str) -> Decimal | Absence | None:
    """ "5/7" in per cent, at most 100; not asked for "n"; None for anything else."""
    done, slash, asked = text.partition("/")
    if text.lower() == "n":
        return Absence.NOT_ASKED
    if not slash or not (done.strip().isdecimal() and asked.strip().isdecimal()) or int(asked) == 0:
        return None
    return Decimal(min(100, round(100 * int(done) / int(asked))))


def _told(value: Decimal | Absence | None, name: str) -> str:
    if isinstance(value, Decimal):
        return f"{plain(value)} %" if name == "adherence" else plain(value)
    return value.value if isinstance(value, Absence) else ""


class SweepSeen(Swept, SeenForm):
    """Seen, and told late: out of the sweep until the next review is due."""

    decision = "seen"

    def own_date(self, view: View) -> date | None:
        """The next review due."""
        return needs.due_after_seen(view, self.on_day("on"), self.days())
