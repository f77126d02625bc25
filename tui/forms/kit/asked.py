"""One field of a form, made from the record's rule for what it states: its choices, its length, its dates."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import MISSING, fields
from datetime import date

from textual.widget import Widget

from armrise.store.record.fields import Choice, Day, Flag, Rule, Words, rule_of
from armrise.store.record.kinds.head import CODE_LONGEST, Entry
from armrise.store.record.kinds.plan import Override
from armrise.store.record.light import NamedTuple
from armrise.tui.forms.kit.dayfield import DAYS_BACK, DayField
from armrise.tui.forms.kit.fields import Field, Pick, YesNo
from armrise.tui.forms.kit.line import Line
from armrise.tui.widgets.static import Static

TYPED = 20
"""Characters of a date or a number as it is typed."""

WHO = ("named", "surgeon")
"""Texts that name somebody on purpose: who agreed to a hold, whose orders these are."""


class Ask(NamedTuple):
    """What a form asks for one field of a record type. What the field may hold is not said here."""

    name: str
    label: str = ""
    """The field in words, where its name alone says too little."""
    of: type[Entry] | None = None
    """The record type, where it is not that of the form."""
    key: str = ""
    """The name of the field on the screen and in what is kept unwritten, where two share a name."""
    rule: Rule | None = None
    """A rule of the form's own: what is asked is then no field of an entry by itself."""
    without: tuple[str, ...] = ()
    """Words of a closed list that are not offered here."""
    value: str = ""
    """What it begins with. Said by the form alone: a default of the record is no answer of a clinician."""
    beside: str = ""
    blank: str = ""
    """What stands there while nothing is typed."""
    back: int = DAYS_BACK
    """How many days a past day may lie back."""
    needed: bool = False
    """True where the form asks for an answer that the record could do without."""
    lacking: str = ""
    """What is said when it is needed and empty, where the length alone says too little."""
    later: bool = False
    """True for what is asked only once something else is known."""

    @property
    def id(self) -> str:
        """The name of the field on the screen."""
        return self.key or self.name

    @property
    def words(self) -> str:
        """The field in words."""
        return self.label or self.name.replace("_", " ")

    def rule_in(self, kind: type[Entry]) -> Rule:
        """What it may hold; the day of an entry is a past one in every kind."""
        if self.rule is not None:
            return self.rule
        rule = Day() if self.name == "on" else rule_of(self.of or kind, self.name)
        if self.without and isinstance(rule, Choice):
            return Choice(tuple(word for word in rule.words if word not in self.without))
        return rule

    def whole(self, kind: type[Entry]) -> tuple[str, ...]:
        """The closed list it is chosen from, the words not offered here included: their keys stay free."""
        rule = self._replace(without=()).rule_in(kind)
        return tuple(filter(None, rule.words)) if isinstance(rule, Choice) else ()

    def needed_in(self, kind: type[Entry]) -> bool:
        """True where an answer is needed: the form says so, or every entry of the kind states the field."""
        if self.needed or self.rule is not None:
            return self.needed
        declared = {one.name: one for one in fields(self.of or kind)}
        return declared[self.name].default is MISSING


def field_for(ask: Ask, kind: type[Entry], today: date, value: str = "") -> Field | Line:
    """The field of a form that asks ``ask``, beginning with ``value``."""
    rule, label, key = ask.rule_in(kind), ask.words, ask.id
    row: Field | Line
    match rule:
        case Choice():
            whole = ask.whole(kind) if ask.without else ()
            row = Pick(label, rule.words, of=whole, flow=True, key=key, value=value, beside=ask.beside)
        case Flag():
            row = YesNo(label, key=key, value=value, beside=ask.beside)
        case Day(future=False):
            row = DayField(label, today, today, key=key, back=ask.back)
        case _:
            row = Line(label, key=key, value=value, beside=ask.beside, longest=longest(rule))
            row.warns = isinstance(rule, Words) and ask.name not in WHO
    if ask.blank and isinstance(row, Field):
        row.blank = ask.blank
    row.display = not ask.later
    return row


def override_fields(today: date) -> Iterator[Widget]:
    """What an override needs: why it is one, its category and reason, and the code of the case."""
    yield Static("", id="needs", markup=False)
    yield field_for(Ask("category"), Override, today)
    yield field_for(Ask("reason"), Override, today)
    yield Line("type the case code", key="code", longest=CODE_LONGEST)


def longest(rule: Rule) -> int:
    """How many characters a line takes: those of a text of the record, else those of a date or a number."""
    return rule.longest if isinstance(rule, Words) else TYPED


def choices(of: type, name: str) -> tuple[str, ...]:
    """The closed list of a field of the record."""
    rule: Choice = rule_of(of, name)
    return rule.words
