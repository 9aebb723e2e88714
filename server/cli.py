"""The terminal: serve, simulate, check, export, import, backup, schema."""

from __future__ import annotations

import io
import json
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

import server
from server.domain.errors import InputError, NotFoundError, ThreebusError
from server.settings import DEFAULT_PORT, Settings

if TYPE_CHECKING:
    from sqlalchemy import Engine

    from server.domain.scenario import Scenario
    from server.domain.site import Site
    from server.store.sites import SiteStore

FITS, BROKEN, BAD_INPUT, OVER = 0, 1, 2, 3

_DATABASE_HELP = "Database URL. Left out: a file in your user data folder."
# The environment is read once, by the callback, so that it never outdoes a --database before the
# command.
ServedDatabase = Annotated[
    str | None,
    typer.Option("--database", envvar="THREEBUS_DATABASE", help=_DATABASE_HELP, show_default=False),
]
DatabaseOption = Annotated[
    str | None, typer.Option("--database", help=_DATABASE_HELP, show_default=False)
]

app = typer.Typer(
    name="threebus",
    help=(
        "Plan which circuit of a home lands on which bus, and see whether it holds. "
        "Without a command it serves the planner on this computer."
    ),
    epilog=(
        "Planning aid only. It does not approve wiring. A licensed electrician, your utility and "
        "the local authority decide."
    ),
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)


@contextmanager
def plain_errors() -> Iterator[None]:
    """Turn what goes wrong into one plain message and an exit code, never a traceback."""
    try:
        yield
    except ThreebusError as error:
        problems = getattr(error, "problems", ())
        lines = [str(problem) for problem in problems] or [str(error)]
        for line in lines:
            typer.echo(line, err=True)
        raise typer.Exit(BAD_INPUT) from None
    except BrokenPipeError:
        # The reader of the pipe has gone; let the last flush go nowhere instead of complaining.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise typer.Exit(BROKEN) from None
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        typer.echo(f"{where}{error.strerror or error}.", err=True)
        raise typer.Exit(BAD_INPUT) from None


@app.callback(invoke_without_command=True)
def serve(
    context: typer.Context,
    *,
    database: ServedDatabase = None,
    host: Annotated[
        str,
        typer.Option(envvar="THREEBUS_HOST", help="Address to listen on; this computer only."),
    ] = "127.0.0.1",
    port: Annotated[
        int, typer.Option(envvar="THREEBUS_PORT", min=1, max=65_535, help="Port to listen on.")
    ] = DEFAULT_PORT,
    no_demos: Annotated[
        bool, typer.Option("--no-demos", help="Do not load the demo sites into an empty database.")
    ] = False,
    version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False,
) -> None:
    """Serve the planner (when no command is given)."""
    if version:
        typer.echo(f"Threebus {server.__version__}")
        raise typer.Exit
    context.obj = database
    if context.invoked_subcommand is not None:
        return
    with plain_errors():
        from server.serving import serve as serve_planner
        from server.store.database import default_database_url

        url = default_database_url() if database is None else database
        serve_planner(Settings(url, host=host, port=port, load_demos=not no_demos))


@app.command()
def simulate(
    site_file: Annotated[
        Path, typer.Argument(metavar="SITE.json", help="A site file; - reads standard input.")
    ],
    scenario: Annotated[
        str | None,
        typer.Option(
            help="Id or name of the scenario. Left out: the first in the file.", show_default=False
        ),
    ] = None,
    *,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print the run as JSON, as the API gives it.")
    ] = False,
    seed: Annotated[
        int | None,
        typer.Option(
            min=0,
            max=2**63 - 1,
            help="Seed of the draw. Left out: the scenario’s own.",
            show_default=False,
        ),
    ] = None,
    every: Annotated[
        bool, typer.Option("--all", help="List branch breakers that are within their rating too.")
    ] = False,
    draws: Annotated[
        int | None,
        typer.Option(
            min=1,
            max=10_000,
            help="Run it so many times and say how likely each limit is to be passed.",
            show_default=False,
        ),
    ] = None,
    relief: Annotated[
        bool,
        typer.Option("--relief", help="Try what would relieve the worst limit, each change run."),
    ] = False,
) -> None:
    """Run a scenario of a site file. Exit code 0: it fits; 3: it does not; 2: bad input."""
    with plain_errors():
        site = _read(site_file)
        chosen = _scenario(site, scenario)
        if draws is not None:
            from server.terminal_odds import run_odds

            held = run_odds(site, chosen, draws=draws, seed=seed, as_json=as_json, every=every)
        else:
            from server.terminal_run import run_once

            others = tuple(s.id for s in site.scenarios if s.id != chosen.id)
            held = run_once(
                site,
                chosen,
                seed=seed,
                as_json=as_json,
                every=every,
                relief=relief,
                others=() if scenario else others,
            )
        raise typer.Exit(FITS if held else OVER)


