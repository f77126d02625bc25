"""The red-flag list, opened where something new is reported. A prompt, no rule-out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.widget import Widget

from armrise.store.clinic.case.standing import Standing
from armrise.store.record.kinds.head import REPORTED
from armrise.store.record.kinds.safety import EVENTS, asked_of
from armrise.store.record.words import PROMPT
from armrise.store.rules.red_flag import EVENT
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.fields import Changed, Write
from armrise.tui.forms.kit.keeping import LINE, KeepingScreen, foot
from armrise.tui.forms.kit.plan import Draft
from armrise.tui.forms.red_flags.rows import EventRow, FlagRow
from armrise.tui.forms.red_flags.seen import Seen
from armrise.tui.shell.door import Door
from armrise.tui.widgets.hints import hinted
from armrise.tui.widgets.static import Static


class RedFlagScreen(KeepingScreen[list[Draft] | None]):
    """Asks the list; dismissed with drafts of answers and events, or None."""

    DEFAULT_CSS = """
    RedFlagScreen { align: center top; background: $background 60%; }
    RedFlagScreen #flags { width: 100%; max-width: 100; height: 100%; max-height: 34; background: $surface;
        border: solid $accent; padding: 0 1; }
    RedFlagScreen.-plain #flags { border: ascii $accent; }
    RedFlagScreen.-plain #flags-hints { border-top: ascii $panel; }
    RedFlagScreen #flags-head { height: auto; text-style: bold; }
    RedFlagScreen .lead { height: auto; color: $text-muted; }
    RedFlagScreen #flags-body { height: 1fr; scrollbar-size-vertical: 1; }
    RedFlagScreen #flags-hints { height: auto; color: $text-muted; border-top: solid $panel; }
    """
    READING: ClassVar[tuple[str, ...]] = (
        f"{PROMPT} An item without an answer was not asked; that is not no.",
        "3, 2 and 1 answer yes with the urgency: same day, urgent, soon. y takes the item's own urgency.",
        "The answers are written with the form that called the list, in one go.",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Back, nothing taken", id="flags.leave"),
        Binding("f2,ctrl+s", "take", "Take these", id="flags.take"),
        Binding("down", "app.focus_next", "Next", show=False, id="flags.next"),
        Binding("up", "app.focus_previous", "Before", show=False, id="flags.before"),
    ]

    def __init__(self, door: Door, standing: Standing, opener: str, first: Sequence[str] = ()) -> None:
        super().__init__(door)
        self.opener = opener
        self.code = standing.code
        self.side = standing.side
        self.asked = asked_of(standing.age_band)
        self.in_sight = Seen()
        self.first = tuple(first)
        """What a message asks for: it stands above the rest."""

    def kept_code(self) -> str:
        """The case whose draft this is."""
        return self.code

    def kept_as(self) -> str:
        """A part of the form that opens it."""
        return f"{self.opener}:red-flag list"

    def compose(self) -> ComposeResult:
        """What a message asks for, the rest of the list, then the events and when."""
        told = "   FICTIONAL CASELOAD" if self.door.fictional else ""
        with Vertical(id="flags"):
            yield Static(f"Red-flag screen   {self.code} {self.side}{told}", id="flags-head", markup=False)
            yield Static("", id=LINE, markup=False)
            yield Static(f"{PROMPT} Not asked is not no.", classes="lead")
            with VerticalScroll(id="flags-body", can_focus=False):
                if EVENT in self.first:
                    yield from self.events()
                yield from self.item_rows()
                if EVENT not in self.first:
                    yield from self.events()
            yield Write("Take these answers", key="take")
            yield Static("", id="flags-hints")

    def item_rows(self) -> Iterator[FlagRow]:
        """The items asked of this age, what a message asks for before the others."""
        severity = self.door.rules.screen_severity
        for item in sorted(self.asked, key=lambda item: item not in self.first):
            figure = severity.get(item)
            key = f"flag-{self.asked.index(item)}"
            yield FlagRow(item, figure.whole if figure else None, key=key)

    def events(self) -> Iterator[Widget]:
        """What may have happened, and when it did."""
        yield Static("New injury or instability event:", classes="lead")
        for number, event in enumerate(EVENTS):
            yield EventRow(event, None, key=f"event-{number}")
        yield DayField("it happened on", self.door.today, self.door.today, key="event-day")

    def on_mount(self) -> None:
        """Plain borders where the terminal has no others."""
        self.set_class(self.app.has_class("-ascii"), "-plain")
        self.begin_keeping()
        body = self.query_one("#flags-body", VerticalScroll)
        self.watch(body, "scroll_y", self.moved, init=False)
        self.moved()

    def moved(self) -> None:
        """Other rows are in sight, once they are painted."""
        self.call_after_refresh(self.note_seen)

    def note_seen(self) -> None:
        """Note which items are in sight."""
        self.in_sight.note(self.items(), self.query_one("#flags-body", VerticalScroll))

    def items(self) -> list[FlagRow]:
        """The rows of the list without the events."""
        return [row for row in self.walk_children(FlagRow) if not isinstance(row, EventRow)]

    def on_changed(self, event: Changed) -> None:
        """Keep what is answered."""
        event.stop()
        self.keep_soon()

    def move_on(self) -> None:
        """Go on."""
        self.focus_next()

    def rest_asked_no(self) -> None:
        """The rest was asked, all no: taken only when nothing of the list has been out of sight."""
        rows = self.items()
        if self.in_sight.go_on(rows, self.query_one("#flags-body", VerticalScroll)):
            return
        for row in rows:
            row.fault = ""
            row.value = row.value or "n"
        self.set_focus(self.query_one("#event-0"))

    def kept_words(self) -> str:
        """The list of the case."""
        return f"Red-flag screen, {self.code}"

    def typed_changed(self) -> None:
        """The foot says what becomes of what is answered."""
        self.on_descendant_focus()

    def on_descendant_focus(self) -> None:
        """Keys of the row."""
        hint = getattr(self.focused, "hint", "")
        keys = foot("F2 take these answers   Esc back, nothing taken", typed=self.something_typed)
        self.query_one("#flags-hints", Static).update(hinted(f"{hint}\n{keys}"))

    def on_write_asked(self, event: Write.Asked) -> None:
        """Enter on the last row."""
        event.stop()
        self.action_take()

    def action_leave(self) -> None:
        """Back without an answer."""
        self.dismiss(None)

    def action_take(self) -> None:
        """Hand the answers to the form that called the list, which writes them."""
        self.dismiss(self.drafts())

    def drafts(self) -> list[Draft]:
        """Answers and events; no to every item is one entry "all"."""
        answers = [d for row in self.items() if (d := row.draft())]
        if len(answers) == len(self.asked) and all(values["answer"] == "no" for _, values in answers):
            answers = [("screen", {"source": REPORTED, "item": "all", "answer": "no"})]
        on = self.query_one("#event-day", DayField).chosen
        events = [
            ("event", {"source": REPORTED, "event": row.label, "on": on})
            for row in self.walk_children(EventRow)
            if row.value
        ]
        return [*answers, *events]
