"""Load classes as the pathway of the day reads them: some are of another class there (ruling 83)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TypeVar

from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.pain import Session
from armrise.store.record.kinds.programme import DoneItem, ProgrammeItem

WITH_CLASSES = ("sessions", "programme")
"""The entries that state load classes."""
Item = TypeVar("Item", DoneItem, ProgrammeItem)


def read_in(entry: Entry, classes: Mapping[str, str]) -> Entry:
    """A session or programme item with the classes that its exercises have in the pathway of its day."""
    if isinstance(entry, ProgrammeItem):
        return _item(entry, classes)
    if isinstance(entry, Session) and any(item.exercise in classes for item in entry.items):
        return replace(entry, items=tuple(_item(item, classes) for item in entry.items))
    return entry


def _item(item: Item, classes: Mapping[str, str]) -> Item:
    load_class = classes.get(item.exercise, item.load_class)
    return item if load_class == item.load_class else replace(item, load_class=load_class)
