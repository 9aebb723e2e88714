from __future__ import annotations

import json
import re
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config
from alembic.config import main as alembic
from alembic.script import ScriptDirectory
from sqlalchemy import inspect, text

from server.domain.site import Site
from server.paths import MIGRATIONS
from server.store.database import migrate, open_engine
from server.store.sites import SiteStore
from server.store.tables import Table
from tests.store.conftest import BACKENDS, SCHEMA, in_schema
from tests.store.houses import full_site

ROOT = Path(__file__).resolve().parents[2]
DATA = Path(__file__).parent / "data"

LATER = """
import sqlalchemy as sa
from alembic import op
revision = "add_colour"
down_revision = "{head}"
branch_labels = depends_on = None


def upgrade():
    with op.batch_alter_table("panels") as batch:
        batch.alter_column("name", type_=sa.String(120), existing_type=sa.String(80))
        batch.add_column(sa.Column("colour", sa.String(8), server_default="grey", nullable=False))
    {extra}


def downgrade():
    with op.batch_alter_table("panels") as batch:
        batch.alter_column("name", type_=sa.String(80), existing_type=sa.String(120))
        batch.drop_column("colour")
"""


@pytest.fixture(params=BACKENDS)
def empty_url(request, tmp_path):
    """URL of a database without tables."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'empty.db'}"
        return
    engine = open_engine(request.getfixturevalue("postgresql_url"))
    with engine.begin() as connection:
        connection.execute(text(f"CREATE SCHEMA {SCHEMA}_empty"))
    yield in_schema(f"{SCHEMA}_empty")
    with engine.begin() as connection:
        connection.execute(text(f"DROP SCHEMA {SCHEMA}_empty CASCADE"))
    engine.dispose()


def tables_in(url):
    engine = open_engine(url)
    names = set(inspect(engine).get_table_names()) - {"alembic_version"}
    engine.dispose()
    return names


def later_scripts(tmp_path, extra="pass"):
    """The migrations with one more behind them that rebuilds a table others point at."""
    folder = tmp_path / "migrations"
    shutil.copytree(MIGRATIONS, folder, ignore=shutil.ignore_patterns("__pycache__"))
    head = ScriptDirectory(str(MIGRATIONS)).get_current_head()
    (folder / "versions" / "later.py").write_text(LATER.format(head=head, extra=extra))
    config = Config()
    config.set_main_option("script_location", str(folder))
    return config


def test_the_tables_are_those_of_the_models(empty_url):
    engine = open_engine(empty_url)
    migrate(engine)
    migrate(engine)
    engine.dispose()
    assert tables_in(empty_url) == set(Table.metadata.tables)


def test_up_check_down_and_up_again_from_the_command_line(empty_url, monkeypatch):
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("THREEBUS_DATABASE", empty_url)
    alembic(argv=["upgrade", "head"])
    alembic(argv=["check"])
    alembic(argv=["downgrade", "base"])
    assert tables_in(empty_url) == set()
    alembic(argv=["upgrade", "head"])
    alembic(argv=["check"])
    assert tables_in(empty_url) == set(Table.metadata.tables)


def test_the_url_on_the_command_line_goes_before_the_environment(monkeypatch, tmp_path):
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("THREEBUS_DATABASE", f"sqlite:///{tmp_path / 'other.db'}")
    alembic(argv=["-x", f"url=sqlite:///{tmp_path / 'named.db'}", "upgrade", "head"])
    assert [p.name for p in tmp_path.iterdir()] == ["named.db"]


def test_check_sees_a_table_that_differs(empty_url, monkeypatch, capsys):
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("THREEBUS_DATABASE", empty_url)
    alembic(argv=["upgrade", "head"])
    engine = open_engine(empty_url)
    with engine.begin() as connection:
        connection.execute(text("ALTER TABLE panels ADD COLUMN colour VARCHAR(8)"))
    engine.dispose()
    with pytest.raises(SystemExit):
        alembic(argv=["check"])
    assert "colour" in "".join(capsys.readouterr())


def test_rebuilding_a_table_keeps_the_rows_that_point_at_it(engine, tmp_path):
    stored = SiteStore(engine).create(full_site())
    config = later_scripts(tmp_path)
    config.attributes["engine"] = engine
    command.upgrade(config, "head")
    try:
        with engine.connect() as connection:
            assert connection.execute(text("SELECT DISTINCT colour FROM panels")).all() == [
                ("grey",)
            ]
        assert SiteStore(engine).get(stored.id) == stored
    finally:
        command.downgrade(config, "-1")
    assert SiteStore(engine).get(stored.id) == stored
    if engine.dialect.name == "sqlite":
        with engine.connect() as connection:
            assert connection.execute(text("PRAGMA foreign_keys")).scalar_one() == 1


def test_a_migration_that_fails_leaves_everything_as_it_was(engine, tmp_path):
    stored = SiteStore(engine).create(full_site())
    config = later_scripts(tmp_path, extra='raise ValueError("half way")')
    config.attributes["engine"] = engine
    with pytest.raises(ValueError, match="half way"):
        command.upgrade(config, "head")
    assert "colour" not in {c["name"] for c in inspect(engine).get_columns("panels")}
    migrate(engine)
    assert SiteStore(engine).get(stored.id) == stored


def test_a_migration_that_breaks_a_reference_is_refused(database_url, tmp_path):
    engine = open_engine(database_url)
    stored = SiteStore(engine).create(full_site())
    config = later_scripts(tmp_path, extra='op.execute("DELETE FROM panels")')
    config.attributes["engine"] = engine
    with pytest.raises(RuntimeError, match="point at nothing"):
        command.upgrade(config, "head")
    assert SiteStore(engine).get(stored.id) == stored
    engine.dispose()


@pytest.mark.parametrize("revision", ["create_sites", "add_photos"])
def test_sites_of_an_older_version_come_along(revision, tmp_path):
    """The dump was made by the tables of this revision: one edit done, one undone, one site away.

    A later revision adds its own dump to the list (``python -m tests.store.dump``).
    """
    path = tmp_path / "old.db"
    with closing(sqlite3.connect(path)) as old:
        old.executescript((DATA / f"{revision}.sql").read_text(encoding="utf-8"))
    expected = json.loads((DATA / f"{revision}.json").read_text(encoding="utf-8"))
    engine = open_engine(f"sqlite:///{path}")
    migrate(engine)
    store = SiteStore(engine)
    found = store.get("full-site")
    assert found.site == Site.model_validate(expected["found"])
    assert (found.revision, found.undo_label) == (4, "Removed n1")
    assert found.redo_label == "Pinned n3"
    assert store.redo("full-site").site.circuit("n3").pinned
    store.undo("full-site")
    assert store.undo("full-site").site == Site.model_validate(expected["created"])
    assert store.restore("put-away").site.name == "Normal only"
    engine.dispose()


def test_every_revision_has_its_dump_and_a_dated_name():
    scripts = list(ScriptDirectory(str(MIGRATIONS)).walk_revisions())
    assert {s.revision for s in scripts} == {p.stem for p in DATA.glob("*.sql")}
    for script in scripts:
        assert re.fullmatch(r"\d{8}_[a-z]+_[a-z_]+\.py", Path(script.path).name)


def test_processes_that_start_together_migrate_once(empty_url):
    code = "import sys; from server.store.database import migrate, open_engine; "
    code += "migrate(open_engine(sys.argv[1]))"
    together = [
        subprocess.Popen([sys.executable, "-c", code, empty_url], cwd=ROOT) for _ in range(3)
    ]
    assert [process.wait(60) for process in together] == [0, 0, 0]
    assert tables_in(empty_url) == set(Table.metadata.tables)
