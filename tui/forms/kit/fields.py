"""The fields of the entry screens: one line each, bare digits and on, a fault marked where it was typed."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events
from textual.containers import VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget

from armrise.store.record.fields import Absence
from armrise.tui.words.choices import in_words, keys_of

LABEL = 25
VALUE = 12
ROW = 72
GIVEN, BESIDE, FAULT = "bold", "$text-muted", "bold $text-error"
"""Styles of what was typed, of what stands beside it, and of what is wrong with it."""


class Moved(Message):
    """A field has what it wants; the focus goes on."""


class Changed(Message):
    """What a field holds has changed."""


def go_on(row: Widget) -> None:
    """The focus goes on from ``row`` at once, so that a key typed meanwhile does not reach it again.

    A screen that has no ``move_on`` is told by :class:`Moved`.
    """
    move_on = getattr(row.screen, "move_on", None)
    if move_on is None:
        row.post_message(Moved())
    else:
        move_on()


def in_order(root: Widget) -> list[Widget]:
    """What can take the focus under ``root``, in the order in which it was put there.

    The order of the screen is that of the last painting, where a row that has only just come into sight has
    no place yet.
    """
    found: list[Widget] = []
    for child in root.displayed_children:
        found += [child] if child.focusable else []
        found += in_order(child)
    return found


def passed_on(row: Widget, event: events.Key) -> bool:
    """True when a key typed in haste came to ``row`` after the focus had left it: it follows the focus."""
    focused = row.screen.focused
    if focused is None or focused is row or not row.screen.is_active:
        return False
    event.stop()
    event.prevent_default()
    focused.post_message(events.Key(event.key, event.character))
    return True


class Field(Widget, can_focus=True):
    """A label, what was typed, what to judge it against, and a fault under it when there is one."""

    DEFAULT_CSS = """
    Field { height: auto; width: 1fr; text-wrap: nowrap; text-overflow: ellipsis; }
    Field:focus { background: $boost; }
    """
    value = reactive("", layout=True)
    beside = reactive("", layout=True)
    fault = reactive("", layout=True)
    hint = ""
    blank = "not asked"

    def __init__(self, label: str, *, beside: str = "", value: str = "", key: str | None = None) -> None:
        super().__init__(id=key)
        self.label = label
        self.beside = beside
        self.value = value

    def shown(self) -> str:
        """The value in words."""
        return self.value or self.blank

    def render(self) -> Content:
        """One line, and a second one while there is a fault."""
        return Content.assemble(
            self.headed(),
            (f"{self.shown():<{VALUE}} ", GIVEN if self.value else BESIDE),
            (self.beside, BESIDE),
            (f"\n    ! {self.fault}" if self.fault else "", FAULT),
        )

    def headed(self) -> str:
        """The label in its column, where the focus is before it."""
        return f"{self.marker} {self.label:<{LABEL}} "

    @property
    def marker(self) -> str:
        """Where the focus is, without colour."""
        return ">" if self.has_focus else " "

    def watch_value(self) -> None:
        """Tell the screen."""
        if self.is_mounted:
            self.post_message(Changed())

    def watch_has_focus(self, _focused: bool) -> None:
        """Draw the marker."""
        self.refresh(layout=True)

    def take(self, value: str, fault: str = "") -> None:
        """Hold ``value``; with a fault stay, without one go on."""
        self.fault = fault
        self.value = value
        if not fault:
            go_on(self)

    def refuse(self, sentence: str) -> None:
        """Say why a key means nothing here; what was answered stays."""
        self.fault = sentence
        self.post_message(Changed())

    def forget(self) -> None:
        """Back to nothing typed."""
        self.fault = ""
        self.value = ""

    def kept_text(self) -> str:
        """What has to be kept so that an unwritten form can be brought back."""
        return self.value

    def put_back(self, text: str, fault: str = "") -> None:
        """Hold again what was kept, marked as it was; the focus stays where it is."""
        self.fault = fault
        self.value = text

    def typed(self, character: str) -> None:
        """One printable key."""

    def on_key(self, event: events.Key) -> None:
        """Printable keys and backspace belong to the field, the rest to the screen."""
        if passed_on(self, event):
            return
        if event.key in ("backspace", "delete"):
            self.forget()
        elif event.key == "enter":
            go_on(self)
        elif event.is_printable and event.character:
            self.typed(event.character)
        else:
            return
        event.stop()
        event.prevent_default()


class Score(Field):
    """A whole number by one bare key: 0 to 9, x for 10, d for declined; empty is not asked."""

    def __init__(self, label: str, *, high: int = 10, unit: str = "", **rest: str) -> None:
        super().__init__(label, **rest)  # type: ignore[arg-type]
        self.high = high
        self.unit = unit
        ten = ", x for 10" if high >= 10 else ""
        self.hint = f"0-{min(high, 9)} and on{ten}   d declined   Backspace empties: not asked"

    def shown(self) -> str:
        """The value in words."""
        return {"d": "declined", "": self.blank}.get(self.value, self.value)

    def typed(self, character: str) -> None:
        """A digit, x or d is taken; anything else is kept and marked."""
        key = character.lower()
        if key == "x" and self.high >= 10:
            self.take("10")
        elif key == "d" or (key.isdecimal() and key.isascii() and int(key) <= self.high):
            self.take(key)
        else:
            self.take(character, self.wrong(character))

    def wrong(self, character: str) -> str:
        """Why this key is no value here."""
        if character == ".":
            return f"{self.label}: pain is asked each time, never repeated."
        ten = ", x for 10" if self.high >= 10 else ""
        return f'{self.label}: "{character}" is not 0 to {min(self.high, 9)}{ten}, or d for declined.'

    @property
    def answer(self) -> int | Absence:
        """What was answered; ``Absence.NOT_ASKED`` when nothing was typed, or what is no answer."""
        if self.value.isdecimal():
            return int(self.value)
        return Absence.DECLINED if self.value == "d" else Absence.NOT_ASKED


class YesNo(Field):
    """Yes or no; empty where the question was not asked, unless it starts as "no"."""

    hint = "y yes   n no   Backspace empties"

    def shown(self) -> str:
        """The answer in words."""
        return {"y": "yes", "n": "no"}.get(self.value, self.blank)

    def typed(self, character: str) -> None:
        """y or n."""
        if character.lower() in ("y", "n"):
            self.take(character.lower())
        else:
            self.refuse(f'{self.label}: "{character}" is neither y nor n.')

    @property
    def yes(self) -> bool:
        """True for yes."""
        return self.value == "y"


class Pick(Field):
    """One word of a closed list by its key; ``of`` is the whole list where fewer are offered here."""

    def __init__(
        self, label: str, options: Sequence[str], *, of: Sequence[str] = (), flow: bool = False, **rest: str
    ) -> None:
        super().__init__(label, **rest)  # type: ignore[arg-type]
        self.options = tuple(options)
        self.of = tuple(of)
        self.flow = flow
        self.blank = "choose"

    @property
    def by_key(self) -> dict[str, str]:
        """The words offered here by their keys, which are those of the whole list."""
        keys = {word: key for key, word in keys_of(self.of or self.options).items()}
        return {keys[word]: word for word in self.options}

    @property
    def keys(self) -> str:
        """The keys that choose: "1 to 6", "1 to 9, a to c"."""
        return in_words(self.by_key)

    @property
    def hint(self) -> str:
        """What its keys do."""
        return f"{self.keys.replace(' to ', '-')} chooses and goes on"

    def typed(self, character: str) -> None:
        """The key of a word."""
        if word := self.by_key.get(character.lower()):
            self.take(word)
        else:
            self.refuse(f'{self.label}: "{character}" is not {self.keys}.')

    def render(self) -> Content:
        """The choice, and the list with its keys under it; a flowing one folds away once it is answered."""
        parts: list[tuple[str, str]] = []
        if self.flow and self.value and not self.has_focus:
            return super().render()
        room = min(ROW, self.screen.size.width - 8)  # in a narrow window fewer stand in a line
        used = room
        for key, option in self.by_key.items():
            chosen = option == self.value
            words = f" {'*' if chosen else ' '}{key} {option}"
            used += len(words)
            if used > room or not self.flow:
                parts.append(("\n  ", ""))
                used = len(words)
            parts.append((words, GIVEN if chosen else BESIDE))
        return Content.assemble(super().render(), *parts)


class Write(Field):
    """The last row: Enter writes what stands above it."""

    class Asked(Message):
        """Write it."""

    def on_mount(self) -> None:
        """Enter does what the row says."""
        self.hint = f"Enter: {self.label[:1].lower()}{self.label[1:]}"

    def render(self) -> Content:
        """One word, marked when it has the focus."""
        return Content.styled(f"{self.marker} [ {self.label} ]", GIVEN)

    def on_key(self, event: events.Key) -> None:
        """Only Enter; every other key is the screen's, also the printable ones a field would keep."""
        if passed_on(self, event):
            return
        event.prevent_default()
        if event.key == "enter":
            self.post_message(self.Asked())
            event.stop()


class Body(VerticalScroll, inherit_bindings=False):
    """The fields. Arrow keys go from one to the next, also where there is more to scroll."""

    def on_resize(self) -> None:
        """What stands below grows with what is typed: the field of the next key stays in sight."""
        focused = self.screen.focused
        if focused is not None and self in focused.ancestors:
            self.call_after_refresh(self.scroll_to_widget, focused, animate=False)
