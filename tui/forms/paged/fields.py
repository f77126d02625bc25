"""Fields of the visit forms: one letter for a word, a proposal that Enter takes, a date, a total."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from textual import events
from textual.content import Content
from textual.widgets import Input

from armrise.tui.forms.kit.fields import BESIDE, Field, Pick
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.paged.read import read_total, read_when
from armrise.tui.words.entries import ago, day, identifying

ROOM = 34
"""Columns beside a value."""
YES_NO = {"y": "yes", "n": "no", "d": "declined"}


class Letters(Field):
    """One of a few words, each by a letter or digit of its own; empty is not asked."""

    def __init__(self, label: str, options: Mapping[str, str], *, aside: str = "", **rest: Any) -> None:
        super().__init__(label, beside=aside, **rest)
        self.options = dict(options)
        self.aside = aside
        told = "   ".join(f"{key} {word}" for key, word in self.options.items())
        self.hint = f"{told}   Backspace empties"

    def watch_has_focus(self, focused: bool) -> None:
        """While it has the focus its letters stand beside it, otherwise what was to be said."""
        letters = "  ".join(f"{key} {word}" for key, word in self.options.items())
        if len(letters) > ROOM:
            letters = "its keys stand below"
        self.beside = letters if focused and not self.aside else self.aside
        super().watch_has_focus(focused)

    def typed(self, character: str) -> None:
        """A letter of the list."""
        word = self.options.get(character.lower())
        if word:
            self.take(word)
        else:
            allowed = ", ".join(f"{key} {meant}" for key, meant in self.options.items())
            self.refuse(f'{self.label}: "{character}" is none of {allowed}.')


class Answer(Letters):
    """Yes, no or declined; empty is not asked."""

    def __init__(self, label: str, *, aside: str = "", **rest: Any) -> None:
        super().__init__(label, YES_NO, aside=aside, **rest)


class Proposed(Pick):
    """A choice with a proposal that Enter takes. Without Enter or a key nothing is chosen."""

    def __init__(self, label: str, options: Sequence[str], **rest: Any) -> None:
        super().__init__(label, options, flow=True, **rest)
        self.proposal = ""
        self.because = ""

    @property
    def code(self) -> str:
        """The first word of what was chosen."""
        return self.value.partition(" ")[0]

    def propose(self, proposal: str, because: str) -> None:
        """Offer an option, with the reason in words; empty offers none."""
        self.proposal = next((o for o in self.options if o.partition(" ")[0] == proposal), "")
        if self.value and self.value == self.proposal:
            self.beside, self.because = "", ""
        else:
            lead = "proposed was" if self.value else "Enter:"
            self.beside = f"{lead} {proposal}" if self.proposal else ""
            self.because = because
        self.refresh(layout=True)

    def render(self) -> Content:
        """The choice and its list, and the reason of the proposal between them."""
        lines = super().render().split("\n")
        because = [Content.styled(f"    {self.because}", BESIDE)] if self.because else []
        return Content("\n").join([lines[0], *because, *lines[1:]])

    def offer(self, options: Sequence[str]) -> None:
        """Change the options; a choice that is none of them any more is dropped."""
        if tuple(options) != self.options:
            self.options = tuple(options)
            if self.value and self.value not in self.options:
                self.value = ""
            self.refresh(layout=True)

    def on_key(self, event: events.Key) -> None:
        """Enter takes the proposal."""
        if event.key == "enter" and not self.value and self.proposal:
            self.take(self.proposal)
            event.stop()
            event.prevent_default()
        else:
            super().on_key(event)


class Noted(Line):
    """Free text that warns of names and numbers of persons."""

    def on_input_changed(self, event: Input.Changed) -> None:
        """Warn beside typing; nothing is refused."""
        self.warn(identifying(self.value))


class ProposedLine(Line):
    """A line with a proposal that Enter takes when nothing is typed."""

    hint = "Enter alone: as proposed   or type another and Enter"

    def __init__(self, label: str, **rest: Any) -> None:
        super().__init__(label, **rest)
        self.proposal = ""
        self.offer = ""

    def propose(self, proposal: str, words: str = "", *, second: str = "") -> None:
        """Offer a text, with what it is in ``words``, and when something else is right in ``second``."""
        self.proposal = proposal
        said = words or (f"Enter: {proposal}, the next free" if proposal else "")
        self.offer = f"{said}; {second}" if second else said
        self.say_beside(self.beside_now())

    def beside_now(self) -> str:
        """What Enter would take; once something is typed it takes that, and nothing stands there."""
        return "" if self.value else self.offer

    def on_input_changed(self, event: Input.Changed) -> None:
        """Offer, or no more."""
        self.say_beside(self.beside_now())

    def submitted(self) -> None:
        """Enter on nothing takes the proposal."""
        if not self.value and self.proposal:
            self.input.value = self.proposal
        super().submitted()


class DateLine(ProposedLine):
    """A date, typed as "12 Jan", "-60" (days), "12w" (weeks ago) or ISO; empty is not known."""

    def __init__(self, label: str, today: date, *, ahead: bool = False, **rest: Any) -> None:
        super().__init__(label, longest=20, **rest)
        self.today = today
        self.ahead = ahead
        past = "27 Feb, 2025-11-30, -60 for 60 days ago, 12w for 12 weeks ago"
        self.hint = "27 Mar, +14, Thu, and Enter" if ahead else f"{past}; empty is not known"

    @property
    def when(self) -> date | None:
        """The date that was typed, None while there is none."""
        return read_when(self.value, self.today, ahead=self.ahead)[0]

    def wrong(self) -> str:
        """Why what was typed is no date for this line."""
        return read_when(self.value, self.today, ahead=self.ahead, label=self.label)[1]

    def beside_now(self) -> str:
        """The date in words, or what is offered."""
        when = self.when
        return f"{day(when)}, {ago(when, self.today)}" if when else self.offer

    def submitted(self) -> None:
        """A date that cannot be read stays and is marked."""
        if fault := self.wrong():
            self.fault = fault
        else:
            super().submitted()


class Total(Line):
    """The total of a questionnaire: a number, ``i`` incomplete, ``d`` declined; empty is not asked."""

    hint = "total and Enter   i form incomplete   d declined   empty: not asked"

    def __init__(self, label: str, **rest: Any) -> None:
        super().__init__(label, longest=8, **rest)
        self.low, self.high = Decimal(0), Decimal(100)

    def submitted(self) -> None:
        """A total out of its range stays and is marked."""
        if fault := read_total(self.value, self.label, self.low, self.high)[1]:
            self.fault = fault
        else:
            super().submitted()
