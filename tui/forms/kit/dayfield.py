"""The day a form is about: stepped with the arrow keys or typed as a date, at most some days back."""

from __future__ import annotations

from datetime import date, timedelta

from textual import events

from armrise.tui.forms.kit.fields import Changed, Field, passed_on
from armrise.tui.forms.kit.fields import go_on as onward
from armrise.tui.words.entries import ago, day, read_day

DAYS_BACK = 14
"""How far back a form lets a day lie; older facts are a correction's business."""


class DayField(Field):
    """A date from ``back`` days before ``latest`` up to ``latest``."""

    hint = "Left day before   Right day after   or type -3, 27 Feb, Thu and Enter"

    def __init__(self, label: str, chosen: date, latest: date, *, key: str, back: int = DAYS_BACK) -> None:
        super().__init__(label, key=key)
        self.chosen = chosen
        self.latest = latest
        self.back = back

    def shown(self) -> str:
        """The text being typed, else the day in words."""
        if self.value:
            return f"{self.value}_"
        return f"{day(self.chosen)}, {ago(self.chosen, self.latest)}"

    def on_key(self, event: events.Key) -> None:
        """Arrows step, printable keys are typed, Enter takes what was typed."""
        if passed_on(self, event):
            return
        step = {"left": -1, "right": 1}.get(event.key)
        if step:
            self.value = ""
            self.put(self.chosen + timedelta(days=step))
        elif event.key == "backspace":
            self.fault = ""
            self.value = self.value[:-1]
        elif event.key == "enter":
            self.settle(go_on=True)
        elif event.is_printable and event.character:
            self.value += event.character
        else:
            return
        event.stop()
        event.prevent_default()

    def on_blur(self) -> None:
        """Leaving the field takes what was typed."""
        self.settle(go_on=False)

    def kept_text(self) -> str:
        """The text being typed, else the day: a day left as it was is another day tomorrow."""
        return self.value or self.chosen.isoformat()

    def put_back(self, text: str, fault: str = "") -> None:
        """The day that was kept; one that no longer may be chosen stays as text and is marked."""
        self.value = text
        self.settle(go_on=False)

    def settle(self, *, go_on: bool) -> None:
        """Read the typed text; an unreadable or distant date is kept and marked."""
        if self.value:
            wanted = read_day(self.value, self.latest)
            if wanted is None:
                self.fault = f'{self.label}: "{self.value}" is no date; say -3, 27 Feb or 2026-02-27.'
                return
            if not self.put(wanted):
                return
        self.value = ""
        self.fault = ""
        if go_on:
            onward(self)

    def put(self, wanted: date) -> bool:
        """Choose a day inside the range; True when it was."""
        if wanted > self.latest:
            self.fault = f"{self.label}: {day(wanted)} lies ahead; at the latest {day(self.latest)}."
            return False
        if (self.latest - wanted).days > self.back:
            self.fault = f"{self.label}: {day(wanted)} is more than {self.back} days back."
            return False
        self.fault = ""
        self.chosen = wanted
        self.refresh(layout=True)
        self.post_message(Changed())
        return True
