"""The application: its screens, its theme, the blank key, and the palette made from the bindings.

Only Textual and the widgets of the first frame are imported here. The store is imported by a worker once the
frame is on the screen; the table classes not before the rows are.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from datetime import date
from pathlib import Path
from typing import Any, ClassVar

from textual import events
from textual.app import App, SystemCommand
from textual.binding import Binding, BindingType
from textual.screen import Screen
from textual.theme import Theme

from tui.board import BoardScreen
from tui.opening import Opening, blank_after
from tui.widgets.painted import ascii_terminal

DARK = Theme(
    name="armrise-dark",
    primary="#e0b35a",
    accent="#e0b35a",
    foreground="#dcd9d0",
    background="#1f2022",
    surface="#26272a",
    panel="#33353a",
    warning="#e0b35a",
    error="#e58a6b",
    success="#8fb9a8",
    secondary="#8fb9a8",
    dark=True,
    variables={"text-muted": "#a3a199", "footer-key-foreground": "#e0b35a"},
)
LIGHT = Theme(
    name="armrise-light",
    primary="#7a4e00",
    accent="#7a4e00",
    foreground="#22211f",
    background="#faf8f2",
    surface="#f1eee5",
    panel="#dedace",
    warning="#7a4e00",
    error="#9c3312",
    success="#2e6a57",
    secondary="#2e6a57",
    dark=False,
    variables={"text-muted": "#5d5a52", "footer-key-foreground": "#7a4e00"},
)


class ArmriseApp(App[None]):
    """The shoulder caseload."""

    TITLE = "armrise"
    CSS_PATH = "armrise.tcss"
    ENABLE_COMMAND_PALETTE = True
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("question_mark", "help", "help", key_display="?", id="app.help"),
        Binding("f1", "help", "help", show=False, id="app.help_too"),
        Binding("x", "blank", "blank", id="app.blank"),
        Binding("f8", "blank", "blank, in a form too", show=False, priority=True, id="app.blank_anywhere"),
        Binding("q", "quit", "leave", id="app.leave"),
    ]

    def __init__(self, opening: Opening) -> None:
        super().__init__()
        self.opening = opening
        self.door: Any = None
        self.fictional = opening.demo
        """True for the invented caseload: every screen says so."""
        self.broken = False
        """True when the caseload could not be opened."""
        self.blank_seconds: int | None = None
        self._touched = time.monotonic()
        for theme in (DARK, LIGHT):
            self.register_theme(theme)
        self.set_reactive(App.theme, DARK.name)  # set before anything is styled, not changed afterwards
        self.stylesheet.set_variables(self.get_css_variables())
        self.set_class(ascii_terminal(), "-ascii")

    def get_default_screen(self) -> Screen:
        """The board."""
        return BoardScreen()

    def opened(self, door: Any) -> None:
        """The caseload can be read through ``door``."""
        self.door = door
        self.fictional = self.fictional or bool(getattr(door, "fictional", False))
        self.blank_seconds = blank_after(door)
        if self.blank_seconds:
            self.set_interval(min(1.0, self.blank_seconds / 4), self._blank_when_idle)

    # privacy

    async def on_event(self, event: events.Event) -> None:
        """Note that somebody is here."""
        if isinstance(event, events.InputEvent):
            self._touched = time.monotonic()
        await super().on_event(event)

    def _blank_when_idle(self) -> None:
        if self.blank_seconds and time.monotonic() - self._touched >= self.blank_seconds:
            self.action_blank()

    def action_blank(self) -> None:
        """Show nothing about anybody until a key is pressed."""
        from tui.case import BlankScreen

        if not isinstance(self.screen, BlankScreen):
            self.push_screen(BlankScreen())

    # help and palette

    def action_help(self) -> None:
        """Every key of this screen, and how to read the list."""
        from tui.help import HelpScreen

        if not isinstance(self.screen, HelpScreen):
            self.push_screen(HelpScreen(self.screen))

    def get_system_commands(self, screen: Screen) -> Iterable[SystemCommand]:
        """Every action of the screen by its description, with its key; then the theme."""
        from tui.help import described

        for description, keys, action in described(screen):
            yield SystemCommand(
                description.capitalize(), f"key {' or '.join(keys)}", self._doing(screen, action)
            )
        yield SystemCommand("Theme", "light or dark", self.action_change_theme)

    def _doing(self, screen: Screen, action: tuple[Any, str]) -> Callable[[], Any]:
        node, name = action

        async def run() -> None:
            await self.run_action(name, default_namespace=node)

        return run


def open_board(
    *,
    store_path: Path | None = None,
    demo: bool = False,
    as_of: date | None = None,
    prepare: Callable[[], Any] | None = None,
    rules: Path | None = None,
) -> None:
    """Open the morning list and return when it is left.

    ``store_path`` None is the store in the user's data folder, made on first use; ``as_of`` fixes the clinic
    date; ``prepare`` is called in the worker and gives the store to open (see :class:`tui.opening.Opening`);
    ``rules`` is a folder of rules instead of those in force.
    """
    ArmriseApp(Opening(store_path, demo, as_of, prepare, rules)).run()
