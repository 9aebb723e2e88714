"""The outdoor temperature of a scenario as a small curve, and the same in words."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from server.domain.scenario import Scenario
from server.simulate.weather import outdoor_f
from server.web.format import number, short_when

WIDTH, HEIGHT = 1000.0, 40.0
_EDGE = 4.0
_STEPS_MOST = 336
"""One an hour of the longest scenario there is; a shorter one has one every few minutes."""


@dataclass(frozen=True)
class WeatherCurve:
    """A path in a box of ``WIDTH`` by ``HEIGHT``, its range, and the sentence that says it."""

    path: str
    coldest: str
    warmest: str
    words: str


def weather_curve(scenario: Scenario) -> WeatherCurve:
    """The temperature the run uses, from the scenario's start to its end."""
    span_s = scenario.span_h * 3600.0
    step_s = 60.0 * max(1.0, np.ceil(span_s / 60.0 / _STEPS_MOST))
    at_s = np.append(np.arange(0.0, span_s, step_s), span_s)
    temps_f = outdoor_f(scenario.weather, scenario.start, at_s)
    low_f, high_f = float(temps_f.min()), float(temps_f.max())
    swing_f = high_f - low_f
    share = (temps_f - low_f) / swing_f if swing_f else np.full(at_s.shape, 0.5)
    x = at_s / span_s * WIDTH
    y = HEIGHT - _EDGE - share * (HEIGHT - 2.0 * _EDGE)
    path = "M" + "L".join(f"{a:.1f} {b:.1f}" for a, b in zip(x, y, strict=True))

    def when(index: int) -> str:
        return short_when(scenario.start + timedelta(seconds=round(float(at_s[index]))))

    coldest, warmest = f"{number(low_f, 0)} °F", f"{number(high_f, 0)} °F"
    if swing_f:
        cold, warm = when(int(temps_f.argmin())), when(int(temps_f.argmax()))
        words = f"Coldest {coldest} at {cold}, warmest {warmest} at {warm}."
    else:
        words = f"{warmest} throughout."
    return WeatherCurve(path, coldest, warmest, words)
