"""A planner with the demo sites on a free port, and a Chromium that notices every complaint.

Where no Chromium is installed these tests are skipped, unless CI is set: there that is a failure.
"""

from __future__ import annotations

import os
import shutil
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from fastapi import FastAPI
from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    Page,
    Response,
    expect,
    sync_playwright,
)

from server.app import create_app
from server.domain.site import Site
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.settings import Settings
from server.simulate.run import cached_run, warm_up
from server.store.sites import SiteStore

WAIT_MS = 15_000


@dataclass(frozen=True)
class Planner:
    """A running planner: where it answers, and its store."""

    address: str
    store: SiteStore


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark everything in this folder."""
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def chromium_path() -> str:
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None and os.environ.get("CI"):
        pytest.fail("No Chromium is installed, and CI must not go without.")
    if found is None:
        pytest.skip("no Chromium is installed")
    return found


@contextmanager
def serving(
    database: Path, *, load_demos: bool, around: Callable[[FastAPI], Any] = lambda app: app
) -> Iterator[Planner]:
    """A planner on a free port, with this migrated database and what stands ``around`` it."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        listener.listen(64)
        port = listener.getsockname()[1]
        settings = Settings(f"sqlite:///{database}", port=port, load_demos=load_demos)
        app = create_app(settings)
        server = uvicorn.Server(uvicorn.Config(around(app), log_level="warning", access_log=False))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
        thread.start()
        until = time.monotonic() + 30
        while not server.started and time.monotonic() < until:
            time.sleep(0.02)
        assert server.started
        yield Planner(f"http://127.0.0.1:{port}", app.state.store)
        server.should_exit = True
        thread.join(timeout=20)
        assert not thread.is_alive()


@pytest.fixture(scope="package")
def planner(
    chromium_path: str, farm: Site, migrated_file: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Planner]:
    """The planner with its demo sites. Tests that edit take a ``site_id`` of their own.

    What is compiled at a first run is compiled before any page waits for it.
    """
    warm_up()
    for scenario in farm.scenarios:
        cached_run(farm, scenario)
    database = tmp_path_factory.mktemp("planner") / "threebus.db"
    shutil.copyfile(migrated_file, database)
    with serving(database, load_demos=True) as opened:
        yield opened


@pytest.fixture(scope="package")
def browser(chromium_path: str) -> Iterator[Browser]:
    """One browser. It holds an event loop, so it must be gone before other tests run theirs."""
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(
            executable_path=chromium_path, args=["--no-sandbox", "--disable-dev-shm-usage"]
        )
        yield opened
        opened.close()


@pytest.fixture(scope="session")
def farm() -> Site:
    """The demo with every kind of bus."""
    return read_site_file((DEMOS / "flower-farm.json").read_bytes())


@pytest.fixture
def site_id(planner: Planner, farm: Site) -> Iterator[str]:
    """Id of a copy of that demo of this test's own."""
    stored = planner.store.create(farm, label="Copied for a test")
    yield stored.id
    planner.store.delete(stored.id)


UNANSWERED = ("Failed to load resource", "htmx: htmx:error: Failed to fetch")


@pytest.fixture
def open_context(planner: Planner, browser: Browser) -> Iterator[Callable[..., BrowserContext]]:
    """Opens browser contexts; after the test none may have heard a complaint.

    A complaint is an error in the console (a refused script or style is one), an uncaught
    exception, a failed answer to anything but a visit, or a request that leaves the planner.
    """
    opened: list[BrowserContext] = []
    complaints: list[str] = []

    def heard(message: ConsoleMessage) -> None:
        # What failed to load is judged by its answer: a visit to a missing page is no fault, nor is
        # a network that a test has dropped.
        told = message.type in {"error", "warning"}
        if told and not message.text.startswith(UNANSWERED):
            complaints.append(f"console: {message.text}")

    def answered(response: Response) -> None:
        visit = response.request.is_navigation_request()
        if response.status >= (500 if visit else 400):
            complaints.append(f"{response.status} from {response.url}")

    def watch(page: Page) -> None:
        page.set_default_timeout(WAIT_MS)
        expect.set_options(timeout=WAIT_MS)
        page.on("console", heard)
        page.on("pageerror", lambda error: complaints.append(f"uncaught: {error}"))
        page.on("response", answered)
        page.on(
            "request",
            lambda r: (
                r.url.startswith((planner.address, "data:", "blob:"))
                or complaints.append(f"asked elsewhere: {r.url}")
            ),
        )

    def open_one(**options: object) -> BrowserContext:
        context = browser.new_context(base_url=planner.address, **options)
        context.on("page", watch)
        opened.append(context)
        return context

    yield open_one
    for context in opened:
        context.close()
    assert complaints == []


@pytest.fixture
def page(open_context: Callable[..., BrowserContext]) -> Page:
    """A page at desk size."""
    return open_context(viewport={"width": 1280, "height": 900}).new_page()
