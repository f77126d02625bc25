"""The fields of a supposition: what the verdict asks for first, then what is usually asked."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal, InvalidOperation

from textual.widget import Widget

from armrise.store.clinic.actions.suppose import Asked, Supposed, asked, usual_unit
from armrise.store.clinic.case.view import View
from armrise.store.clinic.motion import motion
from armrise.store.entries.ranges import Range, measure_range, score_range
from armrise.store.record.case import CaseRecord
from armrise.store.record.words import plain, words_date
from armrise.store.rules.pathway import Rules
from armrise.tui.forms.kit.fields import Score, YesNo
from armrise.tui.forms.kit.line import Line

AS_IS = "as on record"
TRIPLE = {"during": "pain during", "later": "pain later that day", "morning": "pain next morning"}
USUAL = (
    "night_pain",
    "worst_pain",
    "rest_pain",
    "active_flexion",
    "passive_flexion",
    "passive_external_rotation",
    "external_rotation_strength",
    "internal_rotation_strength",
)
"""Offered in every stage, after what its criteria ask for."""

MOST_REPEATS = 6
MOST_DAYS_AHEAD = 90


class Pain(Score):
    """A supposed whole number; empty leaves what is on record."""

    def __init__(self, label: str, *, high: int = 10, **rest: str) -> None:
        super().__init__(label, high=high, **rest)
        ten = ", x for 10" if high >= 10 else ""
        self.hint = f"0-{min(high, 9)} and on{ten}   Backspace empties: {AS_IS}"
        self.blank = AS_IS

    def typed(self, character: str) -> None:
        """A digit or x; nothing can be supposed to be declined."""
        if character.lower() == "d":
            self.fault = f'{self.label}: "d" is no number to suppose.'
        else:
            super().typed(character)

    @property
    def number(self) -> int | None:
        """The supposed value, None while there is none."""
        answer = None if self.fault else self.answer
        return answer if isinstance(answer, int) else None


class Maybe(YesNo):
    """A supposed yes or no."""

    blank = AS_IS
    hint = f"y yes   n no   Backspace empties: {AS_IS}"


class FieldsOf:
    """Which fields one case gets, and what they suppose."""

    def __init__(self, record: CaseRecord, rules: Rules, view: View) -> None:
        self.record = record
        self.rules = rules
        self.view = view
        self.widgets: list[Widget] = []
        self.keys: dict[str, Asked] = {}
        wanted = [*asked(record, rules, view.today), *self._usual()]
        for one in wanted:
            self._add(one)

    def _usual(self) -> Iterator[Asked]:
        yield Asked("session", "")
        for name in USUAL:
            yield Asked("measure", name)
        if self.view.pathway:
            yield Asked("score", self.view.pathway.score)

    def _add(self, one: Asked) -> None:
        if one.kind == "session":
            self._sessions()
            return
        key = "-".join((one.kind, one.key, one.scope)).strip("-").replace(" ", "-").replace("_", "-")
        if key in self.keys:
            return
        self.keys[key] = one
        self.widgets.append(self._widget(one, key))

    def _widget(self, one: Asked, key: str) -> Widget:
        if one.kind == "finding":
            return Maybe(one.key, key=key, beside=self._finding_now(one.key))
        if one.kind == "clearance":
            what = " for resisted work" if one.scope == "resisted" else ""
            return Maybe(f"{one.key} clears{what}", key=key)
        if one.kind == "score":
            return Line(one.key, key=key, longest=6, beside=self._score_now(one.key))
        spec = self.rules.measures[one.key]
        if spec.question and spec.high <= 10:
            return Pain(spec.label, high=int(spec.high), key=key, beside=self._measure_now(one.key))
        return Line(spec.label, key=key, longest=6, beside=self._measure_now(one.key))

    def _sessions(self) -> None:
        if any(widget.id == "during" for widget in self.widgets):
            return
        kept = [s for s in self.record.sessions if s.on < self.view.today]
        for name, label in TRIPLE.items():
            value = getattr(kept[-1], name) if kept else ""
            beside = f"session of {words_date(kept[-1].on)}: {value}" if kept else "a session of yesterday"
            self.widgets.append(Pain(label, key=name, beside=beside))
        self.widgets.append(
            Pain("more sessions like it", high=MOST_REPEATS, key="repeats", beside="all sets done")
        )
        empty = f"empty: today, {words_date(self.view.today)}"
        self.widgets.append(Line("so many days ahead", key="ahead", longest=2, beside=empty))

    # what is on record

    def _measure_now(self, name: str) -> str:
        found = motion.values(self.view, name)
        unit = self._unit(name)
        if not found:
            return f"never recorded; {unit}" if unit else "never recorded"
        shown = f"{plain(motion.number(found[-1]))} on {words_date(found[-1].on)}"
        return f"now {shown}; {unit}" if unit else f"now {shown}"

    def _unit(self, name: str) -> str:
        own = usual_unit(self.record, self.rules, self.view.today, name)
        unit = own or self.rules.measures[name].unit
        return "" if unit == "of 10" else unit

    def _score_now(self, instrument: str) -> str:
        found = [s for s in self.view.upto("scores") if s.instrument == instrument]
        totals = [s for s in found if isinstance(s.total, Decimal)]
        return f"now {plain(totals[-1].total)} on {words_date(totals[-1].on)}" if totals else "never recorded"

    def _finding_now(self, name: str) -> str:
        found = [f for f in self.view.upto("findings") if f.name == name]
        return f"now {found[-1].answer} on {words_date(found[-1].on)}" if found else "never asked"

    # what is supposed

    def read(self) -> tuple[Supposed | None, dict[str, str]]:
        """The supposition, None while nothing is typed; and the faults by field."""
        faults: dict[str, str] = {}
        numbers = [
            (one, n) for key, one in self.keys.items() if (n := self._number(key, one, faults)) is not None
        ]
        answers = [(one, said) for key, one in self.keys.items() if (said := self._answer(key))]
        supposed = Supposed(
            days_ahead=self._ahead(faults),
            during=self._pain("during"),
            later=self._pain("later"),
            morning=self._pain("morning"),
            repeats=self._pain("repeats") or 0,
            measures=tuple((one.key, value) for one, value in numbers if one.kind == "measure"),
            totals=tuple((one.key, value) for one, value in numbers if one.kind == "score"),
            findings=tuple((one.key, said) for one, said in answers if one.kind == "finding"),
            clearances=tuple((one.key, one.scope, said) for one, said in answers if one.kind == "clearance"),
        )
        return (supposed if supposed != Supposed() else None), faults

    def _named(self, key: str) -> Widget:
        return next(widget for widget in self.widgets if widget.id == key)

    def _answer(self, key: str) -> str:
        widget = self._named(key)
        return widget.shown() if isinstance(widget, Maybe) and widget.value else ""

    def _pain(self, name: str) -> int | None:
        widget = self._named(name)
        assert isinstance(widget, Pain)
        return widget.number

    def _ahead(self, faults: dict[str, str]) -> int:
        widget = self._named("ahead")
        assert isinstance(widget, Line)
        if not widget.value:
            return 0
        if not widget.value.isdecimal() or int(widget.value) > MOST_DAYS_AHEAD:
            faults["ahead"] = f'days ahead: "{widget.value}" is not 0 to {MOST_DAYS_AHEAD}.'
            return 0
        return int(widget.value)

    def _number(self, key: str, one: Asked, faults: dict[str, str]) -> Decimal | None:
        widget = self._named(key)
        if isinstance(widget, Pain):
            return Decimal(widget.number) if widget.number is not None else None
        if not isinstance(widget, Line) or not widget.value:
            return None
        limits = self._range(one)
        try:
            value = Decimal(widget.value.replace(",", "."))
        except InvalidOperation:
            value = Decimal("NaN")
        if value.is_nan() or (limits and not limits.low <= value <= limits.high):
            allowed = f"{plain(limits.low)} to {plain(limits.high)}" if limits else "a number"
            faults[str(widget.id)] = f'{widget.label}: "{widget.value}" is not {allowed}.'
            return None
        return value

    def _range(self, one: Asked) -> Range | None:
        if one.kind == "score":
            return score_range(self.rules, one.key, None)
        unit = usual_unit(self.record, self.rules, self.view.today, one.key)
        return measure_range(self.rules, one.key, unit)
