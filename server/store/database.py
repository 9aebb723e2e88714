"""Opening, migrating and backing up the database."""

from __future__ import annotations

import json
import os
import re
import sqlite3
from contextlib import closing, suppress
from functools import partial
from importlib.util import find_spec
from pathlib import Path
from secrets import token_hex
from typing import Any
from urllib.parse import unquote

from alembic import command
from alembic.config import Config
from alembic.script.revision import ResolutionError
from alembic.util import CommandError
from platformdirs import user_data_path
from sqlalchemy import URL, Connection, Engine, QueuePool, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError

from server.domain.errors import InputError
from server.paths import MIGRATIONS
from server.store.transactions import SINGLE, WRITES, glancing

BUSY_TIMEOUT_MS = 30_000

# WAL with FULL costs one disk flush a save and keeps acknowledged edits through a power cut, not
# only through the end of the process. What is deleted is overwritten, for sites removed for good.
_PRAGMAS = (
    f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}",
    "PRAGMA journal_mode = WAL",
    "PRAGMA synchronous = FULL",
    "PRAGMA foreign_keys = ON",
    "PRAGMA secure_delete = ON",
)
_LONGEST = 240
_CONTROL = re.compile(r"[\x00-\x1f\x7f]")
_SCHEMES = "Use sqlite:///PATH or postgresql://USER@HOST/NAME."


def default_database_url() -> str:
    """URL of the SQLite database in the user's own data folder."""
    path = user_data_path("threebus", appauthor=False) / "threebus.db"
    return URL.create("sqlite", database=str(path)).render_as_string()


def open_engine(url: str) -> Engine:
    """Engine for a database URL; makes the folder of a SQLite file. Does not migrate.

    Raises
    ------
    InputError   When the URL is not one of SQLite or PostgreSQL, or the folder cannot be made.
    """
    if _CONTROL.search(unquote(url)):
        raise InputError("The database URL holds control characters.", field="database")
    try:
        parsed = make_url(url)
        backend = parsed.get_backend_name()
        if backend == "sqlite":
            return _open_sqlite(parsed)
        if backend in {"postgresql", "postgres"}:
            return _open_postgresql(parsed)
    except (ArgumentError, ValueError) as error:
        raise InputError(f"This is not a database URL. {_SCHEMES}", field="database") from error
    raise InputError(f"{_short(backend)} databases are not known. {_SCHEMES}", field="database")


def _short(text: str) -> str:
    """Text of an address or a driver on one line of a bearable length."""
    line = " ".join(text.split())
    return line if len(line) <= _LONGEST else f"{line[:_LONGEST]}…"


def _open_sqlite(url: URL) -> Engine:
    if url.host or url.username or url.password or url.port or url.query:
        raise InputError(
            "The address of a SQLite file is sqlite:///PATH alone, with no user, host or options.",
            field="database",
        )
    in_memory = url.database in {None, "", ":memory:"}
    if not in_memory:
        folder = Path(str(url.database)).parent
        try:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        except OSError as error:
            raise InputError(
                f"The folder {_short(str(folder))} cannot be made: {error.strerror}.",
                field="database",
            ) from error
        with suppress(OSError):  # Opening it tells what is wrong, in words.
            _begin_private(Path(str(url.database)))
    engine = create_engine(
        url.set(drivername="sqlite+pysqlite"),
        poolclass=QueuePool,
        # An in-memory database lives in one connection, lent to one thread at a time.
        pool_size=1 if in_memory else 8,
        max_overflow=0 if in_memory else 64,
        connect_args={"check_same_thread": False},
        json_serializer=_compact,
    )
    event.listen(engine, "connect", _prepare_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _begin_private(path: Path) -> None:
    """Make an empty file for its owner alone; SQLite gives its side files the same rights."""
    os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))


def _open_postgresql(url: URL) -> Engine:
    if find_spec("psycopg") is None:
        raise InputError(
            'PostgreSQL needs one more package: pip install "threebus[postgresql]".',
            field="database",
        )
    return create_engine(
        url.set(drivername="postgresql+psycopg"),
        pool_size=8,
        max_overflow=24,
        pool_pre_ping=True,
        json_serializer=_compact,
    )


_compact = partial(json.dumps, separators=(",", ":"), allow_nan=False)


def _prepare_sqlite(connection: sqlite3.Connection, _record: Any) -> None:
    connection.isolation_level = None  # transactions are begun below, never by the driver
    for pragma in _PRAGMAS:
        connection.execute(pragma)


def _begin_sqlite(connection: Connection) -> None:
    options = connection.get_execution_options()
    if SINGLE not in options:
        connection.exec_driver_sql("BEGIN IMMEDIATE" if WRITES in options else "BEGIN")


def empty_log(engine: Engine) -> None:
    """Write the log of a SQLite database into its file and empty it, where no reader needs it.

    Until then the log still holds what a site removed for good was. Where somebody reads for
    longer than a second, that is left to the next emptying.
    """
    if engine.dialect.name != "sqlite":
        return
    with glancing(engine) as connection:
        connection.exec_driver_sql("PRAGMA busy_timeout = 1000")
        try:
            connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
        finally:
            connection.exec_driver_sql(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")


def migrate(engine: Engine) -> None:
    """Bring the tables of a database up to this version of Threebus; all of it or nothing.

    Raises
    ------
    InputError   When the database cannot be opened or was written by a newer version.
    """
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.attributes["engine"] = engine
    where = _short(engine.url.render_as_string(hide_password=True))
    try:
        command.upgrade(config, "head")
    except CommandError as error:
        if not isinstance(error.__cause__, ResolutionError):
            raise
        raise InputError(
            f"The database {where} was written by a newer version of Threebus. Update Threebus, or "
            "name another database.",
            field="database",
        ) from error
    except DBAPIError as error:
        raise InputError(
            f"The database {where} cannot be opened: {_short(str(error.orig)).rstrip('.')}.",
            field="database",
        ) from error


def backup(engine: Engine, path: Path, *, overwrite: bool = False) -> None:
    """Copy a SQLite database while it is in use to one file, whole and checked.

    Raises
    ------
    InputError   When the database is PostgreSQL, the file is there already (and ``overwrite`` is
                 not set) or cannot be written, or the copy does not check out.
    """
    if engine.dialect.name != "sqlite":
        raise InputError(
            "This database is PostgreSQL: back it up with its own tool, pg_dump.", field="database"
        )
    source_file = engine.url.database
    if source_file and path.exists() and path.samefile(source_file):
        raise InputError(f"{path} is the database itself. Name another file.", field="path")
    if path.exists() and not overwrite:
        raise InputError(f"{path} is there already. Name another file.", field="path")
    partial_copy = path.with_name(f"{path.name}.{token_hex(8)}.part")
    try:
        _begin_private(partial_copy)
        _copy(engine, partial_copy)
        partial_copy.replace(path)
    except (OSError, sqlite3.Error) as error:
        raise InputError(f"The backup {path} cannot be written: {error}.", field="path") from error
    finally:
        partial_copy.unlink(missing_ok=True)


def _copy(engine: Engine, path: Path) -> None:
    with closing(sqlite3.connect(path)) as copy:
        held = engine.raw_connection()
        try:
            source = held.driver_connection
            assert isinstance(source, sqlite3.Connection)  # noqa: S101
            source.backup(copy)
        finally:
            held.close()
        copy.execute("PRAGMA journal_mode = DELETE")
        verdict = copy.execute("PRAGMA quick_check").fetchone()[0]
        if verdict != "ok":
            raise sqlite3.DatabaseError(f"the copy does not check out ({verdict})")
