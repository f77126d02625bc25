"""The application: its screens, its theme, the blank key, and the palette made from the bindings.

Only Textual and the widgets of the first frame are imported here. The store is imported by a worker once the
frame is on the screen; the table classes not before the rows are.
"""

from __future__ import annotations

import asyncio
import os
import signal
import time
from collections.abc import Callable, Coroutine, Iterable, Mapping, Sequence
from contextlib import ExitStack, suppress
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from rich.text import Text
from textual import events
from textual.app import App, SystemCommand
from textual.binding import Binding, BindingType
from textual.command import CommandPalette, Provider
from textual.screen import Screen

from armrise.tui.app import idle, starting
from armrise.tui.app.burst import Burst
from armrise.tui.app.gate import GATE
from armrise.tui.app.themes import DARK, FEW_DARK, FEW_LIGHT, LIGHT
from armrise.tui.board.board import BoardScreen
from armrise.tui.case.finding import NUMBER, Finds
from armrise.tui.shell.frame import BURST, Frame, Framed
from armrise.tui.shell.keyname import DIGITS, is_key, printed, several
from armrise.tui.shell.opening import Opening, blank_after
from armrise.tui.shell.say import AnyKeyScreen, BlankScreen, say
from armrise.tui.widgets.groups import ALWAYS
from armrise.tui.widgets.painted import ascii_terminal

if TYPE_CHECKING:
    from textual.command import Provider
    from textual.filter import LineFilter

    from armrise.store.database.server.address import Where
    from armrise.tui.app.help import Action
    from armrise.tui.shell.door import Door
    from armrise.tui.shell.opening import Given

HOW_TO_LEAVE = (
    "Nothing is selected to copy. To leave: q on the list, which from anywhere else goes one level back; "
    "Ctrl+Q leaves at once."
)


def _actions() -> type[Provider]:
    from armrise.tui.app.palette import Actions

    return Actions


def _cases() -> type[Provider]:
    from armrise.tui.app.case_commands import CaseCommands

    return CaseCommands


