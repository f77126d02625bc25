"""What is typed in a form and not written: kept beside the typing, offered when the form is opened again."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime
from threading import Lock
from typing import Any

from textual.screen import Screen

from armrise.store.record.case import CaseRecord
from armrise.store.record.light import NamedTuple
from armrise.store.record.words import time_words
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.fields import Field, Write
from armrise.tui.forms.kit.line import Line
from armrise.tui.shell.door import Door, every_entry
from armrise.tui.words.entries import day

FAULT, EMPTIED, EARLIER = "!", "=", "earlier forms"
"""Marks after the name of a field: its fault; that it was emptied. And the name of what was left before."""

Fields = dict[str, str]


class Left(NamedTuple):
    """One form that was left: when it was last typed in, and its texts by the names of the fields."""

    at: datetime
    fields: Fields


def unpack(at: datetime, fields: Fields) -> list[Left]:
    """A kept draft, and those it was typed beside, the newest first."""
    own = {name: text for name, text in fields.items() if name != EARLIER}
    earlier = json.loads(fields.get(EARLIER, "[]"))
    newest = [Left(at, own)] if own else []
    return [*newest, *(Left(datetime.fromisoformat(when), texts) for when, texts in earlier)]


def pack(typed: Fields, earlier: Sequence[Left]) -> Fields:
    """What is typed now, with what was left before and is neither brought back nor forgotten."""
    if not earlier:
        return typed
    return {**typed, EARLIER: json.dumps([(left.at.isoformat(), left.fields) for left in earlier])}


def fields_of(screen: Screen[Any]) -> dict[str, Field | Line]:
    """The fields of a form by their names; a query would match a selector with every widget."""
    found = [*screen.walk_children(Field), *screen.walk_children(Line)]
    return {field.id: field for field in found if field.id and not isinstance(field, Write)}


def texts_of(screen: Screen[Any]) -> Fields:
    """What each field holds now."""
    return {name: field.kept_text() for name, field in fields_of(screen).items()}


def typed_in(screen: Screen[Any], first: Fields) -> Fields:
    """What was typed: texts that differ from ``first``, faults, and then every day of the form too.

    A day is kept although nobody changed it: "yesterday" would be another day when the form is brought back.
    """
    fields = fields_of(screen)
    typed: Fields = {}
    for name, field in fields.items():
        text = field.kept_text()
        if text != first.get(name, ""):
            typed[name if text else name + EMPTIED] = text or "emptied"
            if field.fault:
                typed[name + FAULT] = field.fault
    if typed:
        typed |= {name: f.kept_text() for name, f in fields.items() if isinstance(f, DayField)}
    return typed


def put_back(screen: Screen[Any], kept: Fields) -> Fields:
    """Put kept texts into their fields; what has no field on the screen (yet) is returned."""
    fields = fields_of(screen)
    names = {name for name in kept if not name.endswith(FAULT)}
    rest: Fields = {}
    for name in sorted(
        names, key=lambda n: not isinstance(fields.get(n), DayField)
    ):  # a day asks other fields
        emptied = name.endswith(EMPTIED)
        field = fields.get(name.removesuffix(EMPTIED))
        fault = kept.get(name + FAULT, "")
        if field is None:
            rest |= {name: kept[name]} | ({name + FAULT: fault} if fault else {})
        else:
            field.put_back("" if emptied else kept[name], fault)
    return rest


def offer(left: Left, now: datetime, record: CaseRecord | None, author: str) -> str:
    """The line that says what waits, and what may have become of it since."""
    keys = "F5 brings it back, F6 forgets it"
    when = f"{day(left.at.date(), year=left.at.year != now.year)} {time_words(left.at)}: {keys}."
    if record and any(e.author == author and e.recorded_at >= left.at for e in every_entry(record)):
        return f"Typed {when} You have written about this case since: look first whether this is in it."
    aged = " It is of an earlier day: look at its dates." if left.at.date() != now.date() else ""
    return f"Not written, typed {when}{aged}"


class Keeper:
    """Keeps and drops the draft of one form, in order, from whichever thread; once over, keeps no more."""

    def __init__(self, door: Door, code: str, form: str) -> None:
        self.door = door
        self.code = code
        self.form = form
        self._lock = Lock()
        self._asked = 0
        self._done = 0
        self._over = False

    def ticket(self) -> int:
        """A number for the next keeping: one that comes late does not overwrite a newer one."""
        self._asked += 1
        return self._asked

    def keep(self, ticket: int, fields: Fields, at: datetime | None = None) -> None:
        """Keep what is typed. Raises a store error in one sentence."""
        with self._lock:
            if not self._over and ticket > self._done:
                self.door.keep_unwritten(self.code, self.form, fields, at)
                self._done = ticket

    def end(self, earlier: Sequence[Left] = (), *, held: bool = True) -> None:
        """Written, or left on purpose: drop the draft; what was left before and is undecided still waits.

        ``held`` False: none was kept before this form was opened. A keeping under way comes too late.
        """
        with self._lock:
            if self._over:
                return
            self._over = True
            if not (held or self._done):
                return
            if earlier:
                first, *rest = earlier
                self.door.keep_unwritten(self.code, self.form, pack(first.fields, rest), first.at)
            else:
                self.door.forget_unwritten(self.code, self.form)
