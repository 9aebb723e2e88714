"""The application: built from settings, never at import."""

from __future__ import annotations

import gc
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from threading import Event, Thread
from time import monotonic

from fastapi import FastAPI
from fastapi.middleware.gzip import GZipMiddleware
from fastapi.staticfiles import StaticFiles
from pydantic.json_schema import models_json_schema
from sqlalchemy import Engine

import server
from server import api, failures, guard, web
from server.api.models import ProblemDocument
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS, STATIC
from server.settings import Settings
from server.simulate.background import background
from server.simulate.run import warm_up
from server.store.database import migrate, open_engine
from server.store.photos import PhotoStore
from server.store.sites import SiteStore
from server.web import joined
from server.web.pages import error_page
from server.web.ready import NotReadyError, not_ready_page

_DESCRIPTION = """\
Which circuit lands on which bus of a home, and whether it holds, in amps, minute by minute.

**Planning aid only.** It does not approve wiring. A licensed electrician, your utility and the
local authority decide.

An edit names the revision it began from. When somebody saved first, the answer is 409 and carries
the current revision; nothing is written. Failures are problem documents that name the fields to
mend.
"""


def create_app(settings: Settings) -> FastAPI:
    """The planner, with its database opened, migrated and (when empty) filled with the demos.

    Raises
    ------
    InputError   When the database cannot be opened.
    """
    engine = open_engine(settings.database_url)
    migrate(engine)
    app = FastAPI(
        title="Threebus",
        version=server.__version__,
        description=_DESCRIPTION,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/v1/openapi.json",
        separate_input_output_schemas=False,
        lifespan=_lifespan(settings, engine),
    )
    app.state.settings = settings
    use_database(app, engine)
    if settings.load_demos:
        load_demos(app.state.store)
    failures.install(app, error_page=error_page)
    app.add_exception_handler(NotReadyError, not_ready_page)
    app.include_router(joined.router)
    app.mount("/static", StaticFiles(directory=STATIC, check_dir=False), name="static")
    app.include_router(api.router)
    app.include_router(web.router)
    _document_problems(app)
    # The one added last is reached first.
    app.add_middleware(GZipMiddleware, minimum_size=1_000, compresslevel=5)
    app.add_middleware(guard.HeadAsGet)
    app.add_middleware(guard.BodyLimit, max_bytes=settings.max_body_bytes)
    app.add_middleware(failures.NoTraceback)
    app.add_middleware(guard.SameSite)
    app.add_middleware(guard.TrustedHosts, names=settings.names)
    app.add_middleware(guard.SafeHeaders)
    return app


def _build_routes(app: FastAPI) -> None:
    """Have FastAPI build what it puts off until a request first passes a route.

    It would do so between the threads of the first pages, and what pydantic does there with
    warnings is of the whole process.
    """
    nowhere = {"type": "http", "method": "GET", "path": "/.", "root_path": "", "headers": []}
    for route in app.routes:
        route.matches(dict(nowhere))


def use_database(app: FastAPI, engine: Engine) -> None:
    """Let the planner keep everything in this database, which is migrated already."""
    app.state.engine = engine
    app.state.store = SiteStore(engine, on_change=_leave_draws)
    app.state.photos = PhotoStore(engine)
    app.state.photos.sweep()
    app.state.kernels_ready = Event()
    app.state.kernels_ready.set()
    app.state.preparing_since_s = None


def _leave_draws(site_id: str) -> None:
    """Stop draws under way of a stored site as it was before a change."""
    background.leave(site_id)


def load_demos(store: SiteStore) -> None:
    """Store the demo sites when there is no site, not even a deleted one."""
    if store.list_sites() or store.deleted_sites():
        return
    for path in sorted(DEMOS.glob("*.json")):
        store.create(read_site_file(path.read_bytes()), label="Loaded as a demo")


def _prepare(ready: Event) -> None:
    try:
        warm_up()
        settle_memory()
    finally:
        ready.set()


def settle_memory() -> None:
    """Leave what was loaded at the start out of the collector's rounds.

    It is never let go, and to look through it stopped every page for up to 0.2 s now and then.
    """
    gc.collect()
    gc.freeze()


def _lifespan(
    settings: Settings, engine: Engine
) -> Callable[[FastAPI], AbstractAsyncContextManager[None]]:
    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        _build_routes(app)
        if settings.warm_up:
            app.state.kernels_ready.clear()
            app.state.preparing_since_s = monotonic()
            Thread(
                target=_prepare, args=(app.state.kernels_ready,), name="warm-up", daemon=True
            ).start()
        yield
        engine.dispose()

    return lifespan


def _document_problems(app: FastAPI) -> None:
    """Add the problem document to the components that every failing answer points at."""
    drawn = app.openapi

    def openapi() -> dict[str, object]:
        document = drawn()
        schemas = document["components"]["schemas"]
        _, definitions = models_json_schema(
            [(ProblemDocument, "validation")], ref_template="#/components/schemas/{model}"
        )
        schemas.update(definitions["$defs"])
        return document

    app.openapi = openapi  # type: ignore[method-assign]
