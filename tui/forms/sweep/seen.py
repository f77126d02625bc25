"""The sweep's "seen": a visit recorded late, with the short form of the review set."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from decimal import Decimal, InvalidOperation

from textual.widget import Widget

from armrise.store.clinic.actions import needs
from armrise.store.clinic.case.view import View
from armrise.store.clinic.time import slots
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.care import Visit
from armrise.store.record.kinds.head import REPORTED
from armrise.store.record.kinds.measured import Measure
from armrise.store.record.words import plain
from armrise.tui.forms.kit.asked import Ask
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Draft
from armrise.tui.forms.red_flags.news import AnythingNew, AsksNews
from armrise.tui.forms.sweep.forms import Swept
from armrise.tui.forms.visit.pain import PainAsked
from armrise.tui.words.entries import day

RANGES = ("passive_external_rotation", "active_flexion")
LABELS = {"passive_external_rotation": "passive rotation at side", "active_flexion": "active flexion"}
NOT = "n not measured"


class SeenForm(AsksNews, PainAsked):
    """A visit told late: when, anything new, pain, two ranges, exercise done, the next review."""

    kind = Visit
    asks = (
        Ask("on", "seen on", back=60),
        Ask("interval", "next review in, days"),
    )

    def rows(self) -> Iterable[Widget]:
        """The day first: everything else is of it."""
        known, on, interval = super().rows()
        yield from (known, on, AnythingNew(), *self.pain_rows(), self.nights_row())
        for name in RANGES:
            yield Line(LABELS[name], key=name, longest=8, beside=f"degrees; {NOT}")
        yield Line("exercise done, of asked", key="adherence", longest=8, beside="as 5/7; n not asked")
        yield interval

    def read_in(self, view: View) -> None:
        """The day of the newest slot nobody has answered, else yesterday."""
        past = slots.unanswered(view)
        self.query_one("#on", DayField).put(past[-1] if past else view.today - timedelta(days=1))

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

    def days(self) -> int | None:
        """The interval typed, None for the stage's own or for what is none."""
        days: int | None = self.stated().get("interval")
        return days

    def checked(self, view: View) -> needs.Needs:
        """A day on which the patient can have been seen, and the whole of the short review set."""
        asked = needs.seen(view, self.on_day("on"))
        if not self.new.value:
            asked.faults["new"] = "anything new?: answer y or n."
        asked.faults |= self.pain_lacking()
        for name, value in self.measures().items():
            fault = self.range_fault(view, name, value)
            if fault:
                asked.faults[name] = fault
        asked.faults |= self.lacks()
        return asked

    def drafts(self, view: View) -> list[Draft]:
        """The visit, the pain, what was measured, and what is new."""
        on = self.on_day("on")
        visit: Draft = (Visit.KIND, {**self.stated(), "anything_new": self.news()})
        flags = [(kind, {"on": on, **values}) for kind, values in self.flags]
        return [visit, *self.pain(view).drafts, *self.measured(), *flags]

    def follows(self, view: View, drafts: Sequence[Draft]) -> list[str]:
        """How late it is told, and what the pain says."""
        late = (view.today - self.on_day("on")).days
        return [*([f"(told {late} days later)"] if late > 1 else []), *self.pain(view).then]

    def measures(self) -> dict[str, Decimal | Absence | None]:
        """Ranges in degrees and adherence in per cent; None where nothing readable was typed."""
        read = {name: number(self.line(name), Absence.NOT_MEASURED) for name in RANGES}
        return {**read, "adherence": share(self.line("adherence"))}

    def measured(self) -> Iterable[Draft]:
        """One measurement each; what was not measured is written as that, never left to be guessed."""
        for name, value in self.measures().items():
            how = {"rater": self.door.author} if name in RANGES else {"source": REPORTED}
            yield (Measure.KIND, {"on": self.on_day("on"), "name": name, "value": value, **how})

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


class SweepSeen(Swept, SeenForm):
    """Seen, and told late: out of the sweep until the next review is due."""

    decision = "seen"

    def own_date(self, view: View) -> date | None:
        """The next review due."""
        return needs.due_after_seen(view, self.on_day("on"), self.days())
