"""Shared fixtures: a database migrated once, and a copy of it for each test that asks."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings
from sqlalchemy import Engine

from server.store.database import migrate, open_engine
from server.store.sites import SiteStore

# Nothing is timed here; a slow machine is not a failure.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty SQLite database at the newest revision. Copy it; do not write to it."""
    path = tmp_path_factory.mktemp("database") / "migrated.db"
    engine = open_engine(f"sqlite:///{path}")
    migrate(engine)
    engine.dispose()
    return path


@pytest.fixture
def database_url(migrated_file: Path, tmp_path: Path) -> str:
    """URL of a migrated, empty database of this test's own."""
    path = tmp_path / "threebus.db"
    shutil.copyfile(migrated_file, path)
    return f"sqlite:///{path}"


@pytest.fixture
def engine(database_url: str) -> Iterator[Engine]:
    """Engine of a migrated, empty database of this test's own."""
    opened = open_engine(database_url)
    yield opened
    opened.dispose()


@pytest.fixture
def store(engine: Engine) -> SiteStore:
    """A store without sites."""
    return SiteStore(engine)
