"""A run as one picture to take away: the plots of a stretch of time, with verdict and cautions."""

from __future__ import annotations

import textwrap
from base64 import b64encode
from functools import lru_cache

import server
from server.advise.advice import judged
from server.domain.cautions import CAUTIONS
from server.paths import STATIC
from server.simulate.results import Run
from server.store.cards import StoredSite
from server.web.drawing.gauge import gauges
from server.web.drawing.trace import Box
from server.web.pages import environment
from server.web.run_charts import Shown, charts, lanes

WIDTH = 1240
LEFT, RIGHT = 76, 40
_DEEP, _EACH = 150, 216
_LANE, _FOOT = 36, 84
_LETTERS = 120


@lru_cache(maxsize=1)
def _font() -> str:
    return b64encode((STATIC / "fonts/ysabeau-office-300-700.woff2").read_bytes()).decode("ascii")


def picture(stored: StoredSite, run: Run, shown: Shown, step: int, stretch: str) -> str:
    """An SVG document that needs nothing beside it; always on light paper."""
    found = gauges(run)
    supply = lanes(run)
    across = WIDTH - LEFT - RIGHT
    drawn = charts(run, found, shown, step, box=Box(0.0, 0.0, float(across), float(_DEEP)))
    verdict = textwrap.wrap(judged(run).sentence, _LETTERS)
    top = 104 + 24 * len(verdict)
    plots = top + _LANE * len(supply) + 42
    return (
        environment()
        .get_template("scenarios/picture.svg")
        .render(
            width=WIDTH,
            height=plots + _EACH * len(drawn) + _FOOT - 24,
            left=LEFT,
            across=across,
            deep=_DEEP,
            each=_EACH,
            top=top,
            lane_deep=_LANE,
            plots=plots,
            font=_font(),
            site=stored.site,
            revision=stored.revision,
            version=server.__version__,
            scenario=run.scenario,
            verdict=verdict,
            stretch=stretch,
            shown=shown,
            lanes=supply,
            charts=drawn,
            aid=CAUTIONS["planning-aid"],
            result=CAUTIONS["result"],
        )
    )
