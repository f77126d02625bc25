"""What the keys of a rule file may hold, said once beside the field that keeps what is read.

A record of the rules carries a :class:`Key` beside each field: what the file may say, how it is called where
the rules are shown, and what it has to agree with. Reading, ``rules show`` and ``rules diff`` follow from it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import MISSING, field, fields
from functools import cache
from typing import Any, TypeVar

from armrise.store.record.light import NamedTuple
from armrise.store.rules.figure import STATUSES, Figure
from armrise.store.rules.table import Range, Table

MOST_DAYS = 3660
Record = TypeVar("Record")


class Amount(NamedTuple):
    """A number under the name of its unit, with source and status; ``within`` is narrower than the unit."""

    unit: str
    within: Range | None = None


class Count(NamedTuple):
    """A whole number without a source of its own."""

    low: int
    high: int


class Text(NamedTuple):
    """Text on one line."""

    longest: int = 200


class Texts(NamedTuple):
    """A list of texts on one line, a row each."""


class OneOf(NamedTuple):
    """One word of a closed list, or of the list of this name that the files themselves make."""

    words: Sequence[str]


class Several(NamedTuple):
    """Any words of such a list."""

    words: Sequence[str]


class Yes(NamedTuple):
    """true or false."""


class Answers(NamedTuple):
    """A table of some of these names, each yes or no."""

    names: Sequence[str]


class Inner(NamedTuple):
    """A table that is a record of its own."""

    of: type[Any]


class Apart(NamedTuple):
    """Read by a function of its own, which hands it to :func:`read`."""


class Key(NamedTuple):
    """A key of a rule file. ``name`` and ``meaning`` are its words where the rules are shown."""

    rule: Amount | Count | Text | Texts | OneOf | Several | Yes | Answers | Inner | Apart
    name: str = ""
    """Without one it has no row of its own."""
    meaning: str = ""
    key: str = ""
    """As the file calls it, where the field is called otherwise."""
    at_most: str = ""
    """The field whose number it may not exceed."""
    beside: tuple[str, ...] = ()
    """Fields that are stated with it, all or none."""
    from_onset: bool = False
    """It counts from surgery or injury, so the pathway needs a clock."""
    needed: bool = True
    default: Any = None


def must(*said: Any, default: Any = MISSING, **more: Any) -> Any:
    """A field that the file states wherever it is read; what is said of it makes its :class:`Key`."""
    return field(default=default, metadata={"key": Key(*said, **more)})


def may(*said: Any, default: Any = None, **more: Any) -> Any:
    """A field that may be left out; ``default`` is then what the record holds."""
    return field(default=default, metadata={"key": Key(*said, **more, needed=False, default=default)})


SOURCE, STATUS = Text(), OneOf(STATUSES)
"""Where a statement that is no number comes from, and how far it may be trusted."""


@cache
def keys(kind: type) -> Mapping[str, Key]:
    """The keys of a record of the rules, by field."""
    found: dict[str, Key] = {}
    for one in fields(kind):
        key: Key | None = one.metadata.get("key")
        if key is not None:
            found[one.name] = key._replace(key=key.key or one.name)
    return found


class Around(NamedTuple):
    """What a key is read by beyond its own table: the lists the files make, and whether a clock is stated."""

    lists: Mapping[str, Sequence[str]] = {}
    clocked: bool = True


NOTHING_AROUND = Around()


def read(table: Table, kind: type[Record], around: Around = NOTHING_AROUND, **taken: Any) -> Record:
    """The record ``kind`` of a table, whose every other key is refused; ``taken`` was read before."""
    values = {name: take(table, key, around) for name, key in keys(kind).items() if name not in taken}
    table.done()
    found = kind(**values, **taken)
    _agree(table, kind, found, around)
    return found


def take(table: Table, key: Key, around: Around = NOTHING_AROUND) -> Any:
    """What the table says under one key, or what stands for it where it may be left out."""
    name = key.key
    if not key.needed and name not in table.data:
        table.known.add(name)
        return key.default
    match key.rule:
        case Amount(unit, within):
            figure = table.figure(name, unit, within)
            return figure if key.needed or name not in table.faulty else None
        case Count(low, high):
            return int(table.number(name, (low, high)))
        case Text(longest):
            return table.words(name, longest)
        case Texts():
            return table.lines(name)
        case OneOf(words):
            return table.choice(name, _offered(words, around))
        case Several(words):
            return table.choices(name, _offered(words, around))
        case Yes():
            table.lacks(name, "true or false")
            return table.yes(name)
        case Answers() as asked:
            inner = table.table(name)
            named = tuple((one, inner.choice(one, ("yes", "no"))) for one in asked.names if inner.has(one))
            inner.done()
            return named
        case Inner(of):
            return read(table.table(name), of, around)
        case Apart():
            raise TypeError(f"{name} is read by a function of its own")


def _offered(words: Sequence[str], around: Around) -> Sequence[str]:
    return around.lists[words] if isinstance(words, str) else words


@cache
def _agreeing(kind: type) -> Mapping[str, Key]:
    """The keys of a record that have something to agree with."""
    said = keys(kind).items()
    return {name: key for name, key in said if key.from_onset or key.at_most or key.beside}


def _agree(table: Table, kind: type, found: object, around: Around) -> None:
    """What the keys of one record say of each other."""
    known = keys(kind)
    for name, key in _agreeing(kind).items():
        value = getattr(found, name)
        if value and key.from_onset and not around.clocked and not table.spoiled(key.key):
            table.fault(key.key, "counts from surgery or injury, and the file states no clock")
        if key.at_most:
            large = known[key.at_most].key
            _in_order(table, key.key, value, large, getattr(found, key.at_most))
        if key.beside:
            stated = {getattr(found, other) is None for other in (name, *key.beside)}
            others = [known[other].key for other in key.beside]
            if len(stated) == 2 and not table.spoiled(key.key, *others):
                both = f"and {others[0]} belong together, needed are both or neither"
                every = f"needs {' and '.join(others)} beside it, all or none"
                table.fault(key.key, both if len(others) == 1 else every)


def _in_order(table: Table, small: str, low: Figure | None, large: str, high: Figure | None) -> None:
    """Refuses a number above the one that stands for its most."""
    if low and high and low.value > high.value and not table.spoiled(small, large):
        table.fault(small, f"is {low.value}, allowed is at most {large}, which is {high.value}")
