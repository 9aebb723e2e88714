"""Reading and writing transactions that are safe beside each other on both databases."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import DBAPIError, IntegrityError, ProgrammingError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError

from server.domain.errors import StorageError

WRITES = "threebus_writes"
SINGLE = "threebus_single"


@contextmanager
def _usable() -> Iterator[None]:
    """Say plainly that the database cannot be used: locked, full, read-only, gone, damaged.

    What the program itself did wrong (a broken key, a faulty statement) stays what it is.

    Raises
    ------
    StorageError   With what the database says of it.
    """
    try:
        yield
    except (IntegrityError, ProgrammingError):
        raise
    except (DBAPIError, PoolTimeoutError) as error:
        said = " ".join(str(getattr(error, "orig", None) or "no connection is free").split())
        raise StorageError(f"The database cannot be used just now: {said[:200]}.") from error


@contextmanager
def glancing(engine: Engine) -> Iterator[Connection]:
    """A connection for one statement that reads: it needs no transaction around it."""
    with _usable(), engine.connect() as connection:
        if engine.dialect.name == "postgresql":
            connection.execution_options(isolation_level="AUTOCOMMIT")
        connection.execution_options(**{SINGLE: True})
        yield connection


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A transaction that sees one state of the database throughout and writes nothing."""
    with _usable(), engine.connect() as connection:
        if engine.dialect.name == "postgresql":
            connection.execution_options(isolation_level="REPEATABLE READ")
        with connection.begin():
            yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A transaction that writes: commits at the end, rolls back when an error leaves it.

    On SQLite it holds the one write lock from its start, so what it reads stays true until it
    commits. On PostgreSQL the rows it changes must be read ``FOR UPDATE`` first.
    """
    with _usable(), engine.connect() as connection:
        connection.execution_options(**{WRITES: True})
        with connection.begin():
            yield connection
