"""Record another entry: the kind is chosen from a list of all there are, then its form is made."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input

from armrise.store.record.case import KINDS
from armrise.store.record.kinds.paperwork import Correction
from armrise.tui.case.key_to import key_to
from armrise.tui.shell.frame import Framed
from armrise.tui.widgets.hints import hinted
from armrise.tui.widgets.painted import ascii_terminal
from armrise.tui.widgets.static import Static
from armrise.tui.words.standing import FICTIONAL, fit

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing
    from armrise.tui.shell.door import Door

QUICKER = {
    "visit": "case.review",
    "session": "case.check_in",
    "period summary": "case.review",
    "measure": "case.measures",
    "score": "case.measures",
    "programme item": "case.programme",
    "contact": "case.contact",
    "event": "case.event",
    "flag outcome": "case.flag_outcome",
    "orders": "case.orders",
    "clearance": "case.orders",
    "letter": "case.letter",
    "appointment": "case.book",
    "attendance": "case.book",
    "hold": "case.hold",
    "referral": "case.refer",
    "discharge": "case.discharge",
    "in hand": "case.in_hand",
}
"""The action with a form of its own for a kind, by binding id; its key is shown where there is one."""

ONLY_THERE = {"discharge": "asks whether the review is answered and no red flag is open"}
"""Kinds that are refused here while their own form is there, because it asks what this one cannot."""


def own_key(kind: str, own: Mapping[str, str]) -> str:
    """The keys to the form made for a kind; empty while there is none."""
    return key_to(QUICKER.get(kind, ""), own)


def kinds() -> tuple[str, ...]:
    """Every kind that can be recorded; corrections are made from the history."""
    return tuple(kind for kind in KINDS if kind != Correction.KIND)


class RecordScreen(Framed, ModalScreen[str | None]):
    """The list of kinds. It is dismissed with what was written in words, or with None."""

    READING: ClassVar[tuple[str, ...]] = (
        "Choose what kind of entry to record; each opens a form of its own.",
        "Kinds that have a key of their own in the list are written there.",
    )

    DEFAULT_CSS = """
    RecordScreen { align: center top; background: $background 60%; }
    RecordScreen #record { width: 100%; max-width: 100; height: 100%; max-height: 42; background: $surface;
        border: solid $accent; padding: 0 1; }
    RecordScreen.-plain #record { border: ascii $accent; }
    RecordScreen #record-head { height: 1; text-style: bold; }
    RecordScreen #record-line { height: 1; }
    RecordScreen #record-line Input { width: 1fr; }
    RecordScreen #record-kinds { height: 1fr; padding-top: 1; }
    RecordScreen #record-says { height: auto; color: $text-error; text-style: bold; }
    RecordScreen #record-keys { height: 1; color: $text-muted; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Leave, nothing written", id="record.leave"),
        Binding("down", "move(1)", "next", show=False, priority=True, id="record.next"),
        Binding("up", "move(-1)", "above", show=False, priority=True, id="record.above"),
        Binding("pagedown", "move(10)", "page down", show=False, priority=True, id="record.page_down"),
        Binding("pageup", "move(-10)", "page up", show=False, priority=True, id="record.page_up"),
    ]

    def __init__(self, door: Door, standing: Standing) -> None:
        super().__init__()
        self.door = door
        self.standing = standing
        self.at = 0

    def compose(self) -> ComposeResult:
        """Head, the line to type in, the kinds, keys."""
        s = self.standing
        told = f"   {FICTIONAL}" if self.door.fictional else ""
        with Vertical(id="record"):
            yield Static(f"Record another entry   {s.code} {s.side}{told}", id="record-head", markup=False)
            text = Input(placeholder="number, or a part of the word", compact=True, max_length=40)
            text.cursor_blink = False
            yield text
            yield Static("", id="record-kinds")
            yield Static("", id="record-says", markup=False)
            keys = "Enter opens its form   Up Down choose   Esc leave   F8 blank"
            yield Static(hinted(keys), id="record-keys")

    def on_mount(self) -> None:
        """Type at once."""
        self.set_class(self.app.has_class("-ascii"), "-plain")
        self.query_one(Input).focus()
        self.call_after_refresh(self.draw)

    def found(self) -> list[str]:
        """The kinds that the typed text is about: its number, or words of the kind or its meaning."""
        text = self.query_one(Input).value.strip().casefold()
        every = kinds()
        if text.isdecimal():
            return [every[int(text) - 1]] if 1 <= int(text) <= len(every) else []
        named = [kind for kind in every if text in kind]
        return named + [kind for kind in every if kind not in named and text in KINDS[kind].MEANING]

    def draw(self) -> None:
        """The kinds found, those around the chosen one."""
        shown = self.found()
        self.at = max(0, min(self.at, len(shown) - 1))
        height = max(3, self.query_one("#record-kinds").size.height - 1)
        first = max(0, min(self.at - height // 2, len(shown) - height))
        width = max(40, self.query_one("#record-kinds").size.width)
        text = Text()
        for place, kind in list(enumerate(shown))[first : first + height]:
            text.append(
                self.line(kind, chosen=place == self.at, width=width) + "\n",
                "bold" if place == self.at else "",
            )
        if not shown:
            text.append("no kind of entry holds that: Backspace")
        self.query_one("#record-kinds", Static).update(text)

    def line(self, kind: str, *, chosen: bool, width: int) -> str:
        """One kind: its number, its word, what it is, and the key of its own form."""
        mark = (">" if ascii_terminal() else "▌") if chosen else " "
        key = own_key(kind, self.app.own_keys)
        quick = f"  (also {key})" if key and kind not in ONLY_THERE else f"  (with {key})" if key else ""
        said = f"{mark} {kinds().index(kind) + 1:>2}  {kind:<16} {KINDS[kind].MEANING}{quick}"
        return fit(said, width).rstrip()

    def on_resize(self) -> None:
        """As many as fit."""
        self.call_after_refresh(self.draw)

    def on_input_changed(self, event: Input.Changed) -> None:
        """Narrow the list."""
        event.stop()
        self.at = 0
        self.query_one("#record-says", Static).update("")
        self.draw()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Open the form of the chosen kind."""
        event.stop()
        shown = self.found()
        if not shown:
            self.query_one("#record-says", Static).update("! no kind of entry holds that")
            return
        kind = shown[self.at]
        key = own_key(kind, self.app.own_keys)
        if kind in ONLY_THERE and key:
            words = f"! {kind}: press {key} in the list or the case; its form {ONLY_THERE[kind]}."
            self.query_one("#record-says", Static).update(words)
            return
        from armrise.tui.forms.kit.entry import EntryScreen

        self.app.push_screen(EntryScreen(self.door, self.standing, kind), self.after)

    def after(self, words: str | None) -> None:
        """Written: done. Not written: another kind may be chosen."""
        if words:
            self.dismiss(words)

    def action_move(self, by: int) -> None:
        """Another kind."""
        self.at += by
        self.draw()

    def action_leave(self) -> None:
        """Close, nothing written."""
        self.dismiss(None)

    def on_click(self, event: events.Click) -> None:
        """The line is typed in wherever one clicks."""
        self.query_one(Input).focus()
