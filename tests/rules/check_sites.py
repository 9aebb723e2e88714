"""Small sites to check, and what is found on them."""

from __future__ import annotations

from server.domain.behaviour import Zone
from server.domain.catalogue import KINDS
from server.domain.circuit import Circuit
from server.domain.supply import Segment, SolarArray
from server.rules.editions import rulebook
from tests import builders
from tests.builders import with_parts
from tests.rules.sound import checked

RULES = rulebook("2023")


HOUSE = (Zone(id="house", name="House", loss_btuh_per_f=400),)


def codes(site, **changes):
    return {f.code for f in checked(site, **changes).findings}


def found(site, code, **changes):
    return next(f for f in checked(site, **changes).findings if f.code == code)


def of_kind(circuit_id, panel_id, spaces, kind, **changes):
    circuit_changes = {
        k: changes.pop(k) for k in ("breaker_a", "continuous", "full_rated") if k in changes
    }
    defaults = {
        "id": circuit_id,
        "name": f"Circuit {circuit_id}",
        "panel_id": panel_id,
        "poles": len(spaces),
        "spaces": spaces,
        "breaker_a": KINDS[kind].breaker_a,
        "continuous": KINDS[kind].continuous,
        "appliances": (KINDS[kind].appliance(f"{circuit_id}-load", **changes),),
    }
    return Circuit(**defaults | circuit_changes)


def plain(*circuits, **changes):
    return builders.normal_only_site(
        circuits=circuits, scenarios=(), floor_area_ft2=1500, zones=HOUSE, **changes
    )


def solar_site(*, bus_a=200, main_a=200, breaker_a=40, ac_kw=7.6, spaces=(2, 4), loads=9):
    sun = SolarArray(
        id="sun", name="Solar", panel_id="main", dc_kw=9, ac_kw=ac_kw, breaker_a=breaker_a,
        spaces=spaces,
    )  # fmt: skip
    panel = builders.panel("main", rating_a=bus_a, main_a=main_a, spaces=40, neutral_bonded=True)
    circuits = tuple(
        builders.circuit(f"c{i}", "main", 4 * i + 1, 4 * i + 3, load_w=100, breaker_a=50)
        for i in range(loads)
    )
    return builders.normal_only_site(
        panels=(panel,), circuits=circuits, solar=(sun,), scenarios=(), floor_area_ft2=1500
    )


def wired_shed(size, *, metal="aluminum", run_ft=280.0, breaker_a=100, load_w=20_000, **segment):
    base = builders.backed_up_site(scenarios=(), floor_area_ft2=1200, zones=HOUSE)
    part = Segment(run_ft=run_ft, size=size, metal=metal, **segment)
    feeders = tuple(
        f.model_copy(update={"segments": (part,), "breaker_a": breaker_a})
        if f.to_input == "utility"
        else f
        for f in base.feeders
    )
    kiln = of_kind("kiln", "backed", (9, 11), "heat-strip", load_w=load_w, breaker_a=100)
    return with_parts(base, feeders=feeders, circuits=(*base.circuits, kiln))
