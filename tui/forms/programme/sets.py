"""One exercise of the programme in a check-in: sets done, of the sets asked for."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

from textual import events

from armrise.store.record.kinds.programme import LOAD_CLASSES, DoneItem, ProgrammeItem, done_whole
from armrise.tui.forms.kit.fields import LABEL, VALUE, Changed, Field

LOAD = r"(?:\s*@\s*(b?)\s*(\d{1,3}(?:\.\d{1,2})?)\s*(?:kg)?)?"
DOSE = re.compile(r"(\d{1,2})\s*x\s*(\d{1,3})" + LOAD)
ARCS = {"f": "yes", "p": "no"}
"""Whether the whole arc was done, by the key that says it."""
WIDEST, FRAME = 100, 5
"""Columns of a form at most, and those of its frame and scroll bar."""
MOST_SETS = 20
MOST_REPS = 200


ALSO = re.compile(r"(.+?)[\s,]+([a-z]\d)(?:[\s,]+(\d{1,2})(?:\s*x\s*(\d{1,3}))?)?", re.IGNORECASE)


def also_done(text: str) -> DoneItem | None:
    """An exercise that is not on the programme, typed as "band row R1 3x10"; None when it cannot be read."""
    match = ALSO.fullmatch(text.strip())
    if match is None or match[2].upper() not in LOAD_CLASSES:
        return None
    sets, reps = (int(n) if n else None for n in (match[3], match[4]))
    if (sets or 0) > MOST_SETS or (reps or 0) > MOST_REPS:
        return None
    return DoneItem(exercise=match[1].strip(" ,")[:60], load_class=match[2].upper(), sets=sets, reps=reps)


def dose(item: ProgrammeItem) -> str:
    """The prescribed dose: "3 x 10 at 2 kg"."""
    load = f" at {item.load:f} kg" if item.load is not None else f" band {item.band}" if item.band else ""
    return f"{item.sets} x {item.reps}{load}"


class SetsField(Field):
    """Sets done of one exercise by one digit; ``r`` opens a line for another dose ("2x8@1.5").

    ``f`` and ``p`` before it say that it went through the whole arc, or through part of it.
    """

    blank = "not recorded"
    hint = (
        "0-9 sets done, and on   a all exercises as asked   r as 2x8@1.5 or 2x8@b3\n"
        "f, p before the sets: through the whole arc, part of it"
    )

    def __init__(self, item: ProgrammeItem, *, key: str) -> None:
        super().__init__(item.exercise, beside=f"sets, of {dose(item)}", key=key)
        self.item = item
        self.line: str | None = None
        self.full_arc: str | None = None

    def shown(self) -> str:
        """The line being typed, or the sets done, with the arc where it was told."""
        if self.line is not None:
            return f"{self.line}_"
        sets = f"{self.value} of {self.item.sets}" if self.value else self.blank
        said = self.value if "x" in self.value else sets
        return said + {"yes": ", whole arc", "no": ", part of the arc"}.get(self.full_arc or "", "")

    def headed(self) -> str:
        """A name too long for its column is never cut: it moves the rest, or stands on a row of its own."""
        asked = 3 + len(self.label) + VALUE + 1 + len(self.beside)
        if len(self.label) <= LABEL or asked <= min(self.screen.size.width, WIDEST) - FRAME:
            return super().headed()
        return f"{self.marker} {self.label}\n{'':{LABEL + 3}}"

    def on_key(self, event: events.Key) -> None:
        """While the dose line is open it takes every key."""
        if self.line is None or event.key in ("tab", "shift+tab", "up", "down", "escape", "f2", "ctrl+s"):
            if self.line is not None and event.key != "escape":
                self.close_line()
            super().on_key(event)
            return
        if event.key == "enter":
            self.close_line()
        elif event.key == "backspace":
            self.line = self.line[:-1]
        elif event.is_printable and event.character:
            self.line += event.character
        self.refresh(layout=True)
        self.post_message(Changed())
        event.stop()
        event.prevent_default()

    def kept_text(self) -> str:
        """The arc by its key, then the dose being typed, after an r, else what was typed before it."""
        arc = next((key for key, told in ARCS.items() if told == self.full_arc), "")
        return arc + (f"r{self.line}" if self.line is not None else self.value)

    def put_back(self, text: str, fault: str = "") -> None:
        """Hold again what was kept; a dose that was being typed is open again."""
        self.full_arc = ARCS.get(text[:1])
        text = text[1:] if self.full_arc else text
        self.line = text[1:] if text.startswith("r") else None
        super().put_back("" if self.line is not None else text, fault)
        self.refresh(layout=True)

    def forget(self) -> None:
        """Back to nothing typed, the arc too."""
        self.full_arc = None
        super().forget()

    def close_line(self) -> None:
        """Take the typed dose, or keep it and mark it."""
        text, self.line = (self.line or "").strip().lower(), None
        match = DOSE.fullmatch(text)
        if match and int(match[1]) <= MOST_SETS and int(match[2]) <= MOST_REPS:
            self.take(text.replace(" ", ""))
        elif text:
            self.take(text, f'{self.label}: "{text}" is no dose; say sets x repetitions, as 2x8 or 2x8@1.5.')

    def typed(self, character: str) -> None:
        """A digit, a, r, or the key of an arc, which its own key takes back."""
        key = character.lower()
        if key in ARCS:
            self.full_arc = None if self.full_arc == ARCS[key] else ARCS[key]
            self.refresh(layout=True)
            self.post_message(Changed())
            return
        if key == "a":
            self.screen.all_as_asked()  # type: ignore[attr-defined]
        elif key == "r":
            self.line = ""
            self.refresh(layout=True)
        elif key.isdecimal() and key.isascii():
            self.take(key)
        else:
            self.take(character, f'{self.label}: "{character}" is no number of sets.')

    def done(self) -> DoneItem:
        """What is recorded of this exercise; sets are None when nothing was typed."""
        item = self.item
        match = DOSE.fullmatch(self.value)
        sets = int(match[1]) if match else int(self.value) if self.value.isdecimal() else None
        reps = int(match[2]) if match else item.reps if sets else None
        load, band = item.load, item.band
        if match and match[4]:
            load, band = (None, int(Decimal(match[4]))) if match[3] else (Decimal(match[4]), None)
        return replace(done_whole(item), sets=sets, reps=reps, load=load, band=band, full_arc=self.full_arc)
