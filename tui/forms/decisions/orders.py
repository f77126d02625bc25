"""The surgeon's written orders with the date of their document, and what they will change."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any, ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget
from textual.widgets import Static

from armrise.store.clinic.actions.suppose import added
from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.healing import onset_word
from armrise.store.clinic.healing.ordered import DATES, ORDER, Change, InForce, changes, limits_now
from armrise.store.record.case import CaseRecord
from armrise.store.record.words import full_date, plain
from armrise.tui.forms.decisions.clearance import ClearanceScreen
from armrise.tui.forms.decisions.orders_plan import RANGES, STAGES, TEXTS, Read, read, read_ordered
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.effect import STAYS, effect, standing_with
from armrise.tui.forms.kit.fields import Pick, YesNo
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.forms.kit.second import WithSecondPage
from armrise.tui.shell.door import Door
from armrise.tui.words.entries import day, identifying, read_day

DAYS_BACK = 400
"""Orders are often copied in long after their date; they hold from that date all the same."""

TEARS = ("small", "medium", "large", "massive")
LABELS = {
    "surgeon": "surgeon",
    "operation": "operation",
    "tendons": "tendons",
    "sling_until": "sling on until",
    "external_rotation_limit": "external rotation at most",
    "elevation_limit": "elevation at most",
    "no_active_until": "no active work until",
    "no_resisted_until": "no resisted work until",
    "lifting_limit": "no lifting over",
    "text": "in other words",
}
LONGEST = {"surgeon": 60, "operation": 80, "tendons": 80, "text": 400}
UNITS = {key: unit for key, (_, _, _, unit) in RANGES.items()}
KEPT_AS_TEXT = "the words are kept as they are; the template holds wherever no date or number stands"


KEYS = (
    "surgeon",
    "operation",
    "tear_size",
    "poor_tissue",
    "tendons",
    *DATES[:1],
    *RANGES,
    *DATES[1:],
    "text",
)
"""The fields in the order of the form."""


class OrdersScreen(WithSecondPage):
    """Records orders; F4 opens the entry of a clearance."""

    heading = "Orders"
    verb = "Writes"
    keys = "F2 write   F3 document date   F4 a clearance instead   Esc leave   F8 blank"
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

    def rows(self) -> Iterable[Widget]:
        """The document, the operation, the limits, the opening dates, the words."""
        today = self.door.today
        yield DayField("document of", today, today, key="day", back=DAYS_BACK)
        yield Line("surgery on", key="onset", longest=20)
        for key in ("surgeon", "operation"):
            yield Line(LABELS[key], key=key, longest=LONGEST[key])
        yield Pick("tear size", TEARS, flow=True, key="tear_size")
        yield YesNo("poor tissue?", key="poor_tissue")
        yield Line(LABELS["tendons"], key="tendons", longest=LONGEST["tendons"])
        for key in ("sling_until", *RANGES, "no_active_until", "no_resisted_until", *STAGES):
            yield Line(self.label(key), key=key, longest=20)
        yield Line(LABELS["text"], key="text", longest=LONGEST["text"])

    def label(self, key: str) -> str:
        """The words of a field; a stage by its code and name."""
        if key not in STAGES:
            return LABELS[key]
        pathway = self.door.rules.pathways.get(self.standing.pathway)
        number = list(STAGES).index(key) + 1
        stages = pathway.stages if pathway else ()
        return f"{stages[number].code} opens on" if number < len(stages) else key

    def on_mount(self) -> None:
        """Start at the date of the document; fields of stages that the pathway lacks stay away."""
        super().on_mount()
        self.query_one("#onset").display = False
        self.query_one("#poor_tissue", YesNo).blank = "not said"
        self.query_one("#tear_size", Pick).blank = "not said"
        for key in STAGES:
            self.query_one(f"#{key}").display = self.label(key) != key
        self.query_one("#day").focus()

    def action_document(self) -> None:
        """Go to the date of the document."""
        self.query_one("#day").focus()

    def arrived(self, record: CaseRecord) -> None:
        """What is in force stands beside each field; a missing surgery date is asked for."""
        missing = self.view.onset() is None and self.word == "surgery"
        self.query_one("#onset").display = missing
        self.typing()

    @property
    def view(self) -> View:
        """The case on the clinic date."""
        assert self.record is not None
        return View.of(self.record, self.door.rules, self.door.today)

    @property
    def word(self) -> str:
        """What days are counted from: "surgery", "injury" or nothing."""
        return onset_word(self.door.rules.pathways.get(self.standing.pathway))

    @property
    def onset(self) -> date | None:
        """The day counted from: on record, or typed here."""
        known = self.view.onset() if self.record else None
        if known:
            return known.on
        text = self.text_of("onset")
        return read_day(text, self.door.today) if text else None

    def text_of(self, key: str) -> str:
        """What stands in a line."""
        return self.query_one(f"#{key}", Line).value

    # while typing

    def show_plan(self) -> None:
        """In full where it is written; while typing only what the field in hand changes, for the room."""
        if self.focused is self.query_one("#write"):
            super().show_plan()
            return
        self.changed = ()
        plan = self.plan()
        key = (
            next((n.id for n in self.focused.ancestors_with_self if n.id in KEYS), "") if self.focused else ""
        )
        lines: list[str] = [change.words for change in self.changed if change.key == key]
        if plan.words:
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

    def typing(self) -> None:
        """Show beside each field what was read, or what is in force; warn of names."""
        for key in ("operation", "tendons", "text"):
            self.query_one(f"#{key}", Line).warn(identifying(self.text_of(key)))
        if self.record is None:
            return
        now = {limit.key: limit for limit in limits_now(self.view)}
        for key in (*DATES, *RANGES):
            self.query_one(f"#{key}", Line).say_beside(self.beside(key, now.get(key)))
        onset = self.onset
        if onset:
            self.query_one("#onset", Line).say_beside(day(onset))

    def beside(self, key: str, now: InForce | None) -> str:
        """The date that was read with its day after surgery; else what is in force."""
        text = self.text_of(key)
        if not text:
            by = "order" if now and now.by == ORDER else "template"
            return f"now {now.value}, {by}" if now else UNITS.get(key, "")
        if key in RANGES:
            return UNITS[key]
        wanted = read_ordered(text, self.door.today, self.onset)
        return self.dated(wanted) if wanted else ""

    def dated(self, on: date) -> str:
        """A date with its day after surgery or injury."""
        return f"{day(on)}, day {(on - self.onset).days} after {self.word}" if self.onset else day(on)

    # what is written

    def read_fields(self) -> Read:
        """What the fields hold, and what could not be read."""
        typed = {key: self.text_of(key) for key in (*TEXTS, *DATES, *RANGES)}
        labels = {key: self.label(key) for key in (*DATES, *RANGES)}
        found = read(typed, labels, self.door.today, self.onset, self.word)
        tear = self.query_one("#tear_size", Pick).value
        found.values |= {"tear_size": tear} if tear else {}
        found.values |= {"poor_tissue": True} if self.query_one("#poor_tissue", YesNo).yes else {}
        return found

    def plan(self) -> Plan:
        """The orders, the limits they change, and what the verdict becomes."""
        if self.record is None:
            return Plan(nothing="Reading the case ...")
        when = self.query_one("#day", DayField)
        if when.fault or when.value:
            return Plan(faults={"day": when.fault} if when.fault else {}, nothing="The date is being typed.")
        found = self.read_fields()
        faults = found.faults | self.onset_faults()
        if faults:
            return Plan(faults=faults, nothing=next(iter(faults.values())))
        if not found.values and not self.text_of("onset"):
            return Plan(nothing="Type what the orders say; what they do not say stays empty.")
        return self.planned(found.values, when.chosen)

    def onset_faults(self) -> dict[str, str]:
        """A surgery date that is none, or lies ahead."""
        text = self.text_of("onset")
        on = self.onset
        if text and (on is None or on > self.door.today):
            return {"onset": f'surgery on: "{text}" is no date up to today; say 28 Jan or 2026-01-28.'}
        return {}

    def planned(self, values: dict[str, Any], on: date) -> Plan:
        """Drafts and words of orders that could be read."""
        drafts: list[Draft] = []
        if self.text_of("onset"):
            drafts.append(("onset", {"on": self.onset, "what": "surgery"}))
        if values:
            drafts.append(("orders", {"on": on, "source": "surgeon", **values}))
        entries = self.entries(drafts)
        assert self.record is not None
        later = View.of(added(self.record, entries), self.door.rules, self.door.today)
        self.changed = changes(self.view, later)
        changed = [change.words for change in self.changed]
        words = [f"surgery on {day(self.onset)}"] if self.text_of("onset") and self.onset else []
        words += [f"orders of {day(on)}: {told(values, self.label)}"] if values else []
        words += changed or ["no limit changes"]
        words += [KEPT_AS_TEXT] if "text" in values else []
        then = effect(self.standing, standing_with(self.record, self.door.rules, self.standing, entries))
        return Plan(drafts, words if then == [STAYS] else [*words, *then])

    def second(self) -> FormScreen:
        """The entry of a clearance."""
        return ClearanceScreen(self.door, self.standing)


def told(values: dict[str, Any], label: Any) -> str:
    """The values of orders in words, in the order of the form."""
    return "; ".join(_told(key, values[key], label) for key in KEYS if key in values)


def _told(key: str, value: Any, label: Any) -> str:
    if key == "tear_size":
        return f"{value} tear"
    if key == "poor_tissue":
        return "poor tissue"
    if key in DATES:
        return f"{label(key)} {full_date(value)}"
    if key in RANGES:
        return f"{label(key)} {value if isinstance(value, int) else plain(value)} {UNITS[key]}"
    return str(value)
