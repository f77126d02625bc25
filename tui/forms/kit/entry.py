"""Any entry in a form made from its record type: one line a field, each saying what it takes."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from textual.widget import Widget

from armrise.store.clinic.case.standing import Standing
from armrise.store.record.case import KINDS
from armrise.store.record.fields import Children, Choice
from armrise.store.record.labels import label_of
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.entry_lines import FieldLine, Lines, key_of, lines_of, typed
from armrise.tui.forms.kit.entry_text import (
    COMMON,
    Read,
    TextField,
    first_texts,
    form_fields,
    read_texts,
)
from armrise.tui.forms.kit.plan import Plan, sentence
from armrise.tui.shell.door import Door

PLACING = ("placing",)
"""A step forward or back goes through its own screen, which asks the criteria; this form only places."""

NEVER_EMPTY = ("orders", "session", "background", "home loads", "patient details")
"""Kinds of which no field is needed and an empty entry would still say something: orders without a limit
would answer the question for the surgeon's orders."""

MISSING = "is missing"
"""How the refusal of an empty field begins."""


class EntryForm(FormScreen):
    """The generated lines of one kind, and what they say; recording and correcting are built on it."""

    kind = ""

    def __init__(self, door: Door, standing: Standing, kind: str, texts: Mapping[str, str]) -> None:
        super().__init__(door, standing)
        self.kind = kind
        self.first = dict(texts)

    def specs(self) -> tuple[TextField, ...]:
        """The fields of the form."""
        return form_fields(self.kind)

    def lines(self) -> Lines:
        """All of them, to be put in the form."""
        return Lines(*lines_of(self.specs(), self.first, self.door.today), id="entry-lines")

    def typed(self) -> dict[str, str]:
        """What stands in the fields now."""
        return typed(self.query_one("#entry-lines"))

    def stated(self) -> Read:
        """What the fields say, or their faults."""
        return read_texts(self.kind, self.typed(), self.door.today, self.door.rules, self.specs())

    def incomplete(self, faults: Mapping[str, str]) -> str:
        """What is still needed before there is something to write, in one sentence."""
        missing = [label_of(name) for name, words in faults.items() if MISSING in words]
        wrong = [words for words in faults.values() if MISSING not in words]
        if wrong:
            return f"Nothing to write yet: {wrong[0]}"
        return f"Nothing to write yet, still needed: {', '.join(missing)}."

    def at_lines(self, faults: Mapping[str, str]) -> dict[str, str]:
        """The faults by the id of the line they belong to."""
        lists = {one.name for one in self.specs() if isinstance(one.rule, Children)}
        known = {one.name for one in self.specs()}
        return {
            key_of(name, 1 if name in lists else 0): words for name, words in faults.items() if name in known
        }

    def refused(self, error: Exception) -> None:
        """Put the store's refusal at the field it is about, too."""
        super().refused(error)
        at = {fault.field.split(" ")[0]: sentence(error) for fault in getattr(error, "faults", ())[:1]}
        self.mark({key: words for key, words in self.at_lines(at).items() if self.query(f"#{key}")})


class EntryScreen(EntryForm):
    """Records one entry of any kind."""

    write_label = "Write this entry"

    def __init__(self, door: Door, standing: Standing, kind: str) -> None:
        super().__init__(door, standing, kind, first_texts(kind, door.today))

    @classmethod
    def again(cls, door: Door, standing: Standing, about: str) -> EntryScreen:
        """The form of the same kind."""
        return cls(door, standing, about)

    def kept_as(self) -> str:
        """Each kind has a form of its own."""
        return f"{type(self).__name__}:{self.kind}"

    @property
    def heading(self) -> str:  # type: ignore[override]
        """What is recorded."""
        return f"Record: {self.kind}"

    def lead(self) -> str:
        """What the kind is, as its record type says; a star marks what is needed."""
        told = (KINDS[self.kind].__doc__ or "").split("\n\n")[0]
        said = " ".join(re.sub(r"``(\w+)``", lambda m: f'"{label_of(m[1])}"', told).split())
        return f"{said}\n* is needed; any other field may stay empty and is then left out."

    def specs(self) -> tuple[TextField, ...]:
        """A step only places here."""
        fields = super().specs()
        if self.kind != "step":
            return fields
        return tuple(replace(f, rule=Choice(PLACING)) if f.name == "direction" else f for f in fields)

    def rows(self) -> Iterable[Widget]:
        """One line a field."""
        yield self.lines()

    def arrived(self, record: Any) -> None:
        """Start in the first field of the entry itself: the day is today already."""
        own = [line for line in self.query(FieldLine) if line.spec.name != "on"]
        if self.focused is None or self.focused in self.query_one(f"#{key_of('on')}").query("*"):
            own[0].focus()

    def own_texts(self) -> list[str]:
        """What stands in the fields of the kind itself, without the day and where it comes from."""
        common = {one.name for one in COMMON}
        return [text for name, text in self.typed().items() if name not in common]

    def plan(self) -> Plan:
        """The one entry, in words."""
        if self.record is None:
            return Plan(nothing="Reading the case ...")
        read = self.stated()
        if read.values is None:
            return Plan(faults=self.at_lines(read.faults), nothing=self.incomplete(read.faults))
        if self.kind in NEVER_EMPTY and not any(self.own_texts()):
            return Plan()
        return Plan([(self.kind, read.values)])
