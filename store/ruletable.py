"""One table of a rule file, read key by key so that nothing in it goes unread or unchecked."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any, NoReturn, TypeVar, cast

from store.clinic.pathway import STATUSES, Figure

Default = TypeVar("Default")
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


class Table:
    """A table at ``where`` in ``file``. Take every key that is known, then :meth:`done` refuses the rest.

    All readers raise :class:`RuleFileError` for a missing key, a wrong type or a value out of range.
    """

    def __init__(self, data: Any, file: str, where: str = "") -> None:
        self.file, self.where = file, where
        if not isinstance(data, dict):
            self.refuse("", f"is {shown(data)}, allowed is a table of named values")
        self.data = cast(dict[str, Any], data)
        self.known: set[str] = set()

    def refuse(self, key: str, fault: str) -> NoReturn:
        """Raises the sentence "file, place, key: fault."."""
        place = ", ".join(part for part in (self.file, self.where, key) if part)
        raise RuleFileError(f"{place}: {fault}.")

    def has(self, key: str) -> bool:
        """Whether the file states ``key``; the key is known from now on."""
        self.known.add(key)
        return key in self.data

    def take(self, key: str, allowed: str) -> Any:
        """The raw value of a key that has to be there."""
        if not self.has(key):
            self.refuse(key, f"is missing, needed is {allowed}")
        return self.data[key]

    def done(self) -> None:
        """Refuses a key that nobody asked for: it would have no effect, and the reader would think it has."""
        for key in self.data:
            if key not in self.known:
                self.refuse(key, f"is not known here, allowed are {listed(sorted(self.known))}")

    def words(self, key: str, longest: int = 200, *, empty: bool = False) -> str:
        """Text on one line."""
        allowed = f"text of {0 if empty else 1} to {longest} characters on one line"
        value = self.take(key, allowed)
        if not isinstance(value, str) or not value.isprintable() or len(value) > longest:
            self.refuse(key, f"is {shown(value)}, allowed is {allowed}")
        if not empty and not value.strip():
            self.refuse(key, f"is empty, needed is {allowed}")
        return value

    def choice(self, key: str, offered: Iterable[str]) -> str:
        """One of a closed list of words."""
        offered = tuple(offered)
        value = self.take(key, one_of(offered, ""))
        if value not in offered:
            self.refuse(key, f"is {shown(value)}, allowed is {one_of(offered, value)}")
        return value

    def maybe_choice(self, key: str, offered: Iterable[str], default: Default) -> str | Default:
        """As :meth:`choice`, or ``default`` when left out."""
        return self.choice(key, offered) if self.has(key) else default

    def items(self, key: str) -> list[Any]:
        """A list, empty when left out."""
        if not self.has(key):
            return []
        value = self.data[key]
        if not isinstance(value, list):
            self.refuse(key, f"is {shown(value)}, allowed is a list in square brackets")
        return cast(list[Any], value)

    def choices(self, key: str, offered: Iterable[str]) -> tuple[str, ...]:
        """A list of words of a closed list, in the file's order; empty when left out."""
        offered = tuple(offered)
        for item in self.items(key):
            if item not in offered:
                self.refuse(key, f"holds {shown(item)}, allowed is {one_of(offered, item)}")
        return tuple(self.items(key))

    def lines(self, key: str) -> tuple[str, ...]:
        """A list of one-line texts; empty when left out."""
        for item in self.items(key):
            if not isinstance(item, str) or not item.strip() or not item.isprintable():
                self.refuse(key, f"holds {shown(item)}, allowed are texts on one line")
        return tuple(self.items(key))

    def yes(self, key: str) -> bool:
        """true or false; false when left out."""
        value = self.data[key] if self.has(key) else False
        if not isinstance(value, bool):
            self.refuse(key, f"is {shown(value)}, allowed is true or false")
        return value

    def number(self, key: str, within: Range, *, whole: bool = True) -> Decimal:
        """A number inside a closed range."""
        low, high = within
        allowed = f"a {'whole ' if whole else ''}number from {low} to {high}"
        value = self.take(key, allowed)
        right = not isinstance(value, bool) and isinstance(value, int | Decimal)
        figure = Decimal(value) if right else Decimal("NaN")
        if not figure.is_finite() or not low <= figure <= high or (whole and figure % 1):
            self.refuse(key, f"is {shown(value)}, allowed is {allowed}")
        return figure

    def maybe_number(self, key: str, within: Range, *, whole: bool = True) -> Decimal | None:
        """As :meth:`number`, or None when left out."""
        return self.number(key, within, whole=whole) if self.has(key) else None

    def count(self, key: str, low: int, high: int) -> int | None:
        """A whole number, or None when left out."""
        value = self.maybe_number(key, (low, high))
        return None if value is None else int(value)

    def table(self, key: str) -> Table:
        """A table inside this one."""
        value = self.take(key, "a table of named values")
        return Table(value, self.file, ", ".join(part for part in (self.where, key) if part))

    def tables(self, key: str, name: str) -> list[Table]:
        """A list of tables; each stands at "name 1", "name 2" ... in messages."""
        places = (", ".join(part for part in (self.where, f"{name} {n}") if part) for n in range(1, 1000))
        return [Table(item, self.file, place) for item, place in zip(self.items(key), places, strict=False)]

    def source(self) -> tuple[str, str]:
        """Where a number comes from, and how far it may be trusted."""
        return self.words("source"), self.choice("status", STATUSES)

    def figure(self, key: str, unit: str, within: Range | None = None, *, whole: bool = True) -> Figure:
        """A number under the name of its unit, with source and status."""
        inner = self.table(key)
        value = inner.number(unit, within or UNITS[unit], whole=whole)
        figure = Figure(value, *inner.source())
        inner.done()
        return figure

    def maybe_figure(
        self, key: str, unit: str, within: Range | None = None, *, whole: bool = True
    ) -> Figure | None:
        """As :meth:`figure`, or None when left out."""
        return self.figure(key, unit, within, whole=whole) if self.has(key) else None
