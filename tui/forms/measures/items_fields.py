"""Fields of a questionnaire: one numbered answer, and a choice that folds away while it is not asked for."""

from __future__ import annotations

from decimal import Decimal

from textual import events
from textual.content import Content

from armrise.store.record.words import plain
from armrise.tui.forms.kit.fields import Field, Pick

LONGEST = 5
NUMERALS = "0123456789.-"


class Slot(Field):
    """One number from ``low`` to ``high``; empty is not answered.

    Where every answer is one digit, the digit goes on by itself; otherwise Enter does.
    """

    blank = "-"

    def __init__(self, label: str, *, key: str, blank: str = "-") -> None:
        super().__init__(label, key=key)
        self.blank = blank
        self.fit(label, Decimal(0), Decimal(10), 0)

    def fit(self, label: str, low: Decimal, high: Decimal, places: int) -> None:
        """What is asked here now."""
        self.label, self.low, self.high, self.places = label, low, high, places
        self.single = places == 0 and low >= 0 and high <= 9
        self.beside = f"{plain(low)} to {plain(high)}"
        how = f"{plain(low)}-{plain(high)} and on" if self.single else "number and Enter"
        self.hint = f"{how}   Enter on nothing: left blank   Backspace empties"
        self.refresh(layout=True)

    def typed(self, character: str) -> None:
        """A digit more, or the one digit."""
        if self.single:
            fits = character.isdecimal() and character.isascii() and self.low <= int(character) <= self.high
            self.take(character, "" if fits else self.wrong(character))
        elif character in NUMERALS and len(str(self.value)) < LONGEST:
            self.fault = ""
            self.value = f"{self.value}{character}"
        else:
            self.fault = self.wrong(f"{self.value}{character}")

    def on_key(self, event: events.Key) -> None:
        """Enter leaves only an answer that may be given."""
        if event.key == "enter" and self.value and (fault := self.amiss()):
            self.fault = fault
            event.stop()
            event.prevent_default()
            return
        super().on_key(event)

    def on_blur(self) -> None:
        """An answer left without Enter is looked at too."""
        self.fault = self.amiss()

    def amiss(self) -> str:
        """What is wrong with the answer; empty when it may be given."""
        text = str(self.value)
        if not text:
            return ""
        try:
            number = Decimal(text)
        except ArithmeticError:
            return self.wrong(text)
        fits = self.low <= number <= self.high and number == round(number, self.places)
        return "" if fits else self.wrong(text)

    def wrong(self, text: str) -> str:
        """The sentence under a wrong answer."""
        kind = "a whole number from" if self.places == 0 else f"at most {self.places} decimals, from"
        return f'{self.label}: "{text}" cannot be; allowed is {kind} {plain(self.low)} to {plain(self.high)}.'


class Folded(Pick):
    """A choice whose options are in sight only while it has the focus."""

    def __init__(self, label: str, options: tuple[str, ...], *, key: str, blank: str) -> None:
        super().__init__(label, options, flow=True, key=key)
        self.blank = blank

    def offer(self, options: tuple[str, ...]) -> None:
        """Other options; a choice that is none of them is dropped."""
        if options != self.options:
            self.options = options
            if self.value not in options:
                self.forget()
            self.refresh(layout=True)

    def render(self) -> Content:
        """One line, with the options under it while they may be chosen."""
        return super().render() if self.has_focus else Field.render(self)
