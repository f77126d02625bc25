"""The engine and the sessions of a store: how SQLModel reaches the file.

The connections are those of :mod:`armrise.store.database.sqlite`, set up there and in autocommit, so that a
transaction begins with the words we choose: SQLAlchemy's own would begin without the lock that writing needs.
None is kept open, as a file that may be copied or taken away between two actions should not be held.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Generator
from contextlib import contextmanager

from sqlalchemy import Connection, Engine, NullPool, event
from sqlalchemy.exc import DBAPIError
from sqlmodel import Session, create_engine

__all__ = ["Engine", "Session", "driver", "engine_over", "session_on"]


def engine_over(connect: Callable[[], sqlite3.Connection]) -> Engine:
    """An engine over the connections that ``connect`` opens."""
    engine = create_engine("sqlite://", creator=connect, poolclass=NullPool)
    event.listen(engine, "begin", _begin)
    return engine


def _begin(connection: Connection) -> None:
    connection.exec_driver_sql(connection.get_execution_options()["begin"])


@contextmanager
def session_on(engine: Engine, begin: str) -> Generator[Session, None, None]:
    """A session in one transaction, begun with ``begin``, committed at the end, on any error rolled back.

    Raises :class:`sqlite3.Error` as the driver does.
    """
    try:
        with Session(engine.execution_options(begin=begin)) as session:
            yield session
            session.commit()
    except DBAPIError as error:
        raise (error.orig or error) from None


def driver(session: Session) -> sqlite3.Connection:
    """The connection a session works on, inside its transaction: for the reader that cases and list share."""
    found = session.connection().connection.driver_connection
    assert isinstance(found, sqlite3.Connection)
    return found
