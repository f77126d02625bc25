"""The measurements of a whole history by name, and by side where one is asked for: sorted out once."""

from __future__ import annotations

from bisect import bisect_right
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from armrise.store.clinic.case.view import History
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.measured import Measure


def number(measure: Measure) -> Decimal:
    """The value of a real measurement in its own unit; an absence has none and is a mistake to ask for."""
    if isinstance(measure.value, Absence):
        raise ValueError(f"{measure.name} was {measure.value}, it has no number")
    return measure.value


class Dated(NamedTuple):
    """Measurements of one name and side, oldest first, with their dates."""

    measures: list[Measure]
    dates: list[date]

    def upto(self, day: date) -> list[Measure]:
        """Those that had happened by ``day``."""
        return self.measures[: bisect_right(self.dates, day)]

    @classmethod
    def of(cls, measures: list[Measure]) -> Dated:
        return cls(measures, [measure.on for measure in measures])


class _Measured:
    """The measurements of one history. One that names no side is of the affected one."""

    def __init__(self, history: History) -> None:
        self._own = history.record.side
        self._by_name: dict[str, list[Measure]] = {}
        self._every: dict[tuple[str, str | None], Dated] = {}
        self.real: dict[tuple[str, str | None], Dated] = {}
        by_name = self._by_name
        for measure in history.ordered("measures")[0]:
            name = measure.name
            if name in by_name:
                by_name[name].append(measure)
            else:
                by_name[name] = [measure]

    def every(self, key: tuple[str, str | None]) -> Dated:
        """Every entry of one name and side (None: the affected, "": either), absences too."""
        if key not in self._every:
            name, side = key
            named, wanted = self._by_name.get(name, []), self._own if side is None else side
            found = [m for m in named if (m.side or self._own) == wanted] if wanted else named
            self._every[key] = Dated.of(found)
        return self._every[key]

    def sort_out(self, key: tuple[str, str | None]) -> Dated:
        """Those of them that were measured: no absence, no repeated value."""
        found = self.real[key] = Dated.of([m for m in self.every(key).measures if m.real])
        return found


def _measured(history: History) -> _Measured:
    found: _Measured | None = history.memo.get(_Measured)
    if found is None:
        found = history.memo[_Measured] = _Measured(history)
    return found


def every_one(history: History, name: str, side: str | None = None) -> Dated:
    """Every entry of ``name`` on one side (None: the affected) over the whole history."""
    return _measured(history).every((name, side))


def every_real(history: History, name: str, side: str | None = None) -> Dated:
    """Those of them that were measured: no absence, no repeated value."""
    measured, key = _measured(history), (name, side)
    return measured.real.get(key) or measured.sort_out(key)


def of_either_side(history: History, name: str) -> Dated:
    """The same of both sides together."""
    return every_real(history, name, "")
