"""Short ways to ask a site for its hazards."""

from __future__ import annotations

from typing import Any

from server.domain.finding import Finding
from server.domain.site import Site
from server.domain.supply import SolarArray
from server.rules.hazards import hazards
from tests.builders import (
    circuit,
)


def codes(site: Site) -> list[str]:
    return [f.code for f in hazards(site)]


def the(site: Site, code: str) -> Finding:
    (found,) = [f for f in hazards(site) if f.code == code]
    return found


def pair(one_at: tuple[str, int], other_at: tuple[str, int]) -> tuple[Any, Any]:
    return (
        circuit("m1", *one_at, load_w=900, multiwire_partner_id="m2"),
        circuit("m2", *other_at, load_w=900, multiwire_partner_id="m1"),
    )


def sun(panel_id: str, **changes: Any) -> SolarArray:
    defaults = {"id": "sun", "name": "Roof solar", "panel_id": panel_id, "breaker_a": 30}
    return SolarArray(**defaults | {"dc_kw": 6, "ac_kw": 5} | changes)
