"""Runs the tests that ask for ``engine`` or ``store`` on PostgreSQL too, where one is named.

Name one with THREEBUS_TEST_POSTGRESQL_URL; the tests work in a schema of their own there.
"""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest
from sqlalchemy import Engine, make_url, text

from server.store.database import migrate, open_engine
from server.store.tables import Table

POSTGRESQL_URL = os.environ.get("THREEBUS_TEST_POSTGRESQL_URL")
BACKENDS = ["sqlite", "postgresql"] if POSTGRESQL_URL else ["sqlite"]
SCHEMA = f"threebus_test_{os.getpid()}"


def in_schema(schema: str) -> str:
    """URL of one schema of the PostgreSQL database there is to try."""
    url = make_url(POSTGRESQL_URL or "").update_query_dict({"options": f"-csearch_path={schema}"})
    return url.render_as_string(hide_password=False)


@pytest.fixture(scope="session")
def postgresql_url() -> Iterator[str]:
    """URL of a schema of this run's own, dropped afterwards."""
    assert POSTGRESQL_URL
    outer = open_engine(POSTGRESQL_URL)
    with outer.begin() as connection:
        connection.execute(text(f"CREATE SCHEMA {SCHEMA}"))
    yield in_schema(SCHEMA)
    with outer.begin() as connection:
        connection.execute(text(f"DROP SCHEMA {SCHEMA} CASCADE"))
    outer.dispose()


@pytest.fixture(scope="session")
def migrated_postgresql(postgresql_url: str) -> Iterator[Engine]:
    opened = open_engine(postgresql_url)
    migrate(opened)
    yield opened
    opened.dispose()


@pytest.fixture(params=BACKENDS)
def engine(request: pytest.FixtureRequest) -> Iterator[Engine]:
    """Engine of a migrated, empty database, on every kind of database there is to try."""
    if request.param == "sqlite":
        opened = open_engine(request.getfixturevalue("database_url"))
        yield opened
        opened.dispose()
        return
    shared: Engine = request.getfixturevalue("migrated_postgresql")
    tables = ", ".join(Table.metadata.tables)
    with shared.begin() as connection:
        connection.execute(text(f"TRUNCATE {tables}"))
    yield shared
