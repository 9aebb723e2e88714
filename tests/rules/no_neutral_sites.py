"""A pump house on a feeder of two hots and a ground, for 240 V alone."""

from __future__ import annotations

from typing import Any

from server.domain.circuit import Circuit
from server.domain.panel import Panel
from server.domain.site import Site
from server.domain.supply import Segment
from tests.builders import circuit, feeder, panel, service


def pump_house(
    *more: Circuit, at: dict[str, Any] | None = None, wire: dict[str, Any] | None = None, **run: Any
) -> Site:
    """One well pump of 3,600 W behind 300 ft of 6 copper; ``at`` changes its panel."""
    length = Segment(
        **{"run_ft": 300, "size": "6", "ground_size": "6", "insulation": "XHHW-2"} | (wire or {})
    )
    pump: Panel = panel("pump", **{"rating_a": 60, "detached_building": True} | (at or {}))
    told = {"breaker_a": 30, "spaces": (1, 3), "no_neutral": True, "segments": (length,)}
    return Site(
        name="Pump house",
        services=(service(),),
        panels=(panel("main", neutral_bonded=True, main_a=200), pump),
        feeders=(feeder("grid", "main"), feeder("main", "pump", **told | run)),
        circuits=(circuit("well", "pump", 1, 3, load_w=3600, breaker_a=20), *more),
    )
