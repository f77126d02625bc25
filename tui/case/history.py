"""The history of one case: every entry under its day, corrections beside what they withdrew, each to open."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.screen import ModalScreen, Screen

from armrise.store.record.kinds.paperwork import Correction
from armrise.tui.case.history_list import EntryList
from armrise.tui.case.history_words import EVERYTHING, GROUPS, in_group, together, whole_entry
from armrise.tui.shell.confirm import confirm
from armrise.tui.shell.frame import Framed
from armrise.tui.widgets.bars import KeyBar
from armrise.tui.widgets.groups import DECIDE
from armrise.tui.widgets.hints import hinted
from armrise.tui.widgets.painted import plain_scroll_bar
from armrise.tui.widgets.pieces import BLANK, Account, Piece
from armrise.tui.widgets.static import Static
from armrise.tui.words.standing import FICTIONAL, plural

if TYPE_CHECKING:
    from armrise.store.caseload.timeline import Timeline, Told
    from armrise.store.clinic.case.standing import Standing
    from armrise.tui.shell.door import Door

PANE_FROM = 110
"""Columns from which the entry under the cursor stands whole beside the list."""


class HistoryScreen(Framed, Screen[str | None]):
    """The timeline. It is left with what was written meanwhile in words, or with None."""

    READING: ClassVar[tuple[str, ...]] = (
        "Every entry of the case, the newest first: when it happened, when it was recorded, by whom.",
        "A withdrawn entry stays and says so, with the reason and what stands in its place.",
    )

    DEFAULT_CSS = """
    HistoryScreen #history-head { height: 2; background: $surface; padding: 0 1; }
    HistoryScreen #history-state { height: auto; padding: 1 3; display: none; }
    HistoryScreen #history-whole { display: none; width: 46; padding: 0 1; border-left: solid $panel; }
    HistoryScreen.-plain #history-whole { border-left: ascii $panel; }
    HistoryScreen #history-whole Account { height: auto; width: 100%; }
    HistoryScreen #history-middle { height: 1fr; }
    HistoryScreen #keys { height: 2; dock: bottom; background: $surface; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "back", id="history.leave"),
        Binding("C", "correct", "correct", id="history.correct", group=DECIDE),
        Binding("y", "confirm", "confirmed as measured", show=False, id="history.confirm"),
        Binding("l", "jump(1)", "link", id="history.jump"),
        Binding("L", "jump(-1)", "link back", show=False, id="history.jump_back"),
        Binding("f", "filter(1)", "filter", id="history.filter"),
        Binding("R", "record", "record another", id="history.record"),
    ]

    def __init__(self, door: Door, standing: Standing) -> None:
        super().__init__()
        self.door = door
        self.standing = standing
        self.timeline: Timeline | None = None
        self.group = EVERYTHING
        self.said = ""
        self.written: list[str] = []
        self._wanted = 0
        self._said_at = 0

    def compose(self) -> ComposeResult:
        """Head, entries, the entry in view, keys."""
        with Vertical():
            yield Static(self.head(), id="history-head", markup=False)
            with Horizontal(id="history-middle"):
                yield EntryList()
                with VerticalScroll(id="history-whole", can_focus=False):
                    yield Account()
            yield Static("Reading the history ...", id="history-state", markup=False)
        yield KeyBar(id="keys")

    def on_mount(self) -> None:
        """Read beside the painting."""
        self.set_class(self.app.has_class("-ascii"), "-plain")
        plain_scroll_bar(self.query_one("#history-whole"))
        self.show_state("Reading the history ...")
        self.read()

    @work(thread=True, group="read", exclusive=True)
    def read(self) -> None:
        """Fetch every entry of the case."""
        from armrise.tui.forms.kit.plan import sentence

        try:
            timeline = self.door.timeline(self.standing.code)
        except Exception as error:
            self.app.call_from_thread(self.show_state, sentence(error))
            return
        self.app.call_from_thread(self.arrived, timeline)

    def arrived(self, timeline: Timeline) -> None:
        """Show what was read."""
        self.timeline = timeline
        self.show_state(
            "" if timeline.told else "Nothing was ever recorded in this case. R records an entry."
        )
        self.lay_out()

    # what is shown

    def head(self) -> str:
        """What this is, of whom, what is filtered, and what was just written."""
        s = self.standing
        told = f"   {FICTIONAL}" if self.door.fictional else ""
        return (
            f"History   {s.code} {s.side}   {s.stage} {s.stage_name}".rstrip() + told + "\n" + self._second()
        )

    def _second(self) -> str:
        if self.said:
            return self.said
        if self.timeline is None:
            return ""
        every = self.timeline.told
        gone = sum(1 for told in every if told.withdrawn_by is not None)
        count = plural(len(every), "entry", "entries") + (f", {gone} withdrawn" if gone else "")
        if self.group == EVERYTHING:
            return f"{count}   newest first"
        return f"{self.group}: {len(self.shown())} of {count}   newest first   f goes on"

    def show_state(self, words: str) -> None:
        """Words in place of the entries."""
        state = self.query_one("#history-state", Static)
        state.update(words)
        state.display = bool(words)

    def shown(self) -> list[Told]:
        """The entries of the group, newest first."""
        every = self.timeline.told if self.timeline else ()
        return [told for told in reversed(every) if in_group(told, self.group)]

    def lay_out(self) -> None:
        """The list and the head anew."""
        entries = self.query_one(EntryList)
        entries.tell(self.shown(), self.door.rules, self.door.today)
        if self._wanted:
            entries.go_to(self._wanted)
            self._wanted = 0
        entries.focus()
        self.query_one("#history-head", Static).update(self.head())

    def say(self, words: str) -> None:
        """One sentence in the head, until the cursor moves."""
        self.said, self._said_at = words, self.query_one(EntryList).cursor
        self.query_one("#history-head", Static).update(self.head())

    def on_resize(self) -> None:
        """The entry whole beside the list where there is room."""
        self.query_one("#history-whole").display = self.size.width >= PANE_FROM

    def in_view(self) -> Told | None:
        """The entry under the cursor."""
        return self.timeline.of(self.query_one(EntryList).cursor) if self.timeline else None

    def on_entry_list_highlighted(self) -> None:
        """The pane follows the cursor, and what was said has been read."""
        if self.said and self.query_one(EntryList).cursor != self._said_at:
            self.say("")
        told = self.in_view()
        account = self.query_one("#history-whole Account", Account)
        account.tell(self.whole(told) if told else [])

    def whole(self, told: Told) -> list[Piece]:
        """An entry with all its fields, and what was written with it."""
        assert self.timeline is not None
        pieces = whole_entry(told, self.door.rules, self.door.local(told.entry.recorded_at))
        others = together(self.timeline, told)
        if others:
            from armrise.store.record.phrase import dated

            pieces += [BLANK, Piece("written in the same action", "head")]
            pieces += [Piece(dated(entry, self.door.rules), lead="  ", indent=2) for entry in others]
        return pieces

    # keys

    def action_leave(self) -> None:
        """Back; what was written is handed over."""
        self.dismiss(" ".join(self.written) or None)

    def action_filter(self, by: int) -> None:
        """The next group of kinds."""
        self.group = GROUPS[(GROUPS.index(self.group) + by) % len(GROUPS)]
        self.said = ""
        self.lay_out()

    def on_entry_list_opened(self) -> None:
        """The entry whole."""
        told = self.in_view()
        if told is not None:
            self.app.push_screen(WholeScreen(self.whole(told), self.head().split("\n")[0]), self._after_whole)

    def _after_whole(self, asked: str | None) -> None:
        if asked == "correct":
            self.action_correct()

    def action_jump(self, by: int) -> None:
        """From an entry to its correction, to what stands instead, and back again."""
        told = self.in_view()
        ring = links(told) if told else []
        if told is None or len(ring) < 2:
            self.say("This entry has no link: it was not corrected, and corrects nothing.")
            return
        target = ring[(ring.index(told.entry.id) + by) % len(ring)]
        entries = self.query_one(EntryList)
        if not entries.go_to(target):
            self.group, self._wanted = EVERYTHING, target
            self.lay_out()

    def action_correct(self) -> None:
        """Withdraw, replace or move the entry under the cursor."""
        from armrise.tui.forms.kit.correct import CorrectScreen, why_not

        told = self.in_view()
        if told is None or self._refused(why_not(told)):
            return
        self.app.push_screen(CorrectScreen(self.door, self.standing, told.entry), self._after_writing)

    def action_confirm(self) -> None:
        """A value that contradicts another was measured and stands."""
        from armrise.tui.forms.kit.correct import ConfirmScreen

        told = self.in_view()
        if told is None:
            return
        no = "" if told.contradiction else "This entry contradicts nothing: there is nothing to confirm."
        if not self._refused(no):
            self.app.push_screen(ConfirmScreen(self.door, self.standing, told), self._after_writing)

    def action_record(self) -> None:
        """Another entry of any kind."""
        from armrise.tui.case.record import RecordScreen

        if not self._refused(""):
            self.app.push_screen(RecordScreen(self.door, self.standing), self._after_writing)

    def _refused(self, why: str) -> bool:
        words = self.door.cannot_write or why
        if words:
            self.say(words)
        return bool(words)

    def _after_writing(self, words: str | None) -> None:
        if words:
            self.written.append(words)
            confirm(self, words)
            self.read()


