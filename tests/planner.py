"""The application, built once for all tests of pages and programs that ask it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from fastapi import FastAPI
from sqlalchemy import Engine

from server.app import create_app, use_database
from server.settings import Settings


@pytest.fixture(scope="session")
def one_planner(migrated_file: Path, tmp_path_factory: pytest.TempPathFactory) -> FastAPI:
    """The application on a database nobody uses; its routes take longer than a page to build."""
    path = tmp_path_factory.mktemp("planner") / "threebus.db"
    shutil.copyfile(migrated_file, path)
    built = create_app(Settings(f"sqlite:///{path}", load_demos=False, warm_up=False))
    built.state.engine.dispose()
    return built


@pytest.fixture
def planner(one_planner: FastAPI, engine: Engine) -> FastAPI:
    """The whole application on an empty database of this test's own."""
    use_database(one_planner, engine)
    return one_planner
