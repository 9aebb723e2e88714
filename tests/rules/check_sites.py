"""Small sites to check, and what is found on them."""

from __future__ import annotations

from server.domain.behaviour import Zone
from server.domain.catalogue import KINDS
from server.domain.circuit import Circuit
from server.domain.supply import Feeder, Segment, SolarArray
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


def garage(cars, *, breaker_a=100, plugs_w=0, group=None, size="3", main_a=200, **changes):
    """A house with a garage on a feeder, ``gf``: cars of 48 A each, and plugs."""
    held = {"energy_group_id": group.id, "outage_role": "managed"} if group else {}
    loads = [
        of_kind(f"car{i}", "garage", (4 * i + 1, 4 * i + 3), "car-charger-48", breaker_a=60)
        for i in range(cars)
    ]
    house = of_kind("tank", "main", (1, 3), "water-heater", breaker_a=30)
    plugs = [of_kind("plugs", "garage", (2,), "plugs", load_w=plugs_w)] if plugs_w else []
    base = plain(house)
    (main,), (service,) = base.panels, base.services
    wire = Segment(run_ft=60, size=size, neutral_size=size, ground_size="8", terminal_c=75)
    return with_parts(
        base,
        services=(service.model_copy(update={"main_a": main_a}),),
        panels=(
            main.model_copy(update={"rating_a": 200, "main_a": main_a}),
            builders.panel("garage", rating_a=125),
        ),
        feeders=(
            *base.feeders,
            Feeder(
                id="gf",
                name="Garage feeder",
                from_id="main",
                to_id="garage",
                breaker_a=breaker_a,
                segments=(wire,),
                **changes,
            ),
        ),
        circuits=(house, *plugs, *(c.model_copy(update=held) for c in loads)),
        energy_groups=(group,) if group else (),
    )
