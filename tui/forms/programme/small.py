"""Two small forms of the programme: taking an exercise out, and what is at home to train with."""

from __future__ import annotations

from collections.abc import Iterable

from textual.widget import Widget

from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.healing.breaches import in_force
from armrise.store.record.case import CaseRecord
from armrise.store.record.kinds.programme import HomeLoads, ProgrammeItem, stated
from armrise.store.record.words import plain
from armrise.tui.forms.kit.asked import Ask, field_for
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Plan
from armrise.tui.forms.programme.plan import BANDS, KIND, home_numbers, home_words
from armrise.tui.forms.programme.view import dose_line
from armrise.tui.shell.door import Door
from armrise.tui.words.entries import identifying


class StopItemScreen(FormScreen):
    """Takes one exercise out of the programme, with the reason; its history stays."""

    heading = "Take an exercise out"

    def __init__(self, door: Door, standing: Standing, exercise: str) -> None:
        super().__init__(door, standing)
        self.exercise = exercise
        self.item: ProgrammeItem | None = None

    @classmethod
    def again(cls, door: Door, standing: Standing, about: str) -> StopItemScreen:
        """The form anew for the exercise it was about."""
        return cls(door, standing, about)

    def kept_as(self) -> str:
        """The form and its exercise."""
        return f"{type(self).__name__}:{self.exercise}"

    def lead(self) -> str:
        """The exercise and its dose."""
        return f"{self.exercise}: {dose_line(self.item)}" if self.item else self.exercise

    def rows(self) -> Iterable[Widget]:
        """The reason."""
        yield field_for(Ask("stopped", "reason", key="reason"), ProgrammeItem, self.door.today)

    def on_mount(self) -> None:
        """Start at the reason."""
        super().on_mount()
        self.query_one("#reason", Line).focus()

    def arrived(self, record: CaseRecord) -> None:
        """Find the exercise as it now stands."""
        held = in_force(View.of(record, self.door.rules, self.door.today))
        self.item = next((i for i in held if i.exercise == self.exercise), None)

    def typing(self) -> None:
        """Warn of names in the reason."""
        line = self.query_one("#reason", Line)
        line.warn(identifying(line.value))

    def plan(self) -> Plan:
        """The last version of the exercise."""
        if self.record is None:
            return Plan(nothing="Reading the case ...")
        if self.item is None:
            return Plan(refused=f"{self.exercise} is not in the programme any more.")
        reason = self.query_one("#reason", Line).value
        if not reason:
            return Plan(faults={"reason": "reason: say why it stops."}, nothing="Say why it stops.")
        return Plan([(KIND, {**stated(self.item), "stopped": reason})])


class HomeLoadsScreen(FormScreen):
    """Records the weights and bands the patient has at home: a dose that cannot be done is not a dose."""

    heading = "Weights at home"

    def lead(self) -> str:
        """What is on record so far."""
        return home_words(self.told)

    @property
    def told(self) -> HomeLoads | None:
        """The newest record, None while there is none."""
        return newest(self.record.home_loads) if self.record else None

    def rows(self) -> Iterable[Widget]:
        """Weights and bands."""
        yield Line("weights, kg", key="weights", longest=120, beside="as 1, 1.5, 2")
        yield Line(f"bands, {BANDS}", key="bands", longest=40, beside="1 light, 6 heavy")

    def on_mount(self) -> None:
        """Start at the weights."""
        super().on_mount()
        self.query_one("#weights", Line).focus()

    def arrived(self, record: CaseRecord) -> None:
        """Begin with what is on record."""
        for name in ("weights", "bands"):
            numbers = getattr(self.told, name) if self.told else ()
            told = ", ".join(plain(n) for n in numbers if n is not None)
            self.query_one(f"#{name}", Line).begin_with(told)

    def plan(self) -> Plan:
        """One entry that holds until the next."""
        faults: dict[str, str] = {}
        weights, bands = (
            home_numbers(self.query_one(f"#{name}", Line).value, name, faults)
            for name in ("weights", "bands")
        )
        if faults:
            return Plan(faults=faults, nothing=next(iter(faults.values())))
        told = self.told
        if told and (told.weights, told.bands) == (weights, bands):
            return Plan(nothing="This is what is on record already: nothing to write.")
        return Plan([(HomeLoads.KIND, {"weights": weights, "bands": bands})])
