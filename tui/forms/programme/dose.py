"""The dose of one exercise, typed: changing one that is in the programme, or beginning one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from textual.widget import Widget

from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.healing.breaches import in_force
from armrise.store.clinic.healing.fit import Fit, fit
from armrise.store.clinic.programme.ladder import start_of
from armrise.store.clinic.programme.parts import Dose
from armrise.store.record.case import CaseRecord
from armrise.store.record.kinds.plan import NOT_ALLOWED
from armrise.store.record.kinds.programme import CLASS_WORDS, LOAD_CLASSES, ProgrammeItem, stated
from armrise.store.record.words import plain
from armrise.store.rules.exercise import Exercise
from armrise.tui.forms.kit.asked import longest, override_fields
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.fields import Pick, YesNo
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.forms.programme.plan import (
    BESIDE,
    KIND,
    LEFT_OUT,
    NUMBERS,
    RULES,
    count_label,
    home_words,
    number,
    spread,
    two_raised,
)
from armrise.tui.forms.programme.view import FREE, dose_line
from armrise.tui.forms.programme.way import arc_of, seconds_of, way_rows, way_texts
from armrise.tui.shell.door import Door
from armrise.tui.widgets.static import Static
from armrise.tui.words.entries import identifying


class DoseScreen(FormScreen):
    """Writes a new version of an exercise. One that does not fit today needs an override beside it."""

    def __init__(self, door: Door, standing: Standing, exercise: str = FREE) -> None:
        super().__init__(door, standing)
        self.exercise = exercise
        self.view: View | None = None
        self.item: ProgrammeItem | None = None
        self.first: dict[str, Any] = {}

    @classmethod
    def again(cls, door: Door, standing: Standing, about: str) -> DoseScreen:
        """The form anew for the exercise it was about."""
        return cls(door, standing, about)

    def kept_as(self) -> str:
        """The form and its exercise."""
        return f"{type(self).__name__}:{self.exercise}"

    @property
    def free(self) -> bool:
        """True for an exercise that is typed by name and class."""
        return self.exercise == FREE

    @property
    def heading(self) -> str:  # type: ignore[override]
        """What is typed here."""
        return "Change a dose" if self.item else "Add an exercise"

    def lead(self) -> str:
        """The exercise as it stands, or its usual start; and what is at home."""
        if self.record is None or self.view is None:
            return ""
        home = home_words(newest(self.record.home_loads))
        if self.item:
            return f"{self.exercise}: {dose_line(self.item)}\n{home}"
        if self.free:
            return home
        made = self.catalogued()
        status = f" ({made.status})" if made and made.status != made.source else ""
        source = f"usual start: {made.source}{status}; needs {made.equipment}" if made else ""
        return f"{self.exercise}: {CLASS_WORDS[self.load_class]}; {source}\n{home}"

    def rows(self) -> Iterable[Widget]:
        """Name and class where they are typed, then the dose."""
        if self.free:
            yield Line("exercise", key="exercise", longest=longest(RULES["exercise"]))
            yield Line("load class", key="load_class", longest=2, beside="as P1, A2, I1, R1")
            yield YesNo("elbow above the shoulder?", key="above_shoulder")
            yield YesNo("abduction + ext. rotation?", key="combined")
        for name in ("sets", "reps"):
            yield Line(NUMBERS[name], key=name, longest=3)
        yield Line("range", key="spread", longest=10, beside=BESIDE["spread"])
        for name in ("sets_high", "load", "band", "per_week", "hold"):
            yield Line(NUMBERS[name], key=name, longest=6, beside=BESIDE.get(name, LEFT_OUT))
        yield from way_rows(self.door.today)
        for name in ("effort", "rest"):
            yield Line(NUMBERS[name], key=name, longest=3, beside=LEFT_OUT)
        raise_reps = YesNo(
            "patient may raise reps?", beside="in the range, never the load", key="self_progress"
        )
        raise_reps.blank = "no"
        yield raise_reps

    def below(self) -> Iterable[Widget]:
        """What an override needs; hidden where the exercise fits."""
        yield from override_fields(self.door.today)

    def on_mount(self) -> None:
        """Start at the first field."""
        super().on_mount()
        self.fit_override()
        self.query_one("#exercise" if self.free else "#sets", Line).focus()

    def arrived(self, record: CaseRecord) -> None:
        """Begin with the dose as it stands, or the usual one."""
        self.view = View.of(record, self.door.rules, self.door.today)
        self.item = next((i for i in in_force(self.view) if i.exercise == self.exercise), None)
        made = self.catalogued()
        self.first = stated(self.item) if self.item else start_of(made) if made else {}
        self.fill()
        self.fit_override()
        self.query_one("#form-head", Static).update(self.head())
        lead = self.query_one("#form-lead", Static)
        lead.update(self.lead())
        lead.display = True

    def catalogued(self) -> Exercise | None:
        """The exercise of the catalogue with this name."""
        pathway = self.view.pathway if self.view else None
        return self.door.rules.exercise(self.exercise, pathway.code if pathway else None)

    def fill(self) -> None:
        """Put the dose to begin with into the fields nobody has typed in."""
        low, high = self.first.get("reps_low"), self.first.get("reps_high")
        texts: dict[str, Any] = {name: self.first.get(name) for name in NUMBERS}
        texts["load"] = plain(texts["load"]) if texts["load"] is not None else None
        texts["spread"] = f"{low}-{high}" if low is not None and high is not None else None
        for name, value in {**texts, **way_texts(self.first)}.items():
            if value not in (None, ""):
                self.query_one(f"#{name}", Line).begin_with(str(value))
        self.query_one("#assist", Pick).value = self.first.get("assist") or ""
        if self.first.get("self_progress"):
            self.query_one("#self_progress", YesNo).value = "y"
        label = self.query_one("#reps", Line)
        label.label = count_label(self.load_class)
        label.query_one(".line-label", Static).update(f"  {label.label}")

    # what is typed

    def text(self, name: str) -> str:
        """A line as typed."""
        return self.query_one(f"#{name}", Line).value

    @property
    def load_class(self) -> str:
        """The load class of the exercise; empty while it is not typed."""
        if self.free and self.is_mounted:
            typed = self.text("load_class").upper()
            return typed if typed in LOAD_CLASSES else ""
        return str(self.first.get("load_class", ""))

    def named(self) -> dict[str, Any]:
        """Name, class and movement."""
        if not self.free:
            names = ("exercise", "load_class", "above_shoulder", "combined", "sides")
            return {name: self.first[name] for name in names if name in self.first}
        flags = {name: self.query_one(f"#{name}", YesNo).yes for name in ("above_shoulder", "combined")}
        return {"exercise": self.text("exercise"), "load_class": self.load_class, **flags}

    def typing(self) -> None:
        """An exercise that does not fit asks for an override; warn of names in the reason."""
        self.fit_override()
        line = self.query_one("#reason", Line)
        line.warn(identifying(line.value))

    def fitting(self) -> Fit | None:
        """How the exercise fits today; None while that cannot be said."""
        named = self.named()
        if self.view is None or not named.get("load_class"):
            return None
        name, klass, combined = named["exercise"], named["load_class"], bool(named.get("combined"))
        made = Exercise(name=name, load_class=klass, equipment="", sets=1, reps=1, combined=combined)
        return fit(self.view, made)

    def fit_override(self) -> None:
        """Show what an override needs."""
        found = self.fitting() if self.view else None
        barred, healing = bool(found and found.why), bool(found and found.healing)
        words = (
            f"{'HEALING: ' if healing else ''}{found.why}: an override is needed." if found and barred else ""
        )
        self.query_one("#needs", Static).update(words)
        for key, shown in (("needs", barred), ("category", barred), ("reason", barred), ("code", healing)):
            self.query_one(f"#{key}").display = shown and barred

    # what will be written

    def plan(self) -> Plan:
        """The version, and the override beside it where one is needed."""
        if self.view is None:
            return Plan(nothing="Reading the case ...")
        faults: dict[str, str] = {}
        values = {**(stated(self.item) if self.item else {}), **self.named(), **self.dose(faults)}
        faults = {**self.name_faults(), **faults}
        found = self.fitting()
        if found and found.why:
            faults |= self.override_faults(found)
        if any(values.get(name) is None for name in ("sets", "reps", "load_class")):
            return Plan(faults=faults, nothing="Type the dose: sets and repetitions at least.")
        if self.item and not faults and all(getattr(self.item, n) == v for n, v in values.items()):
            return Plan(nothing="Nothing is changed: nothing to write.")
        drafts: list[Draft] = [(KIND, values)]
        if found and found.why:
            drafts.append(self.override(found))
        return Plan(drafts, self.changed(values), faults)

    def dose(self, faults: dict[str, str]) -> dict[str, Any]:
        """The numbers as typed; what cannot be read is marked."""
        labels = {**NUMBERS, "reps": count_label(self.load_class)}
        values: dict[str, Any] = {
            name: number(name, labels[name], self.text(name), faults) for name in NUMBERS
        }
        for name in ("sets", "reps"):
            if values[name] is None and name not in faults:
                faults[name] = f"{labels[name]}: is missing."
        values["reps_low"], values["reps_high"] = spread(self.text("spread"), faults)
        if values["sets"] and values["sets_high"] and values["sets_high"] < values["sets"]:
            faults["sets_high"] = (
                f"{labels['sets_high']}: {values['sets_high']} is below sets {values['sets']}."
            )
        values |= seconds_of(self.text("seconds"), faults) | arc_of(self.text("arc"), faults)
        values["assist"] = self.query_one("#assist", Pick).value
        values["self_progress"] = self.query_one("#self_progress", YesNo).yes
        if values["load"] is not None and values["band"] is not None:
            faults["band"] = "band: a load in kg is typed too, allowed is one of the two."
        return values

    def name_faults(self) -> dict[str, str]:
        """What is wrong with a typed name or class."""
        if not self.free:
            return {}
        faults: dict[str, str] = {}
        name = self.text("exercise")
        taken = [i.exercise.lower() for i in in_force(self.view)] if self.view else []
        if not name:
            faults["exercise"] = "exercise: say its name."
        elif name.lower() in taken:
            faults["exercise"] = f"exercise: {name} is in the programme already; e changes its dose."
        if not self.load_class:
            faults["load_class"] = f"load class: allowed is one of {', '.join(LOAD_CLASSES)}."
        return faults

    def changed(self, values: dict[str, Any]) -> list[str]:
        """Which dose it takes the place of, and a caution where two things rise."""
        if self.item is None:
            return []
        told = [f"(instead of {Dose.of(self.item).words(self.item)})"]
        caution = two_raised(self.item, self.version(values))
        return [*told, f"caution: {caution}"] if caution else told

    def version(self, values: dict[str, Any]) -> ProgrammeItem:
        """The item as it would stand."""
        if self.item:
            return replace(self.item, **values)
        drafted = self.door.draft(KIND, **values)
        assert isinstance(drafted, ProgrammeItem)
        return drafted

    def override(self, found: Fit) -> Draft:
        """The decision against the stage or the healing limit."""
        name = f"{self.named()['exercise']}, {CLASS_WORDS[self.load_class]}"
        category = self.query_one("#category", Pick).value
        values = {"against": f"{NOT_ALLOWED} {name}"[:60], "category": category}
        return ("override", {**values, "rules": self.door.rules.stamp, "reason": self.text("reason")})

    def override_faults(self, found: Fit) -> dict[str, str]:
        """What the override still lacks; past what heals the case code has to be typed as well."""
        faults: dict[str, str] = {}
        shortest = self.door.rules["step.override_shortest"]
        reason = self.text("reason")
        if not self.query_one("#category", Pick).value:
            faults["category"] = f"category: choose {self.query_one('#category', Pick).keys}."
        if len(reason) < shortest:
            faults["reason"] = f"reason: at least {shortest} characters, {len(reason)} typed."
        if found.healing and self.text("code").upper() != self.standing.code.upper():
            faults["code"] = f"code: type {self.standing.code} to go past this."
        return faults
