"""One table of a rule file, read key by key so that nothing in it goes unread or unchecked."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from typing import Any, NoReturn, TypeVar, cast

from armrise.store.rules.figure import STATUSES, Figure

Part = TypeVar("Part")
Found = TypeVar("Found")
Range = tuple[int | Decimal, int | Decimal]

UNITS: dict[str, Range] = {
    "days": (0, 3660),
    "points": (0, 10),
    "percent": (0, 100),
    "degrees": (0, 180),
    "nights": (0, 7),
    "seconds": (5, 86400),
    "years": (0, 120),
    "value": (0, 1000),
}
"""The names a number is written under, which are its units, with the least and the most allowed."""


WIDEST = 10000
"""The ends of a scale lie within this, either side of 0."""


class RuleFileError(Exception):
    """A rule file is refused. The message is one sentence naming file, place and field."""


def shown(value: Any) -> str:
    """A value as it may be printed inside a sentence: short, on one line."""
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, bool):
        return str(value).lower()
    text = repr(value) if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + "..."


def shown_key(key: str) -> str:
    """A key as it may be printed inside a sentence: any text may be one."""
    return key if key.isprintable() and 0 < len(key) <= 60 else shown(key)


def listed(words: Iterable[str]) -> str:
    """Words separated by commas, or "nothing"."""
    return ", ".join(words) or "nothing"


def one_of(offered: Sequence[str], value: Any) -> str:
    """ "one of" the words offered; of a long list only those nearest to what was written."""
    if len(offered) <= 20:
        return f"one of {listed(offered)}"
    from difflib import get_close_matches  # only a refusal pays for it

    near = get_close_matches(str(value), offered, 3, 0.4)
    return f"one of {len(offered)} words, such as {listed(near or offered[:3])}"


class Faults:
    """What is wrong with the rule files: the first fault raised, or with ``keep`` all kept in ``found``."""

    def __init__(self, *, keep: bool = False) -> None:
        self.keep = keep
        self.found: list[str] = []

    def say(self, sentence: str) -> None:
        """One fault."""
        if not self.keep:
            raise RuleFileError(sentence)
        if sentence not in self.found:
            self.found.append(sentence)


class Table:
    """A table at ``where`` in ``file``. Take every key that is known, then :meth:`done` refuses the rest.

    All readers raise :class:`RuleFileError` for a missing key, a wrong type or a value out of range. Where
    the faults are kept instead, they give something harmless and note the key in ``faulty``, so that reading
    goes on and nothing is said of a value that was not read. A ``silent`` table stands for a missing one.
    """

    def __init__(
        self, data: Any, file: str, where: str = "", faults: Faults | None = None, *, silent: bool = False
    ) -> None:
        self.file, self.where, self.silent = file, where, silent
        self.faults = faults or Faults()
        self.known: set[str] = set()
        self.faulty: set[str] = set()
        if not isinstance(data, dict):
            self.fault("", f"is {shown(data)}, allowed is a table of named values")
            data, self.silent = {}, True
        self.data = cast(dict[str, Any], data)

    def fault(self, key: str, fault: str) -> None:
        """Says "file, place, key: fault.". Returns only where the faults are kept."""
        self.faulty.add(key)
        if not self.silent:
            place = ", ".join(part for part in (self.file, self.where, key) if part)
            self.faults.say(f"{place}: {fault}.")

    def refuse(self, key: str, fault: str) -> NoReturn:
        """Says a fault after which this table cannot be read any further."""
        self.fault(key, fault)
        self.give_up()

    def give_up(self) -> NoReturn:
        """Leaves this table; what is wrong has been said."""
        raise RuleFileError(f"{self.file}, {self.where}: cannot be read.")

    def spoiled(self, *keys: str) -> bool:
        """True when one of these keys, or the whole table, was not read."""
        return self.silent or not self.faulty.isdisjoint(keys)

    def gather(self, parts: Iterable[Part], read: Callable[[Part], Found]) -> list[Found]:
        """What each part gives; where faults are kept, without the parts that cannot be read."""
        found: list[Found] = []
        for part in parts:
            try:
                found.append(read(part))
            except RuleFileError:
                if not self.faults.keep:
                    raise
        return found

    def has(self, key: str) -> bool:
        """Whether the file states ``key``; the key is known from now on."""
        self.known.add(key)
        return key in self.data

    def lacks(self, key: str, allowed: str) -> bool:
        """Whether a key that has to be there is missing, which is a fault."""
        if self.has(key):
            return False
        self.fault(key, f"is missing, needed is {allowed}")
        return True

    def done(self) -> None:
        """Refuses a key that nobody asked for: it would have no effect, and the reader would think it has."""
        for key in self.data:
            if key not in self.known:
                self.fault(shown_key(key), f"is not known here, allowed are {listed(sorted(self.known))}")

    def words(self, key: str, longest: int = 200, *, empty: bool = False) -> str:
        """Text on one line."""
        said = self.data.get(key)
        if isinstance(said, str) and len(said) <= longest and said.isprintable() and (empty or said.strip()):
            self.known.add(key)
            return said
        allowed = f"text of {0 if empty else 1} to {longest} characters on one line"
        if self.lacks(key, allowed):
            return ""
        value = self.data[key]
        if not isinstance(value, str) or not value.isprintable() or len(value) > longest:
            self.fault(key, f"is {shown(value)}, allowed is {allowed}")
            return ""
        if not empty and not value.strip():
            self.fault(key, f"is empty, needed is {allowed}")
        return value

    def choice(self, key: str, offered: Iterable[str]) -> str:
        """One of a closed list of words."""
        offered = tuple(offered)
        if not self.has(key):
            self.fault(key, f"is missing, needed is {one_of(offered, '')}")
            return next(iter(offered), "")
        value = self.data[key]
        if value not in offered:
            self.fault(key, f"is {shown(value)}, allowed is {one_of(offered, value)}")
            return next(iter(offered), "")
        return value

    def items(self, key: str) -> list[Any]:
        """A list, empty when left out."""
        if not self.has(key):
            return []
        value = self.data[key]
        if not isinstance(value, list):
            self.fault(key, f"is {shown(value)}, allowed is a list in square brackets")
            return []
        return cast(list[Any], value)

    def choices(self, key: str, offered: Iterable[str]) -> tuple[str, ...]:
        """A list of words of a closed list, in the file's order; empty when left out."""
        offered = tuple(offered)
        items = self.items(key)
        for item in items:
            if item not in offered:
                self.fault(key, f"holds {shown(item)}, allowed is {one_of(offered, item)}")
        return tuple(item for item in items if item in offered)

    def lines(self, key: str) -> tuple[str, ...]:
        """A list of one-line texts; empty when left out."""
        found: list[str] = []
        for item in self.items(key):
            if not isinstance(item, str) or not item.strip() or not item.isprintable():
                self.fault(key, f"holds {shown(item)}, allowed are texts on one line")
            else:
                found.append(item)
        return tuple(found)

    def yes(self, key: str) -> bool:
        """true or false; false when left out."""
        value = self.data[key] if self.has(key) else False
        if not isinstance(value, bool):
            self.fault(key, f"is {shown(value)}, allowed is true or false")
            return False
        return value

    def number(self, key: str, within: Range, *, whole: bool = True) -> Decimal:
        """A number inside a closed range."""
        low, high = within
        said = self.data.get(key)
        if type(said) is int and low <= said <= high:
            self.known.add(key)
            return Decimal(said)
        allowed = f"a {'whole ' if whole else ''}number from {low} to {high}"
        if self.lacks(key, allowed):
            return Decimal(low)
        value = self.data[key]
        right = not isinstance(value, bool) and isinstance(value, int | Decimal)
        figure = Decimal(value) if right else Decimal("NaN")
        if not figure.is_finite() or not low <= figure <= high or (whole and figure % 1):
            self.fault(key, f"is {shown(value)}, allowed is {allowed}")
            return Decimal(low)
        return figure

    def table(self, key: str) -> Table:
        """A table inside this one."""
        where = ", ".join(part for part in (self.where, key) if part)
        missing = self.lacks(key, "a table of named values")
        return Table(
            {} if missing else self.data[key], self.file, where, self.faults, silent=missing or self.silent
        )

    def tables(self, key: str, name: str) -> list[Table]:
        """A list of tables; each stands at "name 1", "name 2" ... in messages."""
        places = (", ".join(part for part in (self.where, f"{name} {n}") if part) for n in range(1, 1000))
        return [
            Table(item, self.file, place, self.faults)
            for item, place in zip(self.items(key), places, strict=False)
        ]

    def source(self) -> tuple[str, str]:
        """Where a number comes from, and how far it may be trusted."""
        return self.words("source"), self.choice("status", STATUSES)

    def figure(self, key: str, unit: str, within: Range | None = None, *, whole: bool = True) -> Figure:
        """A number under the name of its unit, with source and status."""
        inner = self.table(key)
        value = inner.number(unit, within or UNITS[unit], whole=whole)
        figure = Figure(value, *inner.source())
        inner.done()
        if inner.silent or inner.faulty:
            self.faulty.add(key)
        return figure

    def maybe_figure(
        self, key: str, unit: str, within: Range | None = None, *, whole: bool = True
    ) -> Figure | None:
        """As :meth:`figure`, or None when left out."""
        figure = self.figure(key, unit, within, whole=whole) if self.has(key) else None
        return None if key in self.faulty else figure
