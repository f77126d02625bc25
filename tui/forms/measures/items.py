"""One questionnaire: its answers by number, or its total, with what follows shown while it is typed."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import cast

from textual.widget import Widget

from armrise.store.clinic.scores.activities import own_activities
from armrise.store.clinic.scores.constant_murley import CONSTANT
from armrise.store.clinic.scores.scale import direction
from armrise.store.clinic.scores.scoring import answer_range
from armrise.store.record.fields import rule_of
from armrise.store.record.kinds.measured import Score
from armrise.store.record.words import plain
from armrise.store.rules.measure import InstrumentSpec
from armrise.store.rules.questionnaire import Ladder
from armrise.tui.forms.kit.asked import choices, longest
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.fields import Field, in_order
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.forms.measures.items_fields import Folded, Slot
from armrise.tui.forms.measures.items_plan import (
    SCALES,
    Typed,
    beside_record,
    by_items,
    doubt,
    last_of,
    limits,
    read_score,
)
from armrise.tui.forms.measures.plan import FUNCTION
from armrise.tui.widgets.static import Static

DAYS_BACK = 400
TALL = 34
"""From this height on everything that follows is in sight while typing; below it the first lines."""
FEW = 3
TOTAL_KEYS = "total and Enter   i form incomplete   d declined   empty: only the answers"
FILLED_BY = choices(Score, "filled_by")
MEASURED = {
    "pain": ("pain, cm from no pain", 15, 1),
    "work": ("work, cm from all", 15, 1),
    "recreation": ("recreation, cm from all", 15, 1),
    "sleep": ("sleep", 0, 0),
    "hand_level": ("hand reaches", 0, 0),
    "flexion": ("flexion, painless to", 180, 0),
    "abduction": ("abduction, painless to", 180, 0),
    "external_rotation": ("external rotation", 0, 0),
    "internal_rotation": ("internal rotation", 0, 0),
    "strength": ("strength in kg, best of 3", 60, 1),
}
"""The parts of the Constant-Murley score in order: words, most and decimals; most 0: a word is chosen."""


class ItemsScreen(FormScreen):
    """Records one filled-in questionnaire."""

    heading = "Questionnaire"
    verb = "Will write"

    def lead(self) -> str:
        """Where the words of the items are."""
        return "Answers by the item number of your licensed form. A blank never counts as 0."

    def rows(self) -> Iterable[Widget]:
        """Which one and when; the items or parts; the total; which form it was."""
        rules, today = self.door.rules, self.door.today
        yield Folded("questionnaire", tuple(rules.instruments), key="instrument", blank="choose")
        yield DayField("filled in on", today, today, key="day", back=DAYS_BACK)
        yield Folded("which total", (), key="formula", blank="usual")
        yield Line("total, or Enter for items", key="total", longest=8)
        yield Folded("this total is", (), key="scale", blank="choose")
        for at in range(1, self.most_items() + 1):
            yield Slot(f"item {at}", key=f"item-{at}")
        for name, (label, most, _) in MEASURED.items():
            if most:
                yield Slot(label, key=f"part-{name}", blank="not measured")
            else:
                ladder = cast(Ladder, getattr(rules.constant, name))
                options = tuple(rung.word for rung in ladder.rungs)
                yield Folded(label, options, key=f"part-{name}", blank="not measured")
        yield Line("version", key="version", longest=longest(rule_of(Score, "version")))
        yield Line("language", key="language", longest=longest(rule_of(Score, "language")))
        yield Folded("filled in by", FILLED_BY, key="filled_by", blank="not said")

    def most_items(self) -> int:
        """How many items the longest form has."""
        return max(spec.form.count for spec in self.door.rules.instruments.values() if spec.form)

    def on_mount(self) -> None:
        """Start with which one; the rest comes into sight with it."""
        super().on_mount()
        self.shown: tuple[str, str] | None = None
        self.proposed: dict[str, str] = {}
        self.refit()
        self.row("instrument").focus()

    def row(self, key: str) -> Field:
        """A field by its name."""
        return self.query_one(f"#{key}", Field)

    def text_of(self, key: str) -> str:
        """What stands in a line."""
        return self.query_one(f"#{key}", Line).value

    @property
    def spec(self) -> InstrumentSpec | None:
        """The questionnaire that was chosen."""
        return self.door.rules.instruments.get(self.row("instrument").value)

    def move_on(self) -> None:
        """Go on at once, to what the questionnaire has by now."""
        self.typing()
        chain = in_order(self.query_one("#form-body"))
        at = chain.index(self.focused) + 1 if self.focused in chain else len(chain)
        self.set_focus(chain[at] if at < len(chain) else self.query_one("#write"))

    # what is asked hangs on the questionnaire

    def typing(self) -> None:
        """Fit the fields to the questionnaire and its formula; ask about the scale of a total."""
        before = self.shown
        self.refit()
        spec, scale = self.spec, cast(Folded, self.row("scale"))
        if spec and self.record and before and before[0] != spec.key:
            self.again_as_last(spec)
        asked = doubt(spec, self.typed()) if spec else ""
        scale.display = bool(asked)
        scale.beside = "see the question below" if asked else ""
        scale.offer(SCALES[spec.key] if spec and asked else ())

    def refit(self) -> None:
        """Bring into sight what this questionnaire has."""
        spec = self.spec
        now = (spec.key if spec else "", self.row("formula").value)
        if now == self.shown:
            return
        self.shown = now
        form = by_items(spec) if spec else None
        parts = bool(spec and spec.key == CONSTANT)
        formula = cast(Folded, self.row("formula"))
        formula.offer(spec.form.formulas if spec and spec.form else ())
        formula.display = bool(formula.options)
        formula.beside = f"usual: {formula.options[0]}" if formula.options else ""
        self.row("scale").display = False
        self.fit_items(spec if form and not parts else None)
        for name, (label, most, places) in MEASURED.items():
            row = self.row(f"part-{name}")
            row.display = parts
            if isinstance(row, Slot):
                row.fit(label, Decimal(0), Decimal(most), places)
        self.fit_total(spec)

    def fit_items(self, spec: InstrumentSpec | None) -> None:
        """As many numbered slots as the form has, each with its range; own activities by their names."""
        own = own_activities(self.record.scores) if spec and self.record and spec.key == FUNCTION else ()
        count = spec.form.count if spec and spec.form else 0
        named = (
            [part.name for part in spec.form.parts for _ in range(part.items)] if spec and spec.form else []
        )
        formula = self.row("formula").value or None
        for at in range(1, self.most_items() + 1):
            slot = cast(Slot, self.row(f"item-{at}"))
            slot.display = at <= count
            if spec and at <= count:
                low, high, places = answer_range(spec, at, formula)
                name = (at <= len(own) and own[at - 1]) or named[at - 1]
                part = f" {name}" if name != "item" else ""
                slot.fit(f"item {at}{part}", low, high, places)

    def fit_total(self, spec: InstrumentSpec | None) -> None:
        """The range and direction of the total stand beside it."""
        total = self.query_one("#total", Line)
        total.display = spec is not None
        total.hint = TOTAL_KEYS
        total.relabel("total, or Enter for items" if spec and by_items(spec) else "total")
        if spec:
            formula = self.row("formula").value or None
            low, high = limits(spec, formula)
            total.say_beside(f"{plain(low)} to {plain(high)}, {direction(spec, formula)}")

    def again_as_last(self, spec: InstrumentSpec) -> None:
        """Version and language as at the last entry of this questionnaire."""
        last = last_of(self.record, spec.key) if self.record else None
        for key, text in (("version", last and last.version), ("language", last and last.language)):
            line = self.query_one(f"#{key}", Line)
            if line.value in ("", self.proposed.get(key)):  # what somebody typed stays
                line.input.value = self.proposed[key] = text or ""
                line.say_beside("as last time" if text else "")

    # what is typed, and what follows

    def typed(self) -> Typed:
        """What stands in the form and is in sight."""
        slots = [self.row(f"item-{at}") for at in range(1, self.most_items() + 1)]
        parts = {name: self.row(f"part-{name}") for name in MEASURED}
        return Typed(
            instrument=self.row("instrument").value,
            formula=self.row("formula").value,
            slots=[slot.value for slot in slots if slot.display],
            parts={name: row.value for name, row in parts.items() if row.display},
            total=self.text_of("total"),
            scale=self.row("scale").value,
            version=self.text_of("version"),
            language=self.text_of("language"),
            filled_by=self.row("filled_by").value,
        )

    def plan(self) -> Plan:
        """The score, its change, or why it is refused."""
        if self.record is None:
            return Plan(nothing="Reading the case ...")
        plan = read_score(self.door.rules, self.typed())
        plan.drafts = [self.dated(draft) for draft in plan.drafts]
        beside_record(plan, self.door.rules, self.record, self.entry)
        return plan

    def dated(self, draft: Draft) -> Draft:
        """The draft on the day it was filled in."""
        kind, values = draft
        return kind, {**values, "on": self.query_one("#day", DayField).chosen}

    def entry(self, draft: Draft) -> Score:
        """The score as it would be recorded."""
        kind, values = draft
        return cast(Score, self.door.draft(kind, **values))

    def show_plan(self) -> None:
        """What follows; on a low screen the first lines while answers are typed, for the room."""
        super().show_plan()
        plan = self.plan()
        below = self.query_one("#form-plan", Static)
        if plan.faults.get("scale"):
            below.update(f"QUESTION: {plan.faults['scale']} Choose under the total.")
        elif plan.faults.get("total"):
            below.update(f"NOT AS TYPED: {plan.faults['total']}")
        elif len(plan.then) >= FEW and self.app.size.height < TALL and not self.row("write").has_focus:
            words = self.to_confirm(plan)
            lines = [f"{self.verb}: {words[0]}", *words[1:FEW], "more on the row Write"]
            below.update("\n  ".join(lines))

    def on_descendant_focus(self) -> None:
        """On the last row everything is said."""
        super().on_descendant_focus()
        self.show_plan()
