"""What a visit to a page costs in Chromium: paint, shift, answer to a press, and bytes."""

from __future__ import annotations

from dataclasses import dataclass, field
from gzip import compress
from typing import Any

from playwright.sync_api import BrowserContext, Page, Response

WATCH = """
window.probe = { lcp: 0, cls: 0, inp: 0, moved: [] };
new PerformanceObserver((list) => {
  for (const entry of list.getEntries()) window.probe.lcp = entry.startTime;
}).observe({ type: "largest-contentful-paint", buffered: true });
new PerformanceObserver((list) => {
  for (const entry of list.getEntries()) {
    if (entry.hadRecentInput) continue;
    window.probe.cls += entry.value;
    for (const source of entry.sources) {
      const node = source.node?.nodeType === 1 ? source.node : source.node?.parentElement;
      const styled = node?.className?.baseVal ?? node?.className;
      const name = node ? `${node.localName}#${node.id}.${styled}` : "gone";
      const when = `${entry.value.toFixed(3)} at ${entry.startTime.toFixed(0)} ms`;
      const [was, is] = [source.previousRect, source.currentRect];
      const rows = `from ${was.y} to ${is.y}, ${was.height} to ${is.height} high`;
      window.probe.moved.push(`${when} ${name} ${rows}`);
    }
  }
}).observe({ type: "layout-shift", buffered: true });
new PerformanceObserver((list) => {
  for (const entry of list.getEntries()) {
    if (entry.interactionId) window.probe.inp = Math.max(window.probe.inp, entry.duration);
  }
}).observe({ type: "event", durationThreshold: 16, buffered: true });
"""
ASSETS = ("stylesheet", "script", "font")


@dataclass
class Visit:
    """One page as seen from the browser. Times in ms, ``asset_bytes`` as sent or gzipped."""

    lcp_ms: float
    shift: float
    inp_ms: float
    asset_bytes: int
    moved: list[str] = field(default_factory=list)


def watched(context: BrowserContext, *, slower: float = 1.0) -> Page:
    """A page that keeps count of itself, with its processor slowed down so many times."""
    page = context.new_page()
    page.add_init_script(WATCH)
    if slower > 1.0:
        session = context.new_cdp_session(page)
        session.send("Emulation.setCPUThrottlingRate", {"rate": slower})
    return page


def visit(page: Page, address: str, *, press: bool = True, rest_ms: int = 700) -> Visit:
    """Open an address, let it settle, press every kind of control, and read the count."""
    sent: list[Response] = []

    def heard(response: Response) -> None:
        if response.request.resource_type in ASSETS:
            sent.append(response)

    page.on("response", heard)
    page.goto(address, wait_until="load")
    page.wait_for_load_state("networkidle")
    page.wait_for_timeout(rest_ms)
    seen: dict[str, Any] = page.evaluate("window.probe")
    lcp, shift, moved = float(seen["lcp"]), float(seen["cls"]), list(seen["moved"])
    if press:
        _press(page)
        page.wait_for_timeout(rest_ms // 2)
    page.remove_listener("response", heard)
    return Visit(
        lcp_ms=lcp,
        shift=shift,
        inp_ms=float(page.evaluate("window.probe.inp")),
        asset_bytes=sum(_weight(response) for response in sent),
        moved=moved,
    )


FRAMES = """
window.frames_ms = [];
let last = performance.now();
(function next(now) {
  window.frames_ms.push(now - last);
  last = now;
  requestAnimationFrame(next);
})(last);
"""


def zoom_frames(page: Page, address: str, *, turns: int = 60) -> list[float]:
    """Milliseconds of every frame while the plot of a run is zoomed in and out by the wheel."""
    page.goto(address, wait_until="load")
    over = page.locator("main .u-over").first
    over.wait_for()
    over.scroll_into_view_if_needed()
    box = over.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + box["width"] * 0.4, box["y"] + box["height"] / 2)
    page.wait_for_timeout(500)
    page.evaluate(FRAMES)
    page.keyboard.down("Control")
    for turn in range(turns):
        page.mouse.wheel(0, -60 if turn < turns / 2 else 60)
    page.keyboard.up("Control")
    page.wait_for_timeout(100)
    frames: list[float] = page.evaluate("window.frames_ms.slice(1)")
    return frames


PAUSE_MS = 200
"""Between two presses, as with a quick hand. Without it the search for what to press next, which
runs in the page, held up the paint that was timed, and each key waited for the paint before it."""


def _press(page: Page) -> None:
    """Tab a few times, then press the first disclosure, plot and field of the page."""
    for _ in range(3):
        page.keyboard.press("Tab")
        page.wait_for_timeout(PAUSE_MS)
    for chosen in ("main summary", "main .u-over", "main input[type=text]"):
        target = page.locator(chosen).filter(visible=True).first
        if not target.count():
            continue
        target.scroll_into_view_if_needed()
        box = target.bounding_box()
        if box is not None:
            page.mouse.click(box["x"] + box["width"] / 2, box["y"] + min(box["height"] / 2, 60))
            page.wait_for_timeout(PAUSE_MS)
            page.keyboard.press("ArrowRight")
            page.wait_for_timeout(PAUSE_MS)


def _weight(response: Response) -> int:
    """Bytes of one answer as a browser that takes gzip would get them."""
    body = response.body()
    if response.url.partition("?")[0].endswith(".woff2"):
        return len(body)
    return len(compress(body, 6))
