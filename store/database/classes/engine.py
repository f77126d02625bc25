"""The engine and the sessions of a store: how SQLModel reaches the database.

The connections are those of the store's driver, set up there and in autocommit, so that a transaction begins
with the words the driver chooses: SQLAlchemy's own would begin without the lock that writing needs. None is
kept open, as a file that may be copied or taken away between two actions should not be held.
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, cast

from sqlalchemy import NullPool, event
from sqlalchemy.engine import Connection, Engine
from sqlalchemy.exc import DBAPIError
from sqlmodel import Session, create_engine

if TYPE_CHECKING:
    from armrise.store.database.driver import Connection as Plain
    from armrise.store.database.driver import Driver

__all__ = ["Engine", "Session", "driver", "engine_over", "session_on"]


def engine_over(place: Driver, connect: Callable[[], Plain]) -> Engine:
    """An engine over the connections that ``connect`` opens to a place."""

    def begin(connection: Connection) -> None:
        writing = connection.get_execution_options()["writing"]
        place.dialect.begin(_plain(connection), writing=writing)

    more: dict[str, Any] = {"module": place.engine_module} if place.engine_module else {}
    engine = create_engine(place.engine_url, creator=cast(Any, connect), poolclass=NullPool, **more)
    event.listen(engine, "begin", begin)
    return engine


@contextmanager
def session_on(engine: Engine, *, writing: bool) -> Generator[Session, None, None]:
    """A session in one transaction, committed at the end, on any error rolled back.

    Raises what the driver raises.
    """
    try:
        with Session(engine.execution_options(writing=writing)) as session:
            yield session
            session.commit()
    except DBAPIError as error:
        raise (error.orig or error) from None


def driver(session: Session) -> Plain:
    """The connection a session works on, inside its transaction: for the reader that cases and list share."""
    return _plain(session.connection())


def _plain(connection: Connection) -> Plain:
    return cast("Plain", connection.connection.driver_connection)
