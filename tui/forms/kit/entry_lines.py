"""The lines of a generated form: one for each field of a kind, a closed list unfolded while typed in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widget import Widget

from armrise.store.record.fields import Children, Choice, Day, Words
from armrise.store.record.kinds.programme import CLASS_WORDS
from armrise.tui.forms.kit.entry_text import (
    EXAMPLE_ITEM,
    TextField,
    Unreadable,
    allowed_short,
    matches,
    raw_of,
    word_text,
)
from armrise.tui.forms.kit.line import Line
from armrise.tui.widgets.static import Static
from armrise.tui.words.choices import lettered
from armrise.tui.words.entries import day, identifying

MOST_SHOWN = 14
"""Words of a closed list shown at once; typing more of one narrows them."""

SPARE_ITEMS = 1
"""Empty lines after the exercises of a session, for one that was left out."""


def key_of(name: str, number: int = 0) -> str:
    """The id of a field's line; the parts of a list are numbered from 1."""
    return f"field-{name}-{number}" if number else f"field-{name}"


class FieldLine(Line):
    """One field as text: what is allowed in the hint, how it is understood beside it."""

    DEFAULT_CSS = """
    FieldLine .field-list { display: none; height: auto; color: $text-muted; padding-left: 4; }
    """

    def __init__(self, spec: TextField, text: str, today: date, *, number: int = 0) -> None:
        longest = spec.rule.longest if isinstance(spec.rule, Words) else 240
        label = f"{spec.label} {number}" if number else spec.label
        needed = " *" if spec.required else ""
        super().__init__(label + needed, value=text, longest=longest, key=key_of(spec.name, number))
        self.spec = spec
        self.today = today
        self.hint = f"{spec.label}: {allowed_short(spec)}"
        if isinstance(spec.rule, Children):
            self.hint = f"such as {EXAMPLE_ITEM}; empty leaves it out"

    def compose(self) -> ComposeResult:
        """The line, and under it the closed list while it has the focus."""
        yield from super().compose()
        yield Static("", classes="field-list", markup=False)

    def on_mount(self) -> None:
        """Say how the first text is understood."""
        self.understood()

    def on_input_changed(self, event: object) -> None:
        """Say how it is understood, and narrow the list."""
        super().on_input_changed(event)  # type: ignore[arg-type]
        self.understood()

    def on_descendant_focus(self) -> None:
        """Unfold the list."""
        super().on_descendant_focus()
        self.understood()

    def on_descendant_blur(self) -> None:
        """Fold the list, and write a number out as the word it stands for."""
        super().on_descendant_blur()
        if isinstance(self.spec.rule, Choice):
            try:
                word = raw_of(self.spec.rule, self.value, self.today)
            except Unreadable:
                word = None
            if word is not None and self.input.value != word_text(word):
                self.input.value = word_text(word)
        self.understood()

    def understood(self) -> None:
        """What the text means, where that is more than the text; and the list while it is typed in."""
        rule = self.spec.rule
        typing = self.input.has_focus
        try:
            value = raw_of(rule, self.value, self.today)
        except Unreadable:
            value = None
        beside = ""
        if isinstance(rule, Choice) and value is not None:
            beside = "" if word_text(value) == self.value else f"= {word_text(value)}"
            beside = f"= {CLASS_WORDS[value]}" if value in CLASS_WORDS else beside
        elif isinstance(rule, Day) and value is not None:
            beside = "" if day(value) == self.value else f"= {day(value)}"
        elif not self.value and not typing:
            beside = "needed" if self.spec.required else ""
        self.say_beside(beside)
        if isinstance(rule, Words) and rule.longest >= 100:
            self.warn(identifying(self.value))
        under = self.query_one(".field-list", Static)
        under.display = typing and isinstance(rule, Choice)
        if isinstance(rule, Choice):
            under.update(listed_words(rule.words, self.value))


def listed_words(words: tuple[str, ...], text: str) -> str:
    """A closed list with its numbers: the words that hold ``text``, or all of them once it names one."""
    exact = any(word_text(word) == text for word in words)
    wanted = words if exact or not text or text.isdecimal() else matches(words, text)
    numbers = {word: str(number) for number, word in enumerate(words, 1)}
    numbers |= {word: key for key, word in lettered(words).items()}
    shown = [f"{numbers[w]} {word_text(w)}{f' {CLASS_WORDS[w]}' if w in CLASS_WORDS else ''}" for w in wanted]
    if not shown:
        return "nothing in the list holds that: Backspace"
    more = (
        f"   and {len(shown) - MOST_SHOWN} more: type a part of the word" if len(shown) > MOST_SHOWN else ""
    )
    return "   ".join(shown[:MOST_SHOWN]) + more


def lines_of(specs: Iterable[TextField], texts: Mapping[str, str], today: date) -> Iterable[Widget]:
    """The lines of a form; the parts of a list one line each, with an empty one after them."""
    for spec in specs:
        text = texts.get(spec.name, "")
        if not isinstance(spec.rule, Children):
            yield FieldLine(spec, text, today)
            continue
        parts = text.splitlines()
        for number in range(1, len(parts) + SPARE_ITEMS + 1):
            yield FieldLine(spec, parts[number - 1] if number <= len(parts) else "", today, number=number)


def typed(within: Widget) -> dict[str, str]:
    """The texts of the lines inside ``within`` by field, parts of a list joined line by line."""
    texts: dict[str, str] = {}
    for line in within.query(FieldLine):
        name = line.spec.name
        if isinstance(line.spec.rule, Children):
            texts[name] = f"{texts.get(name, '')}\n{line.value}".strip("\n")
        else:
            texts[name] = line.value
    return texts


class Lines(Vertical):
    """The lines of one entry, shown or hidden together."""

    DEFAULT_CSS = "Lines { height: auto; }"
