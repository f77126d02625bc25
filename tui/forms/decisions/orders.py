"""The surgeon's written orders with the date of their document, and what they will change."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any, ClassVar

from textual.binding import Binding, BindingType

from armrise.store.clinic.actions.needs import Needs
from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.healing import onset_word
from armrise.store.clinic.healing.ordered import DATES, ORDER, Change, InForce, limits_now
from armrise.store.record.fields import Day
from armrise.store.record.kinds.plan import Orders
from armrise.store.record.kinds.safety import Onset
from armrise.tui.forms.decisions.clearance import ClearanceScreen
from armrise.tui.forms.decisions.orders_plan import RANGES, STAGES, TEXTS, read, read_ordered
from armrise.tui.forms.kit.asked import Ask
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.effect import STAYS
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.forms.kit.record import RecordForm
from armrise.tui.forms.kit.second import WithSecondPage
from armrise.tui.shell.door import Door
from armrise.tui.widgets.static import Static
from armrise.tui.words.entries import day, read_day

DAYS_BACK = 400
"""Orders are often copied in long after their date; they hold from that date all the same."""

KEPT_AS_TEXT = "the words are kept as they are; the template holds wherever no date or number stands"


class OrdersScreen(WithSecondPage, RecordForm):
    """Records orders; F4 opens the entry of a clearance."""

    heading = "Orders"
    verb = "Writes"
    kind = Orders
    asks = (
        Ask("on", "document of", key="day", back=DAYS_BACK),
        Ask("onset", "surgery on", rule=Day(future=True), later=True),
        Ask("surgeon"),
        Ask("operation"),
        Ask("tear_size", blank="not said"),
        Ask("poor_tissue", "poor tissue?", blank="not said"),
        Ask("tendons"),
        Ask("sling_until", "sling on until"),
        Ask("external_rotation_limit", "external rotation at most"),
        Ask("elevation_limit", "elevation at most"),
        Ask("lifting_limit", "no lifting over"),
        Ask("no_active_until", "no active work until"),
        Ask("no_resisted_until", "no resisted work until"),
        *(Ask(name) for name in STAGES),
        Ask("text", "in other words"),
    )
    keys = "F2 write   F3 document date   F4 clearance   Esc leave   F8 blank"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f3", "document", "Date of the document", id="orders.document"),
        Binding("f4", "turn", "Record a clearance instead", id="orders.clearance"),
    ]

    def __init__(self, door: Door, standing: Standing) -> None:
        super().__init__(door, standing)
        self.changed: tuple[Change, ...] = ()
        """What the orders as typed would change."""

    def lead(self) -> str:
        """Which limit holds."""
        return 'An order\'s date holds, else the template. "week 6" and "6 weeks" are day 42.'

    def asked(self) -> Sequence[Ask]:
        """The fields; a stage by its code."""
        named = {name: self.stage_label(name) for name in STAGES}
        return [ask._replace(label=named.get(ask.name, ask.label)) for ask in self.asks]

    def stage_label(self, name: str) -> str:
        """What a field that opens a stage is called; empty where the pathway has no such stage."""
        pathway = self.door.rules.pathways.get(self.standing.pathway)
        number = STAGES.index(name) + 1
        stages = pathway.stages if pathway else ()
        return f"{stages[number].code} opens on" if number < len(stages) else ""

    def on_mount(self) -> None:
        """Fields of stages that the pathway lacks stay away."""
        super().on_mount()
        for key in STAGES:
            self.show(key, bool(self.stage_label(key)))

    def action_document(self) -> None:
        """Go to the date of the document."""
        self.query_one("#day").focus()

    def read_in(self, view: View) -> None:
        """A missing surgery date is asked for."""
        self.show("onset", view.onset() is None and self.word == "surgery")

    @property
    def word(self) -> str:
        """What days are counted from: "surgery", "injury" or nothing."""
        return onset_word(self.door.rules.pathways.get(self.standing.pathway))

    @property
    def onset(self) -> date | None:
        """The day counted from: on record, or typed here."""
        known = self.view.onset() if self.view else None
        return known.on if known else read_day(self.line("onset"), self.door.today)

    # while typing

    def show_plan(self) -> None:
        """In full where it is written; while typing only what the field in hand changes, for the room."""
        if self.focused is self.query_one("#write"):
            super().show_plan()
            return
        self.changed = ()
        plan = self.plan()
        inside = {node.id for node in self.focused.ancestors_with_self} if self.focused else set[str]()
        lines: list[str] = [change.words for change in self.changed if change.key in inside]
        if plan.drafts:
            many = len(self.changed)
            said = "No limit changes yet" if not many else f"{many} limit{'s' if many > 1 else ''} to change"
            lines.append(f"{said}: all is shown before it is written.")
        self.query_one("#form-plan", Static).update("\n".join(lines) or plan.nothing)

    def on_descendant_focus(self) -> None:
        """What is shown of the plan hangs on where the focus is."""
        self.show_plan()

    def action_write(self) -> None:
        """First show in full what changes; then write."""
        write = self.query_one("#write")
        self.query_one("#day", DayField).settle(go_on=False)
        if self.record is not None and self.focused is not write and self.plan().drafts:
            write.focus()
            self.say("Look at what changes: F2 or Enter writes it.")
            return
        super().action_write()

    def fit(self, view: View) -> None:
        """Beside each field what was read, or what is in force."""
        now = {limit.key: limit for limit in limits_now(view)}
        for key in (*DATES, *RANGES):
            self.query_one(f"#{key}", Line).say_beside(self.beside(key, now.get(key)))
        onset = self.onset
        if onset:
            self.query_one("#onset", Line).say_beside(day(onset))

    def beside(self, key: str, now: InForce | None) -> str:
        """The date that was read with its day after surgery; else what is in force."""
        text, unit = self.line(key), RANGES[key].unit if key in RANGES else ""
        if not text:
            by = "order" if now and now.by == ORDER else "template"
            return f"now {now.value}, {by}" if now else unit
        if unit:
            return unit
        wanted = read_ordered(text, self.door.today, self.onset)
        return self.dated(wanted) if wanted else ""

    def dated(self, on: date) -> str:
        """A date with its day after surgery or injury."""
        return f"{day(on)}, day {(on - self.onset).days} after {self.word}" if self.onset else day(on)

    # what is written

    def values(self) -> tuple[dict[str, Any], dict[str, str]]:
        """What the orders say, and what could not be read of them."""
        lines = (*TEXTS, *DATES, *RANGES)
        labels = {ask.id: ask.words for ask in self.asked()}
        found = read({key: self.line(key) for key in lines}, labels, self.door.today, self.onset, self.word)
        picked = {name: value for name, value in self.stated().items() if name not in lines and value}
        return found.values | picked, found.faults

    def checked(self, view: View) -> Needs:
        """Something that could be read, and a surgery date that does not lie ahead."""
        _, faults = self.values()
        text, on = self.line("onset"), self.onset
        if text and (on is None or on > self.door.today):
            faults["onset"] = f'surgery on: "{text}" is no date up to today; say 28 Jan or 2026-01-28.'
        return Needs(faults=faults)

    def lacking(self, faults: dict[str, str]) -> Plan:
        """The first fault in full: each says what may be typed instead."""
        return Plan(faults=faults, nothing=next(iter(faults.values())))

    def plan_of(self, view: View) -> Plan:
        """Nothing where nothing is typed."""
        plan = super().plan_of(view)
        if not (plan.drafts or plan.faults):
            return Plan(nothing="Type what the orders say; what they do not say stays empty.")
        return plan

    def drafts(self, view: View) -> list[Draft]:
        """A missing surgery date, and the orders."""
        drafts: list[Draft] = []
        if self.line("onset"):
            drafts.append((Onset.KIND, {"on": self.onset, "what": "surgery"}))
        values, _ = self.values()
        if values.keys() - {"on"}:
            drafts.append((Orders.KIND, {**values, "source": "surgeon"}))
        return drafts

    def follows(self, view: View, drafts: Sequence[Draft]) -> list[str]:
        """The limits that change, what is kept as text alone, and what the verdict becomes."""
        self.changed = self.limits_moved(drafts)
        words = [change.words for change in self.changed] or ["no limit changes"]
        words += [KEPT_AS_TEXT] if self.line("text") else []
        then = super().follows(view, drafts)
        return words if then == [STAYS] else [*words, *then]

    def second(self) -> FormScreen:
        """The entry of a clearance."""
        return ClearanceScreen(self.door, self.standing)
