"""Runs the migrations: for the program, which hands over its engine, and from the command line.

On the command line the database is ``-x url=URL``, else THREEBUS_DATABASE, else the default.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Literal

from alembic import context
from sqlalchemy import Connection, Engine, text
from sqlalchemy.types import TypeDecorator

from server.store.database import default_database_url, open_engine
from server.store.tables import Table
from server.store.transactions import WRITES

MIGRATION_LOCK = 0x3B05


def database_url() -> str:
    given = context.get_x_argument(as_dictionary=True).get("url")
    return given or os.environ.get("THREEBUS_DATABASE") or default_database_url()


@contextmanager
def foreign_keys_off(connection: Connection) -> Iterator[None]:
    """SQLite rebuilds a table to alter it; its rows must not count as deleted meanwhile."""
    driver = connection.connection.driver_connection
    driver.execute("PRAGMA foreign_keys = OFF")
    try:
        yield
    finally:
        driver.execute("PRAGMA foreign_keys = ON")


def refuse_broken_keys(connection: Connection) -> None:
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
    if broken:
        raise RuntimeError(f"The migration left rows that point at nothing: {broken[:5]}")


def plain_type(kind: str, item: Any, _autogen: Any) -> str | Literal[False]:
    """Write the product's own column types in a new migration as what the database sees."""
    if kind == "type" and isinstance(item, TypeDecorator):
        plain = getattr(item, "impl_instance", item.impl)
        return f"sa.{plain!r}"
    return False


def run(connection: Connection) -> None:
    context.configure(
        connection=connection,
        target_metadata=Table.metadata,
        render_as_batch=True,
        render_item=plain_type,
        transactional_ddl=True,
        compare_type=True,
        compare_server_default=True,
    )
    with context.begin_transaction():
        if connection.dialect.name == "postgresql":
            lock = text("SELECT pg_advisory_xact_lock(:key)")
            connection.execute(lock, {"key": MIGRATION_LOCK})
        context.run_migrations()
        if connection.dialect.name == "sqlite":
            refuse_broken_keys(connection)


def run_on(engine: Engine) -> None:
    with engine.connect() as connection:
        connection.execution_options(**{WRITES: True})
        if connection.dialect.name == "sqlite":
            with foreign_keys_off(connection):
                run(connection)
        else:
            run(connection)


def main() -> None:
    engine = context.config.attributes.get("engine")
    if engine is not None:
        run_on(engine)
        return
    own = open_engine(database_url())
    try:
        run_on(own)
    finally:
        own.dispose()


main()