@app.command()
def check(
    site_file: Annotated[
        Path, typer.Argument(metavar="SITE.json", help="A site file; - reads standard input.")
    ],
    edition: Annotated[
        str | None,
        typer.Option(
            help="Edition of the NEC, such as 2023. Left out: the site’s own.", show_default=False
        ),
    ] = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print the report as JSON, as the API gives it.")
    ] = False,
) -> None:
    """Check a site file by the published rules. Exit code 0: clear; 3: faults; 2: bad input."""
    with plain_errors():
        site = _read(site_file)
        from server.rules.check import CheckReport, check_site
        from server.rules.editions import known_edition
        from server.terminal_check import print_check

        report = check_site(site, edition=known_edition(edition) if edition else None, recheck=True)
        if as_json:
            from pydantic import TypeAdapter

            text = TypeAdapter(CheckReport).dump_json(report, indent=2)
            sys.stdout.buffer.write(text + b"\n")
            sys.stdout.flush()
        else:
            print_check(site, report)
        raise typer.Exit(OVER if report.fails else FITS)


@app.command("export")
def export_site(
    context: typer.Context,
    site_id: Annotated[
        str, typer.Argument(metavar="SITE_ID", help="Id of the site, as in its address.")
    ],
    file: Annotated[
        Path | None, typer.Argument(help="File to write; left out: standard output.")
    ] = None,
    database: DatabaseOption = None,
    force: Annotated[bool, typer.Option("--force", help="Replace a file that exists.")] = False,
) -> None:
    """Write a site of the database to a site file."""
    with plain_errors():
        from server.exchange.sitefile import write_site_file
        from server.exchange.wholefile import write_whole

        with _store(context, database) as store:
            data = write_site_file(store.get(site_id).site)
        if file is None or str(file) == "-":
            sys.stdout.buffer.write(data)
            sys.stdout.flush()
        else:
            write_whole(file, data, force=force)
            typer.echo(f"Wrote {file}.")


@app.command("import")
def import_site(
    context: typer.Context,
    site_file: Annotated[Path, typer.Argument(metavar="FILE", help="A site file.")],
    database: DatabaseOption = None,
) -> None:
    """Store a site file as a new site of the database, and print its id."""
    with plain_errors():
        site = _read(site_file)
        with _store(context, database) as store:
            stored = store.create(site, label="Opened from a site file")
        typer.echo(stored.id)


@app.command()
def backup(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(help="File to write; must not exist yet.")],
    database: DatabaseOption = None,
) -> None:
    """Copy the whole database to one file, also while the planner runs."""
    with plain_errors():
        from server.store.database import backup as copy_database

        with _engine(context, database) as engine:
            copy_database(engine, file)
        typer.echo(f"Wrote {file}.")


@app.command()
def schema() -> None:
    """Print the JSON Schema of site files."""
    with plain_errors():
        from server.exchange.sitefile import site_schema

        typer.echo(json.dumps(site_schema(), indent=2))


def main() -> None:
    """Run the command line; what nobody foresaw ends with one line, not with a traceback.

    A character that the terminal cannot write is shown as a question mark.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    try:
        app()
    except KeyboardInterrupt:
        sys.exit(130)
    except Exception as error:  # the last resort of a command line
        typer.echo(
            f"Something went wrong inside Threebus ({type(error).__name__}: {error}).", err=True
        )
        sys.exit(BROKEN)


def _read(path: Path) -> Site:
    from server.exchange.sitefile import read_site_file
    from server.exchange.strictjson import MAX_BYTES

    if str(path) == "-":
        return read_site_file(sys.stdin.buffer.read(MAX_BYTES + 1))
    with path.open("rb") as file:
        return read_site_file(file.read(MAX_BYTES + 1))


def _scenario(site: Site, wanted: str | None) -> Scenario:
    """The scenario of this id or name; the first where none is asked for."""
    if not site.scenarios:
        raise InputError("This site has no scenario to run. Add one to its “scenarios”.")
    if wanted is None:
        return site.scenarios[0]
    for scenario in site.scenarios:
        if wanted in {scenario.id, scenario.name}:
            return scenario
    known = ", ".join(s.id for s in site.scenarios)
    raise NotFoundError(f"There is no scenario {wanted!r} in this file. It has: {known}.")


@contextmanager
def _engine(context: typer.Context, database: str | None) -> Iterator[Engine]:
    """The database named on the command line, migrated."""
    from server.store.database import default_database_url, migrate, open_engine

    named = context.obj if database is None else database
    engine = open_engine(default_database_url() if named is None else named)
    try:
        migrate(engine)
        yield engine
    finally:
        engine.dispose()


@contextmanager
def _store(context: typer.Context, database: str | None) -> Iterator[SiteStore]:
    from server.store.sites import SiteStore

    with _engine(context, database) as engine:
        yield SiteStore(engine)