def links(told: Told) -> list[int]:
    """The ids of an entry, its correction and what stands instead, in the order in which the key goes."""
    if told.corrects is not None:
        instead = told.entry.replaced_by if isinstance(told.entry, Correction) else None
        return [told.corrects.id, told.entry.id, *([instead] if instead else [])]
    if told.withdrawn_by is not None:
        instead = [told.replaced_by.id] if told.replaced_by else []
        return [told.entry.id, told.withdrawn_by.id, *instead]
    if told.replaces is not None and told.why_replaced is not None:
        return [told.replaces.id, told.why_replaced.id, told.entry.id]
    return [told.entry.id]


class WholeScreen(Framed, ModalScreen[str | None]):
    """One entry with all its fields."""

    READING: ClassVar[tuple[str, ...]] = (
        "One entry with every field, as it lies in the record.",
        "Any correction of it is told here too.",
    )

    DEFAULT_CSS = """
    WholeScreen { align: center middle; background: $background 60%; }
    WholeScreen #whole { width: 100%; max-width: 96; height: auto; max-height: 100%; background: $surface;
        border: solid $accent; padding: 0 1; }
    WholeScreen.-plain #whole { border: ascii $accent; }
    WholeScreen #whole-head, WholeScreen #whole-keys { height: 1; color: $text-muted; }
    WholeScreen #whole-body { height: auto; max-height: 1fr; scrollbar-size-vertical: 1; }
    WholeScreen Account { height: auto; width: 100%; background: $surface; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter", "close", "back", id="whole.leave"),
        Binding("C", "correct", "correct", id="whole.correct", group=DECIDE),
        Binding("down,j", "scroll_by(1)", "scroll down", show=False, id="whole.down"),
        Binding("up,k", "scroll_by(-1)", "scroll up", show=False, id="whole.up"),
        Binding("pagedown,space", "scroll_by(10)", "page down", show=False, id="whole.page_down"),
        Binding("pageup", "scroll_by(-10)", "page up", show=False, id="whole.page_up"),
    ]

    def __init__(self, pieces: list[Piece], head: str) -> None:
        super().__init__()
        self.pieces = pieces
        self.head = head

    def compose(self) -> ComposeResult:
        """Head, fields, keys."""
        with Vertical(id="whole"):
            yield Static(self.head, id="whole-head", markup=False)
            with VerticalScroll(id="whole-body", can_focus=False):
                account = Account()
                account.pieces = self.pieces
                yield account
            yield Static(hinted("Esc back   C correct this entry   F8 blank"), id="whole-keys")

    def on_mount(self) -> None:
        """Plain borders where the terminal has no others."""
        self.set_class(self.app.has_class("-ascii"), "-plain")
        plain_scroll_bar(self.query_one("#whole-body"))

    def action_close(self) -> None:
        """Back to the list."""
        self.dismiss(None)

    def action_correct(self) -> None:
        """Back, and correct it."""
        self.dismiss("correct")

    def action_scroll_by(self, lines: int) -> None:
        """Scroll."""
        self.query_one("#whole-body").scroll_relative(y=lines, animate=False)
