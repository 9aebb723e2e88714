"""How fast and how steady every page is: ``python -m tests.bench.bench_pages [--rounds N]``.

Serves a 60-circuit house on a free port of this computer and opens every page of
``tests.browser.pages`` in a Chromium with its processor slowed down four times and its cache
empty. Prints, for each page, the largest contentful paint and the longest answer to a press (the
median of the rounds), the layout shift (the largest), the gzipped CSS, JS and fonts, and the
95th percentile of the server's time; then the frames of zooming a plot of 14 days. Exits 1 when
one is past its figure. The computer must have nothing else to do.
"""

from __future__ import annotations

import argparse
import os
import shutil
import socket
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from statistics import median, quantiles
from urllib.request import urlopen

import uvicorn
from playwright.sync_api import Browser, sync_playwright

from server.app import create_app
from server.domain.site import Site
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.settings import Settings
from server.simulate.run import warm_up
from tests.bench.page_probe import Visit, visit, watched, zoom_frames
from tests.browser.pages import SHEETS
from tests.grown import grown

LCP_MS, SHIFT, INP_MS, BYTES, SERVER_MS = 1_000.0, 0.05, 100.0, 150_000, 80.0
FRAME_MS = 50.0
"""A frame longer than this, at a quarter of the speed, is a stutter; common practice, no source."""
SLOWER = 4.0


@dataclass(frozen=True)
class Measured:
    """Several visits to one page: the median of the times, the worst of the rest."""

    name: str
    seen: Visit
    server_ms: float

    @property
    def past(self) -> list[str]:
        """The figures this page does not keep."""
        figures = (
            ("paint", self.seen.lcp_ms, LCP_MS),
            ("shift", self.seen.shift, SHIFT),
            ("press", self.seen.inp_ms, INP_MS),
            ("bytes", self.seen.asset_bytes, BYTES),
            ("server", self.server_ms, SERVER_MS),
        )
        return [name for name, got, most in figures if got > most]


@contextmanager
def served(site: Site) -> Iterator[tuple[str, str]]:
    """The address of a planner with this site in it, and the site's id."""
    with tempfile.TemporaryDirectory() as folder, socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        listener.listen(64)
        port = listener.getsockname()[1]
        url = f"sqlite:///{Path(folder) / 'bench.db'}"
        app = create_app(Settings(url, port=port, load_demos=False))
        site_id = app.state.store.create(site).id
        config = uvicorn.Config(app, log_level="warning", access_log=False)
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
        thread.start()
        while not server.started:
            time.sleep(0.02)
        yield f"http://127.0.0.1:{port}", site_id
        server.should_exit = True
        thread.join(timeout=20)


def server_p95_ms(address: str, times: int = 40) -> float:
    """95th percentile of fetching a page's document, after two visits nobody counts."""
    took = []
    for n in range(times + 2):
        begin = time.perf_counter()
        try:
            with urlopen(address) as answer:  # a page of this planner only
                answer.read()
        except OSError:
            return 0.0
        if n >= 2:
            took.append(1000.0 * (time.perf_counter() - begin))
    return quantiles(took, n=20)[18]


def measure(browser: Browser, root: str, site_id: str, site: Site, rounds: int) -> list[Measured]:
    """Every page, opened ``rounds`` times with an empty cache."""
    found = []
    for sheet in SHEETS:
        address = root + sheet.address(site_id, site)
        visits = []
        for _ in range(rounds):
            context = browser.new_context(viewport={"width": 1280, "height": 900})
            visits.append(visit(watched(context, slower=SLOWER), address))
            context.close()
        seen = Visit(
            lcp_ms=median(v.lcp_ms for v in visits),
            shift=max(v.shift for v in visits),
            inp_ms=median(v.inp_ms for v in visits),
            asset_bytes=max(v.asset_bytes for v in visits),
            moved=max(visits, key=lambda v: v.shift).moved,
        )
        found.append(Measured(sheet.name, seen, server_p95_ms(address)))
    return found


def fortnight(site: Site) -> Site:
    """The site with its longest scenario drawn out to 14 days."""
    longest = max(site.scenarios, key=lambda s: s.span_h)
    drawn = longest.model_copy(update={"id": "fortnight", "name": "Fortnight", "span_h": 336})
    return site.model_copy(update={"scenarios": (*site.scenarios, drawn)})


def zoomed(browser: Browser, address: str) -> list[float]:
    """Milliseconds of the frames of zooming a plot of 14 days in and out again."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    frames = zoom_frames(watched(context, slower=SLOWER), address)
    context.close()
    return frames


def main() -> int:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--moved", action="store_true", help="say what moved on each page")
    given = parser.parse_args()
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        print("no Chromium is installed", file=sys.stderr)
        return 2
    farm = read_site_file((DEMOS / "flower-farm.json").read_bytes())
    site = fortnight(grown(farm, circuits=60))
    warm_up()
    with served(site) as (root, site_id), sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=chromium, args=["--no-sandbox", "--disable-dev-shm-usage"]
        )
        found = measure(browser, root, site_id, site, given.rounds)
        frames = zoomed(browser, f"{root}/sites/{site_id}/scenarios/fortnight")
        browser.close()
    print(f"load of this computer while measuring {os.getloadavg()[0]:.1f}")
    print(f"{'page':24} {'paint ms':>9} {'shift':>7} {'press ms':>9} {'kB':>6} {'server ms':>10}")
    for page in found:
        w = page.seen
        print(
            f"{page.name:24} {w.lcp_ms:9.0f} {w.shift:7.3f} {w.inp_ms:9.0f} "
            f"{w.asset_bytes / 1000:6.1f} {page.server_ms:10.1f}  {', '.join(page.past)}"
        )
        if given.moved:
            for line in w.moved:
                print(f"    {line}")
    slow = quantiles(frames, n=20)[18]
    print(f"zooming 14 days: {len(frames)} frames, p95 {slow:.0f} ms, longest {max(frames):.0f} ms")
    return 1 if slow > FRAME_MS or any(page.past for page in found) else 0


if __name__ == "__main__":
    sys.exit(main())
