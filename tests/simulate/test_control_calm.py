"""The shortcut of the march under control comes to what minute by minute comes to."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from server.domain.site import Site
from server.simulate.controls import CALM_TICKS
from server.simulate.prepared import Marched, Prepared, prepare
from tests.builders import generator, scenario, with_parts
from tests.simulate.test_controls import busy

DAY = scenario(span_h=48, outage_h=(6, 8))
WAYS: tuple[dict[str, Any], ...] = (
    {"setting_a": 1000},
    {"setting_a": 70},
    {"setting_a": 45},
    {"way": "interlock"},
    {"way": "turns"},
    {"way": "turns", "setting_a": 60},
    {"off_on_generator": True},
)


def marched(ready: Prepared, calm_ticks: int) -> Marched:
    """Draw 0 with so many minutes taken at once."""
    other = replace(ready)
    assert ready.controls is not None
    other.__dict__["controls"] = ready.controls._replace(calm_ticks=calm_ticks)
    return other.march(1, 0)


def same(site: Site) -> tuple[Marched, Marched]:
    ready = prepare(site, DAY)
    swift, slow = (marched(ready, n) for n in (CALM_TICKS, 0))
    for name in ("asked_w", "taken_w", "amps", "zone_f", "level", "held_s", "unserved"):
        one, other = getattr(swift, name), getattr(slow, name)
        assert np.allclose(one, other, rtol=1e-5, atol=1e-2), name
    assert np.allclose(swift.ledger, slow.ledger, rtol=1e-6, atol=1e-3)
    assert np.allclose(swift.zone_wh, slow.zone_wh, rtol=1e-6, atol=1e-3)
    return swift, slow


@pytest.mark.parametrize("group", WAYS, ids=str)
def test_half_hours_and_minutes_come_to_the_same(group: dict[str, Any]) -> None:
    same(busy(**group))


def test_among_what_a_set_feeds_too() -> None:
    site = busy(setting_a=45)
    swift, _ = same(with_parts(site, generators=(generator(),)))
    assert swift.held_s is not None
    assert swift.held_s.any()
