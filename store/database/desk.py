"""What lies on the desk and is no record: forms not written yet, when a case was last opened, own marks.

These lines may change and go. They sit in the store because a form half filled in says as much about a
patient as an entry does, and the store is what is kept private. The forms left are counted at the head of the
list, which is read before SQLModel is imported; and no entry waits for that import either.
"""

from __future__ import annotations

import json
from datetime import datetime

from armrise.store.database.instants import EPOCH, MICROSECOND, micros
from armrise.store.database.place import Store
from armrise.store.database.unreadable import making
from armrise.store.record.light import NamedTuple


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
    sql = (
        "INSERT INTO draft (author, code, form, at_utc, fields) VALUES (?, ?, ?, ?, ?) "
        "ON CONFLICT (author, code, form) DO UPDATE SET at_utc = excluded.at_utc, fields = excluded.fields"
    )
    with store.writing() as connection:
        connection.execute(sql, (author, code, form, micros(now), json.dumps(typed)))


def draft_of(store: Store, author: str, code: str, form: str) -> Draft | None:
    """What was left unwritten in ``form`` about the case, on the clinic's clock; None when nothing was."""
    sql = "SELECT at_utc, fields FROM draft WHERE author = ? AND code = ? AND form = ?"
    with store.reading() as connection:
        left = connection.execute(sql, (author, code, form)).fetchone()
    with making("draft"):
        return Draft(_instant(store, left[0]), json.loads(left[1])) if left else None


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
    with making("draft"):
        return [Waiting(code + "", form + "", _instant(store, at_utc)) for code, form, at_utc in rows]


def drop_draft(store: Store, author: str, code: str, form: str) -> None:
    """Forget what was typed: it was written, or dropped on purpose."""
    this = "FROM draft WHERE author = ? AND code = ? AND form = ?"
    with store.reading() as connection:
        if connection.execute(f"SELECT 1 {this}", (author, code, form)).fetchone() is None:
            return  # as a rule: nothing to wait for a lock for
    with store.writing() as connection:
        connection.execute(f"DELETE {this}", (author, code, form))


def looked(store: Store, author: str, code: str, now: datetime) -> None:
    """Note that ``author`` has looked at the case."""
    sql = (
        "INSERT INTO look (author, code, at_utc) VALUES (?, ?, ?) "
        "ON CONFLICT (author, code) DO UPDATE SET at_utc = excluded.at_utc"
    )
    with store.writing() as connection:
        connection.execute(sql, (author, code, micros(now)))


def last_look(store: Store, author: str, code: str) -> datetime | None:
    """When ``author`` last looked at the case, on the clinic's clock; None is never."""
    with store.reading() as connection:
        sql = "SELECT at_utc FROM look WHERE author = ? AND code = ?"
        look = connection.execute(sql, (author, code)).fetchone()
    with making("look"):
        return _instant(store, look[0]) if look else None


def looked_at_all(store: Store, author: str, at: datetime) -> None:
    """Note that ``author`` looked at every case at that instant: how the demonstration begins."""
    with store.writing() as connection:
        connection.execute("INSERT INTO look SELECT ?, code, ? FROM cases", (author, micros(at)))


def marks(store: Store, author: str) -> frozenset[str]:
    """The codes of the cases that ``author`` has marked."""
    with store.reading() as connection:
        rows = connection.execute("SELECT code FROM mark WHERE author = ?", (author,)).fetchall()
    return frozenset(code for (code,) in rows)


def mark(store: Store, author: str, code: str, marked: bool) -> None:
    """Mark the case for ``author``, or take the mark away. Raises a store error."""
    from armrise.store.database.classes.tables import Mark

    with store.session(writing=True) as session:
        if marked:
            session.merge(Mark(author=author, code=code))
        elif found := session.get(Mark, (author, code)):
            session.delete(found)


def _instant(store: Store, at_utc: int) -> datetime:
    return store.local(EPOCH + at_utc * MICROSECOND)
