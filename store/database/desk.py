"""What lies on the desk and is no record: forms not written yet, and when a case was last opened.

These lines may change and go. They sit in the store because a form half filled in says as much about a
patient as an entry does, and the store is what is kept private.
"""

from __future__ import annotations

import json
from datetime import datetime
from typing import NamedTuple

from armrise.store.database.columns import EPOCH, MICROSECOND, micros
from armrise.store.database.place import Store


class Draft(NamedTuple):
    """What was typed in a form: the texts of its fields by their names, and when it was last typed in."""

    at: datetime
    fields: dict[str, str]


def keep_draft(
    store: Store, author: str, code: str, form: str, fields: dict[str, str], now: datetime
) -> None:
    """Keep what is typed in ``form`` about the case ``code`` (empty: a case not registered yet).

    The newest typing replaces what was kept; nothing typed is no draft. Raises
    :class:`~armrise.store.database.place.StoreError`.
    """
    typed = {name: text for name, text in fields.items() if text}
    if not typed:
        drop_draft(store, author, code, form)
        return
    with store.writing() as connection:
        connection.execute(
            "INSERT INTO draft (author, code, form, at_utc, fields) VALUES (?, ?, ?, ?, ?) "
            "ON CONFLICT (author, code, form) "
            "DO UPDATE SET at_utc = excluded.at_utc, fields = excluded.fields",
            (author, code, form, micros(now), json.dumps(typed)),
        )


def draft_of(store: Store, author: str, code: str, form: str) -> Draft | None:
    """What was left unwritten in ``form`` about the case, on the clinic's clock; None when nothing was."""
    sql = "SELECT at_utc, fields FROM draft WHERE author = ? AND code = ? AND form = ?"
    with store.reading() as connection:
        row = connection.execute(sql, (author, code, form)).fetchone()
    return Draft(_instant(store, row[0]), json.loads(row[1])) if row else None


class Waiting(NamedTuple):
    """A form that was not written: of which case (empty: not registered yet), which form, last typed when."""

    code: str
    form: str
    at: datetime


def drafts(store: Store, author: str) -> list[Waiting]:
    """Every form that ``author`` left unwritten, the one typed last first, on the clinic's clock."""
    sql = "SELECT code, form, at_utc FROM draft WHERE author = ? ORDER BY at_utc DESC, code, form"
    with store.reading() as connection:
        rows = connection.execute(sql, (author,)).fetchall()
    return [Waiting(code, form, _instant(store, at_utc)) for code, form, at_utc in rows]


def drop_draft(store: Store, author: str, code: str, form: str) -> None:
    """Forget what was typed: it was written, or dropped on purpose."""
    with store.writing() as connection:
        connection.execute(
            "DELETE FROM draft WHERE author = ? AND code = ? AND form = ?", (author, code, form)
        )


def looked(store: Store, author: str, code: str, now: datetime) -> None:
    """Note that ``author`` has looked at the case."""
    with store.writing() as connection:
        connection.execute(
            "INSERT INTO look (author, code, at_utc) VALUES (?, ?, ?) "
            "ON CONFLICT (author, code) DO UPDATE SET at_utc = excluded.at_utc",
            (author, code, micros(now)),
        )


def last_look(store: Store, author: str, code: str) -> datetime | None:
    """When ``author`` last looked at the case, on the clinic's clock; None is never."""
    with store.reading() as connection:
        row = connection.execute(
            "SELECT at_utc FROM look WHERE author = ? AND code = ?", (author, code)
        ).fetchone()
    return _instant(store, row[0]) if row else None


def _instant(store: Store, at_utc: int) -> datetime:
    return store.local(EPOCH + at_utc * MICROSECOND)
