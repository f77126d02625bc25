"""Stores, clocks and drafts for the tests of the store; drafts are made from the rule beside each field."""

from __future__ import annotations

import dataclasses
import typing
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from functools import cache
from typing import Any

from hypothesis import strategies as st

from armrise.store.caseload.write import Ledger
from armrise.store.database.place import Store
from armrise.store.entries.words import CaseHead
from armrise.store.record.case import KINDS
from armrise.store.record.fields import (
    Absence,
    Children,
    Choice,
    ClockTime,
    Day,
    Flag,
    Number,
    Rule,
    Series,
    Whole,
    Words,
)
from armrise.store.record.kinds.head import SOURCES, Entry
from armrise.store.record.kinds.paperwork import Correction

TODAY = date(2026, 3, 2)
MORNING = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


class Clock:
    """A clock that stands still until it is moved, one second on at each look."""

    def __init__(self, at: datetime = MORNING) -> None:
        self.at = at

    def __call__(self) -> datetime:
        self.at += timedelta(seconds=1)
        return self.at


class Unchecked(Ledger):
    """A ledger that asks no clinical question: the store itself is under test."""

    def _check(self, record: Any, new: Any) -> None:
        pass


def head(code: str = "T-1", **more: Any) -> CaseHead:
    """A case of the store's tests."""
    given = {"person": f"P-{code}", "side": "LEFT", "pathway": "RC", "registered_on": date(2026, 1, 5)}
    return CaseHead(code=code, **(given | more))


def draft(kind: str, on: date = TODAY, **values: Any) -> Entry:
    """A draft of this kind."""
    stamps = {"recorded_at": MORNING, "recorded_on": TODAY, "author": "TK"}
    return KINDS[kind](**(stamps | {"on": on} | values))


def open_case(store: Store, *heads: CaseHead, at: datetime = MORNING) -> Unchecked:
    """A ledger on a store with these cases."""
    ledger = Unchecked(store, "TK", Clock(at))
    for one in heads or (head(),):
        ledger.register(one)
    return ledger


def days(low: date = date(2000, 1, 1), high: date = date(2099, 12, 31)) -> st.SearchStrategy[date]:
    return st.dates(low, high)


def values(rule: Rule) -> st.SearchStrategy[Any]:
    """Any value that the rule allows, absence included."""
    absent = st.sampled_from(Absence) if getattr(rule, "absent", False) else st.nothing()
    match rule:
        case Whole(low, high):
            return st.integers(low, high) | absent
        case Number(low, high, places):
            scaled = st.integers(0, places).flatmap(
                lambda p: st.integers(low * 10**p, high * 10**p).map(lambda n: Decimal(n).scaleb(-p))
            )
            return scaled | absent
        case Choice(words):
            return st.sampled_from(words)
        case Words(longest, shortest):
            alphabet = st.characters(exclude_categories=("C", "Zl", "Zp"))  # what every way in refuses
            return st.text(alphabet, min_size=shortest, max_size=longest)
        case Day():
            return days()
        case ClockTime():
            return st.times().map(lambda time: f"{time:%H:%M}")
        case Flag():
            return st.booleans()
        case Series(low, high, places, most, _, blanks):
            one = values(Number(low, high, places))
            return st.lists(st.none() | one if blanks else one, max_size=most).map(tuple)
        case Children(of):
            return st.lists(records(of), max_size=3).map(tuple)


def own_fields(of: type[Any]) -> list[tuple[str, Rule, bool]]:
    """Name, rule and whether it may be None of each field that carries a rule."""
    hints = typing.get_type_hints(of)
    return [
        (f.name, f.metadata["rule"], type(None) in typing.get_args(hints[f.name]))
        for f in dataclasses.fields(of)
        if "rule" in f.metadata
    ]


@cache
def records(of: type[Any]) -> st.SearchStrategy[Any]:
    """Any record of this type; of an entry the stamps are fixed, the store puts its own.

    One strategy a type: hypothesis works out once what it may draw from it.
    """
    fields = {
        name: (st.none() | values(rule)) if null else values(rule) for name, rule, null in own_fields(of)
    }
    if issubclass(of, Entry):
        stamps = {"recorded_at": st.just(MORNING), "recorded_on": st.just(TODAY), "author": st.just("TK")}
        fields |= stamps | {"on": days(), "source": st.sampled_from(SOURCES), "history": st.booleans()}
    if issubclass(of, Correction):
        fields |= {"corrects": st.just(1), "replaced_by": st.none() | st.just(2)}
    return st.builds(of, **fields)
