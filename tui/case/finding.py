"""A case found by its number, from the list and from a case's own screen: digits, Enter, Backspace, Esc.

The digits are typed into no field: what is on the screen stays in sight, and the foot says what they mean so
far. They are taken before any other key, in the order in which they come and however fast. From two digits
on no key is about the case in sight.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any, ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.screen import Screen
from textual.timer import Timer
from textual.widgets import Input

from armrise.tui.shell.frame import frame_of
from armrise.tui.shell.keyname import DIGITS
from armrise.tui.shell.say import say
from armrise.tui.widgets import jump
from armrise.tui.widgets.bars import KeyBar
from armrise.tui.widgets.groups import DAY

BACK = ("escape", "q")
PAUSE = 1.0
"""Seconds after which a single digit is no longer the beginning of a number: the next one begins anew."""
HOW = "Type the number of a case's code: 0 2 7 and Enter opens BY-027. Esc takes it back."
NUMBER = "find.number"
SEARCH = ("list.filter", "case.search")
MOVES = (
    *("list.next", "list.previous", "list.page_down", "list.page_up", "list.first", "list.last"),
    *("case.down", "case.up", "case.page_down", "case.page_up"),
)
"""Ids of the keys that still move while a number is typed."""


class Finds:
    """Mixed into a screen on which digits go to a case."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            digit,
            "number",
            "case number, view",
            show=False,
            key_display="0-9",
            id=NUMBER,
            group=DAY,
        )
        for digit in DIGITS
    ]

    typed = ""
    """The digits typed so far."""
    _moved = False
    """True when the cursor was moved since: Enter opens what it stands on."""
    _pause: Timer | None = None

    # what a screen says of itself

    def heads(self) -> Sequence[tuple[str, str]]:
        """Code and side of every case that can be gone to, in the order of the list."""
        raise NotImplementedError

    def cursor_code(self) -> str:
        """The case that a moving key has come to; empty on a screen of one case."""
        return ""

    def number_typed(self, before: str) -> str:
        """Show what the digits mean now, ``before`` them others; what to say of it where it is no number."""
        raise NotImplementedError

    def go_to(self, code: str) -> None:
        """Show the case whose number was typed."""
        raise NotImplementedError

    # keys

    @property
    def finding(self) -> bool:
        """True while digits mean a case."""
        return len(self.typed) >= jump.ENOUGH

    def takes(self, event: events.Key) -> bool:
        """Take a key before everything else; False leaves it to whom it is meant for."""
        if event.key in DIGITS and (self.typed or self._is_own(event.key)):
            if isinstance(self._screen().focused, Input) or not self.heads():
                return False
            self._type(self.typed + event.key)
        elif not self.typed:
            return False
        elif event.key in BACK:
            self._type("")
        elif event.key == "backspace":
            self._type(self.typed[:-1])
        elif not self.finding:
            self.forget()
            return False
        elif event.key == "enter":
            self._open()
        else:
            return self._is_other(event.key)
        return True

    def begins(self, key: str, names: Collection[str]) -> bool:
        """True for a key that does one of these actions on the screen as such, not in a field left open."""
        field = self._screen().focused
        self._screen().set_focus(None)
        active = self._screen().active_bindings.get(key)
        name = active.binding.id if active else NUMBER if key in DIGITS else ""
        if name not in names:
            self._screen().set_focus(field)
        return name in names

    def _is_own(self, key: str) -> bool:
        """False for a digit that the user has given to something else."""
        active = self._screen().active_bindings.get(key)
        return active is None or active.binding.id == NUMBER

    def goes_on(self, key: str) -> bool:
        """True for a key that goes on with what is being typed to find a case."""
        if isinstance(self._screen().focused, Input):
            return True
        return bool(self.typed) and (key in DIGITS or (self.finding and key in ("enter", "backspace")))

    def begin(self) -> None:
        """Nothing is typed, and the next key begins: whatever was in hand before."""
        if self.typed:
            self._type("")

    def forget(self) -> None:
        """The one digit typed has done what it does, and begins no number any longer."""
        if self.typed and not self.finding:
            self.typed = ""
            self._foot("")

    def action_number(self) -> None:
        """Say how a case is found by its number; on the keys themselves the digits are typed."""
        say(self._screen(), HOW)

    def on_screen_suspend(self) -> None:
        """Behind another screen nothing is half typed; the view that one digit has shown stays."""
        self.forget()
        self.begin()

    def _type(self, digits: str) -> None:
        before, self.typed, self._moved = self.typed, digits, False
        if self._pause is not None:
            self._pause.stop()
        if len(digits) == 1:
            self._pause = self._screen().set_timer(PAUSE, self.forget)
        self._foot(self.number_typed(before))

    def _open(self) -> None:
        codes = [code for code, _ in self.heads()]
        code = self.cursor_code() if self._moved else jump.meant(codes, self.typed)
        if code:
            self._type("")
            self.go_to(code)
            frame_of(self._screen()).end_burst()
        else:
            self._foot("", refused=True)

    def _is_other(self, key: str) -> bool:
        """True for a key that is about the case in sight; it does nothing while a number is typed."""
        active = self._screen().active_bindings.get(key)
        name = active.binding.id or "" if active else ""
        self._moved = self._moved or name in MOVES
        return not (name in MOVES or name.startswith("app."))

    def _foot(self, said: str, *, refused: bool = False) -> None:
        told = jump.words(self.typed, self.heads(), refused=refused) if self.typed and not said else said
        self._screen().query_one(KeyBar).say(told)

    def _screen(self) -> Screen[Any]:
        assert isinstance(self, Screen)
        return self
