"""A clinic's own views of its list: a name, and what the list is searched for. Remembered beside the record.

They are no record: they may change and go. The list needs them before SQLModel is imported, so they are read
in plain SQL.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Sequence

from armrise.store.database.place import Store, StoreError, remember, remembered
from armrise.store.database.unreadable import making
from armrise.store.record.light import NamedTuple

VIEWS = "views"
MOST = 4
LONGEST_NAME, LONGEST_TEXT = 20, 60


class NamedView(NamedTuple):
    """A view: its name, and the words that every case in it shows."""

    name: str
    text: str


def named_views(store: Store) -> list[NamedView]:
    """The clinic's own views, in the order in which they were added."""
    kept = remembered(store, VIEWS)
    with making(f"remembered {VIEWS}"):
        return [NamedView(*pair) for pair in json.loads(kept)] if kept else []


def add_view(store: Store, line: str, taken: Collection[str]) -> NamedView:
    """Keep a view typed as "name = words"; ``taken`` are the names of the views that every clinic has.

    Raises :class:`~armrise.store.database.place.StoreError`: one sentence.
    """
    before = named_views(store)
    view = _read(line)
    if len(before) == MOST:
        raise StoreError(f'view "{view.name}": there are {MOST} views of your own already, drop one first')
    names = {name.casefold() for name in (*taken, *(other.name for other in before))}
    if view.name.casefold() in names:
        raise StoreError(f'view "{view.name}": there is one of that name, choose another')
    _keep(store, [*before, view])
    return view


def drop_view(store: Store, name: str) -> NamedView:
    """Forget the view of that name. Raises :class:`~armrise.store.database.place.StoreError`."""
    views = named_views(store)
    found = next((view for view in views if view.name.casefold() == name.strip().casefold()), None)
    if found is None:
        there = ", ".join(view.name for view in views) or "none"
        raise StoreError(f'view "{name}": there is none of your own by that name, there are: {there}')
    _keep(store, [view for view in views if view is not found])
    return found


def _read(line: str) -> NamedView:
    name, sign, text = (" ".join(part.split()) for part in line.partition("="))
    if not (name and sign and text):
        raise StoreError(
            f'view "{line}": say a name and the words to search for, as in "TK ready = tk ready"'
        )
    for what, told, longest in (("name", name, LONGEST_NAME), ("words", text, LONGEST_TEXT)):
        if len(told) > longest or not told.isprintable():
            raise StoreError(
                f'view "{name}": {what} "{told}" not taken, allowed are 1 to {longest} letters of one line'
            )
    return NamedView(name, text)


def _keep(store: Store, views: Sequence[NamedView]) -> None:
    with store.writing() as connection:
        remember(connection, {VIEWS: json.dumps(views)})
