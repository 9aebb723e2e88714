"""Reading and writing transactions that are safe beside each other on both databases."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Connection, Engine

WRITES = "threebus_writes"
SINGLE = "threebus_single"


@contextmanager
def glancing(engine: Engine) -> Iterator[Connection]:
    """A connection for one statement that reads: it needs no transaction around it."""
    with engine.connect() as connection:
        if engine.dialect.name == "postgresql":
            connection.execution_options(isolation_level="AUTOCOMMIT")
        connection.execution_options(**{SINGLE: True})
        yield connection


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A transaction that sees one state of the database throughout and writes nothing."""
    with engine.connect() as connection:
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
    with engine.connect() as connection:
        connection.execution_options(**{WRITES: True})
        with connection.begin():
            yield connection
