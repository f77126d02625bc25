"""The rows of the red-flag list: an item with its answer, an event that happened or was not mentioned."""

from __future__ import annotations

from textwrap import wrap
from typing import Any

from textual.content import Content

from armrise.store.record.kinds.head import REPORTED
from armrise.tui.forms.kit.fields import BESIDE, FAULT, GIVEN, Field
from armrise.tui.forms.kit.plan import Draft

SEVERITY = {3: "same day", 2: "urgent", 1: "soon, query"}
ITEM_WIDTH = 56
ANSWER = {"y": "yes", "n": "no", "d": "declined"}


class FlagRow(Field):
    """One item of the list: yes with a severity, no, declined, or not asked.

    Its screen has a ``rest_asked_no``, called at once: a digit typed right after is no answer of this row.
    """

    hint = "y yes  3 same day  2 urgent  1 soon   n no   d declined   a all the rest no"

    def __init__(self, item: str, severity: int | None, *, key: str) -> None:
        super().__init__(item, key=key)
        self.severity = severity

    def shown(self) -> str:
        """The answer, with the severity of a yes."""
        if self.value in ("1", "2", "3"):
            return f"yes, {SEVERITY[int(self.value)]}"
        if self.value == "y" and self.severity:
            return f"yes, {SEVERITY[self.severity]}"
        return ANSWER.get(self.value, self.blank)

    def render(self) -> Content:
        """The answer before the item, because items are long."""
        item = ("\n" + " " * 19).join(wrap(self.label, ITEM_WIDTH))
        return Content.assemble(
            f"{self.marker} ",
            (f"{self.shown():<17}", GIVEN if self.value else BESIDE),
            (item, GIVEN if self.value else ""),
            (f"\n    ! {self.fault}" if self.fault else "", FAULT),
        )

    def typed(self, character: str) -> None:
        """One key, or the rest at once."""
        key = character.lower()
        if key == "a":
            self.screen.rest_asked_no()  # type: ignore[attr-defined]
        elif key in ("y", "n", "d", "1", "2", "3"):
            self.take(key)
        else:
            self.refuse(f'"{character}" is no answer: y, n, d, or 3, 2, 1 for a yes with its urgency.')

    def draft(self) -> Draft | None:
        """The screen answer, None when not asked."""
        if not self.value:
            return None
        values: dict[str, Any] = {"item": self.label, "answer": ANSWER.get(self.value, "yes")}
        if self.value.isdecimal():
            values["severity"] = int(self.value)
        return ("screen", {"source": REPORTED, **values})


class OneRow(FlagRow):
    """One item by itself, above the fields of another form.

    It takes no digit: the first of that form is answered by one, and a hand that begins there would say "yes,
    soon" of what may be urgent today.
    """

    hint = "y yes, with its own urgency   n no   d declined   Backspace empties"

    def typed(self, character: str) -> None:
        """There is no rest to be answered at once."""
        if character.lower() == "a":
            self.fault = '"a" answers the rest of the list, and one item alone is asked here: y, n or d.'
        elif character.isdecimal():
            self.fault = f'"{character}" is no answer of this item: y, n or d.'
        else:
            super().typed(character)


class EventRow(FlagRow):
    """A new injury or instability event: happened or not mentioned."""

    hint = "y it happened   Backspace empties"
    blank = "-"

    def typed(self, character: str) -> None:
        """Only yes."""
        if character.lower() == "y":
            self.take("y")
        elif character.lower() == "a":
            self.screen.rest_asked_no()  # type: ignore[attr-defined]
        else:
            self.fault = f'"{character}" is no answer: y when it happened, else leave it.'