class ArmriseApp(Frame):
    """The shoulder caseload."""

    TITLE = "armrise"
    CSS_PATH = "armrise.tcss"
    ENABLE_COMMAND_PALETTE = True
    COMMANDS: ClassVar[set[type[Provider] | Callable[[], type[Provider]]]] = {_actions, _cases}
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("question_mark", "help", "help", id="app.help", group=ALWAYS),
        Binding("f1", "help", "help", show=False, priority=True, id="app.help_anywhere", group=ALWAYS),
        Binding("x", "blank", "blank", id="app.blank", group=ALWAYS),
        Binding("f8", "blank", "blank", show=False, priority=True, id="app.blank_anywhere", group=ALWAYS),
        Binding("q", "back", "back, or leave", id="app.leave", group=ALWAYS),
        Binding("ctrl+q", "quit", "leave", show=False, priority=True, id="app.leave_anywhere", group=ALWAYS),
        Binding("ctrl+c", "copy", "copy", show=False, priority=True, id="app.copy", group=ALWAYS),
    ]

    def __init__(self, opening: Opening) -> None:
        super().__init__()
        self.begin(opening)
        self.door_of_now: Door | None = None
        """As ``door``, also while an earlier instant is shown."""
        self.kept = ExitStack()
        """Closed when the application is left: the folder of a demo begun in the first run."""
        self.blank_seconds: int | None = None
        self._touched = time.monotonic()
        self.lock_seconds: int | None = None
        """None for a caseload that no passphrase opens."""
        self._here = idle.seconds()
        """When somebody was last here, on a clock that goes on while the machine sleeps."""
        self._burst = Burst()
        few = self.console.color_system == "standard"
        for theme in (FEW_DARK, FEW_LIGHT) if few else (DARK, LIGHT):
            self.register_theme(theme)
        self.set_reactive(App.theme, DARK.name)  # set before anything is styled, not changed afterwards
        self.stylesheet.set_variables(self.get_css_variables())
        self.set_class(ascii_terminal(), "-ascii")

    def get_css_variables(self) -> dict[str, str]:
        """As Textual has them, but none until the colours here are known: of others they are never asked."""
        return super().get_css_variables() if DARK.name in self.available_themes else {}

    def get_default_screen(self) -> Screen[Any]:
        """The board."""
        return BoardScreen()

    def get_line_filters(self) -> Sequence[LineFilter]:
        """As Textual has them, and last the gate that nothing raw passes."""
        return [*super().get_line_filters(), GATE]

    def screen_named(self, name: str) -> type[Screen[Any]] | None:
        """The screen of that name, from the table of screens."""
        from armrise.tui.app.screens import screen_named

        return screen_named(name)

    @property
    def act_keys(self) -> Mapping[str, str]:
        """The printed key of every action that the rules name."""
        from armrise.tui.case.act_keys import act_keys

        return act_keys(self.own_keys)

    def load_screens(self) -> None:
        """Import the screens of every day."""
        from armrise.tui.app.screens import load_screens

        load_screens()

    def demo_folder(self) -> Path:
        """A private folder that is removed when the application is left."""
        from armrise.store.files.throwaway import throwaway

        return self.kept.enter_context(throwaway())

    def opened(self, door: Door) -> None:
        """The caseload can be read through ``door``."""
        self.door = self.door_of_now = door
        self.fictional = self.fictional or door.fictional
        self.blank_seconds, fault = idle.blank_after(blank_after(door))
        if fault:
            say(self.screen, fault)
        if self.blank_seconds:
            self.set_interval(min(1.0, self.blank_seconds / 4), self._blank_when_idle)
        self.call_after_refresh(starting.collect_garbage_again)
        if door.encrypted:
            self.lock_seconds, fault = idle.lock_after()
            self._here = idle.seconds()
            self.set_interval(1.0, self._lock_when_idle)
            if fault:
                say(self.screen, fault)

    if not TYPE_CHECKING:  # what it takes and gives is written in Textual

        def push_screen(self, screen, *given, **named):
            """As Textual does, once the look of what stands over the list is read."""
            starting.read_rest(self.stylesheet)
            return super().push_screen(screen, *given, **named)

    # privacy

    def on_mount(self) -> None:
        """A closed terminal and a request to end leave as q does: the screen is cleared, drafts are kept."""
        if not self.is_headless:
            loop = asyncio.get_running_loop()
            for name in ("SIGTERM", "SIGHUP"):
                with suppress(AttributeError, NotImplementedError, RuntimeError, ValueError):
                    loop.add_signal_handler(getattr(signal, name), self.exit)
        self.run_worker(self._read_keys, thread=True, group="keys")
        self.set_timer(starting.LONGEST, starting.collect_garbage_again)

    def _read_keys(self) -> None:
        """In a thread: the user's own keys, where there is a file of them."""
        from armrise.tui.shell.keyfile import is_named, keys_path

        path = keys_path()
        if is_named(path) or os.path.lexists(path):
            from armrise.tui.shell.keys import read

            self.call_from_thread(self._use_keys, *read(path))

    def _use_keys(self, keymap: dict[str, str], faults: list[str]) -> None:
        from armrise.tui.shell.keys import changed

        self.own_keys = keymap
        self.set_keymap(keymap)
        for screen in self.screen_stack:
            screen.query("#keys").refresh()
        told = [*faults, "Your keys are not used; the shipped ones hold."] if faults else [changed(keymap)]
        if any(told):
            say(self.screen, "\n".join(told))

    def _fatal_error(self) -> None:
        """Leave with one sentence; a traceback would print what the screen had in hand about a case."""
        from armrise.tui.shell.fault import told

        self._exit_renderables.append(Text(told(self._exception)))
        self._close_messages_no_wait()

    async def on_event(self, event: events.Event) -> None:
        """Note that somebody is here; take the keys that are for no field and no action."""
        if isinstance(event, events.InputEvent):
            locked = self._lock_when_idle()  # the machine slept: the key comes before the clock is looked at
            self._here = idle.seconds()
            if locked:
                return
            self._touched = time.monotonic()
            idle.undim(self.screen)
        if isinstance(event, events.Key):
            if not event.is_forwarded:
                self.unsay()
            if self._burst.is_late(event) or (not event.is_forwarded and self._takes(event)):
                return
        await super().on_event(event)

    def _takes(self, event: events.Key) -> bool:
        """True for a key that nobody else is to get: it wakes the screen, is too fast, or types a number."""
        meant = (self._burst.woke if self._wakes(event) else self._burst.lets)(event, self.screen)
        return not meant or (isinstance(self.screen, Finds) and self.screen.takes(event))

    def _wakes(self, event: events.Key) -> bool:
        """Leave the blank screen by any key but the one that leaves the program; True when it is left."""
        screen = self.screen
        active = screen.active_bindings.get(event.key)
        if not isinstance(screen, BlankScreen) or (active and active.binding.id == "app.leave_anywhere"):
            return False
        screen.leave()
        return True

    async def on_key(self, event: events.Key) -> None:
        """A key that no field took. On a modal screen the application is not asked for q: it is done here."""
        screen = self.screen
        if isinstance(screen, Framed) and event.time - screen.opened_at < BURST:
            event.prevent_default()
        elif event.key == "q" and screen.is_modal:
            event.prevent_default()
            await self.action_back()

    async def action_back(self) -> None:
        """One level back, as Esc goes on this screen; on the list, with nothing to go back from, leave."""
        back = self.screen.active_bindings.get("escape")
        if back is None:
            self.exit()
        else:
            await self.run_action(back.binding.action, back.node)

    def action_copy(self) -> None:
        """Copy what is selected; with nothing selected say how to leave, for which many press this key."""
        from textual.widgets import Input

        field = self.focused
        typed = field.selected_text if isinstance(field, Input) else ""
        if selected := typed or self.screen.get_selected_text():
            self.copy_to_clipboard(selected)
        elif not isinstance(self.screen, Framed) or self.screen.helped:
            say(self.screen, HOW_TO_LEAVE)

    def _blank_when_idle(self) -> None:
        left = (self.blank_seconds or 0) - (time.monotonic() - self._touched)
        if self.is_locked:
            return
        if self.blank_seconds and left <= 0:
            self.blank()
        elif self.blank_seconds and left <= idle.DIM_SECONDS and not isinstance(self.screen, BlankScreen):
            idle.dim(self.screen)

    def blank(self) -> None:
        """Show nothing about anybody until a key is pressed."""
        if not isinstance(self.screen, BlankScreen):
            idle.undim(self.screen)
            self.push_screen(BlankScreen(self.woken))

    @property
    def is_locked(self) -> bool:
        """True while nothing is to be seen before the passphrase is typed."""
        return any(isinstance(screen, Framed) and screen.locks for screen in self.screen_stack)

    def _lock_when_idle(self) -> bool:
        """Ask for the passphrase again once nobody was here for long; True when that begins now."""
        if not self.lock_seconds or idle.seconds() - self._here < self.lock_seconds or self.is_locked:
            return False
        from armrise.tui.locked.screen import LockScreen

        idle.undim(self.screen)
        self.push_screen(LockScreen(), self._unlocked)
        return True

    def _unlocked(self, _: bool | None) -> None:
        """Go back to what was there; the blank screen beneath has been left with it."""
        if isinstance(self.screen, BlankScreen):
            self.screen.leave()

    def woken(self) -> None:
        """The blank screen is left: of keys in one burst with this only those that find a case count."""
        self._burst.begin()

    def turned(self) -> None:
        """Another case is under the cursor: a key on its way since before was not meant for it."""
        self._burst.turn()

    def end_burst(self) -> None:
        """Another case is in sight: keys pressed by now, or in one burst with them, were not meant for it."""
        self.turned()
        self.woken()

    def action_blank(self) -> None:
        """Blank the screen."""
        self.blank()

    # help and palette

    def action_help(self) -> None:
        """Every key of this screen, and how to read the list."""
        from armrise.tui.app.help import HelpScreen

        screen = self.screen
        if isinstance(screen, Framed) and not screen.helped:
            return
        if isinstance(screen, AnyKeyScreen):
            screen.leave()  # F1 is a key like any other there
        elif isinstance(screen, HelpScreen):
            screen.dismiss(None)
        else:
            self.push_screen(HelpScreen(screen))

    def get_key_display(self, binding: Binding) -> str:
        """The key as it is written on every screen; of an act of the menu the keys that lead to it."""
        if binding.id == NUMBER:
            return several(DIGITS)
        if is_key(binding.key):
            return binding.key_display or printed(binding.key)
        from armrise.tui.case.acts import way

        return way(binding.id or "", self.own_keys)

    def get_system_commands(self, screen: Screen[Any]) -> Iterable[SystemCommand]:
        """Every action of the screen by its description, with its key; then the colours."""
        from armrise.tui.app.help import described

        for _, description, keys, action, _ in described(screen):
            yield SystemCommand(description.capitalize(), " or ".join(keys), self._doing(action))
        if isinstance(screen, BoardScreen):
            for key, view in screen.views.items():
                yield SystemCommand(f"View: {view.name}", key, partial(screen.action_view, key))
        yield SystemCommand("Light or dark", "", self.action_other_theme)

    def action_command_palette(self) -> None:
        """Ask for an action by its words."""
        from armrise.tui.app.palette import ASKED

        if self.use_command_palette and not (self.is_locked or isinstance(self.screen, CommandPalette)):
            self.push_screen(CommandPalette(placeholder=ASKED))

    def action_other_theme(self) -> None:
        """From the dark colours to the light ones, and back."""
        self.theme = LIGHT.name if self.theme == DARK.name else DARK.name

    def _doing(self, action: Action) -> Callable[[], Coroutine[Any, Any, None]]:
        node, name = action

        async def run() -> None:
            await self.run_action(name, default_namespace=node)

        return run


def open_board(
    *,
    store_path: Where | None = None,
    demo: bool = False,
    as_of: date | None = None,
    prepare: Callable[[], Given] | None = None,
    rules: Path | None = None,
    author: str = "",
    ahead: Callable[[Callable[[], None]], object] | None = None,
) -> int:
    """Open the morning list and return when it is left: 0, or 1 after a fault nobody foresaw.

    ``store_path`` None is one's own store, made on first use; ``as_of`` fixes the clinic
    date; ``prepare`` is called in the worker and gives the store to open (see ``Opening``);
    ``rules`` is a folder of rules instead of those in force; ``author`` are initials given for this time;
    ``ahead`` makes in spare time what the next start needs (see ``Opening``).
    """
    app = ArmriseApp(Opening(store_path, demo, as_of, prepare, rules, author, ahead))
    with app.kept:
        app.run()
        if app.door_of_now is not None:
            from armrise.tui.app.leaving import back_up, keep

            keep(app.door_of_now)
            back_up(app.door_of_now, asked=app.backup_asked)
    return app.return_code or 0
