"""Small sites for tests, one for each way of feeding a house."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.panel import Panel
from server.domain.scenario import Scenario, Weather, Window
from server.domain.site import Site
from server.domain.supply import (
    DoubleThrow,
    Feeder,
    Generator,
    Handle,
    Service,
    SolarArray,
    TransferSwitch,
)

START = datetime(2026, 11, 26, 12)


def service(part_id: str = "grid", **changes: Any) -> Service:
    return Service(**{"id": part_id, "name": f"Service {part_id}", "main_a": 200} | changes)


def generator(part_id: str = "set", **changes: Any) -> Generator:
    return Generator(**{"id": part_id, "name": f"Generator {part_id}", "rated_kw": 20} | changes)


def panel(part_id: str, **changes: Any) -> Panel:
    defaults = {"id": part_id, "name": f"Panel {part_id}", "rating_a": 200, "spaces": 20}
    return Panel(**defaults | changes)


def feeder(from_id: str, to_id: str, to_input: str | None = None, **changes: Any) -> Feeder:
    feeder_id = "-".join(filter(None, (from_id, to_id, (to_input or "").replace("_", "-"))))
    defaults = {"id": feeder_id, "name": f"Feeder {feeder_id}", "from_id": from_id, "to_id": to_id}
    return Feeder(**defaults | {"to_input": to_input} | changes)


def appliance(part_id: str, load_w: float, *, volts: int = 120, **changes: Any) -> Appliance:
    return Appliance(**{"id": part_id, "name": part_id, "load_w": load_w, "volts": volts} | changes)


def circuit(
    part_id: str, panel_id: str, *spaces: int, load_w: float | None = None, **changes: Any
) -> Circuit:
    """A circuit; two spaces make it 2-pole, ``load_w`` puts one constant load on it."""
    poles = len(spaces)
    loads = () if load_w is None else (appliance(f"{part_id}-load", load_w, volts=120 * poles),)
    defaults = {"id": part_id, "name": f"Circuit {part_id}", "panel_id": panel_id, "poles": poles}
    return Circuit(**defaults | {"spaces": spaces, "appliances": loads} | changes)


def scenario(
    part_id: str = "day",
    *,
    span_h: float = 6,
    outage_h: tuple[float, float] | None = None,
    **changes: Any,
) -> Scenario:
    """A scenario from noon; ``outage_h`` are hours after its start."""
    outages = ()
    if outage_h is not None:
        first, last = (START + timedelta(hours=h) for h in outage_h)
        outages = (Window(start=first, end=last),)
    defaults = {"id": part_id, "name": f"Scenario {part_id}", "start": START, "span_h": span_h}
    weather = Weather(low_f=40, high_f=40)
    return Scenario(**defaults | {"outages": outages, "weather": weather} | changes)


def with_parts(site: Site, **changes: Any) -> Site:
    """The site with fields replaced, validated anew (raises pydantic's error as it is)."""
    return Site.model_validate({n: getattr(site, n) for n in Site.model_fields} | changes)


def normal_only_site(**changes: Any) -> Site:
    """One service, one panel: circuits a and b on opposite legs, c at 240 V."""
    parts: dict[str, Any] = {
        "name": "Normal only",
        "services": (service(),),
        "panels": (panel("main", main_a=200, neutral_bonded=True),),
        "feeders": (feeder("grid", "main"),),
        "circuits": (
            circuit("a", "main", 1, load_w=1200),
            circuit("b", "main", 3, load_w=600),
            circuit("c", "main", 5, 7, load_w=2400, breaker_a=30),
        ),
        "scenarios": (scenario(),),
    }
    return Site(**parts | changes)


def backed_up_site(**changes: Any) -> Site:
    """A backed-up panel behind an automatic transfer switch, fed from the main panel."""
    parts: dict[str, Any] = {
        "name": "Backed-up panel",
        "services": (service(),),
        "generators": (generator(),),
        "transfer_switches": (TransferSwitch(id="ats", name="Transfer switch", rating_a=100),),
        "panels": (
            panel("main", main_a=200, neutral_bonded=True),
            panel("backed", rating_a=125),
        ),
        "feeders": (
            feeder("grid", "main"),
            feeder("main", "ats", "utility", breaker_a=100, spaces=(2, 4)),
            feeder("set", "ats", "generator", breaker_a=90),
            feeder("ats", "backed"),
        ),
        "circuits": (
            circuit("a", "main", 1, load_w=1200),
            circuit("b", "backed", 1, load_w=600),
            circuit("c", "backed", 3, load_w=1800),
            circuit("d", "backed", 5, 7, load_w=2400, breaker_a=30),
        ),
        "scenarios": (scenario(), scenario("out", outage_h=(2, 5))),
    }
    return Site(**parts | changes)


def double_throw_site(
    *, resting: str = "normal", switches_neutral: bool = True, solar: bool = False, **changes: Any
) -> Site:
    """The backed-up site with a switchable panel, and solar on the main panel when asked."""
    base = backed_up_site()
    throw = DoubleThrow(
        id="throw",
        name="Double-throw",
        rating_a=60,
        poles=3 if switches_neutral else 2,
        resting=resting,
        switches_neutral=switches_neutral,
    )
    array = SolarArray(
        id="sun",
        name="Roof solar",
        panel_id="main",
        dc_kw=6,
        ac_kw=5,
        breaker_a=30,
        spaces=(18, 20),
    )
    parts: dict[str, Any] = {
        "name": "Switchable panel",
        "double_throws": (throw,),
        "panels": (*base.panels, panel("swing", rating_a=100)),
        "feeders": (
            *base.feeders,
            feeder("main", "throw", "normal", breaker_a=60, spaces=(6, 8)),
            feeder("backed", "throw", "backed_up", breaker_a=60, spaces=(2, 4)),
            feeder("throw", "swing"),
        ),
        "circuits": (
            *base.circuits,
            circuit("e", "swing", 1, load_w=900),
            circuit("f", "swing", 5, 7, load_w=4500, breaker_a=30),
        ),
        "solar": (array,) if solar else (),
    }
    return with_parts(base, **parts | changes)


def whole_house_site(*, kind: str = "automatic", **changes: Any) -> Site:
    """A service-rated transfer switch ahead of the only panel."""
    switch = TransferSwitch(
        id="ats", name="Transfer switch", kind=kind, rating_a=200, service_rated=True
    )
    parts: dict[str, Any] = {
        "name": "Whole house",
        "services": (service(),),
        "generators": (generator(),),
        "transfer_switches": (switch,),
        "panels": (panel("main", neutral_bonded=False),),
        "feeders": (
            feeder("grid", "ats", "utility"),
            feeder("set", "ats", "generator", breaker_a=90),
            feeder("ats", "main"),
        ),
        "circuits": (
            circuit("a", "main", 1, load_w=1200),
            circuit("b", "main", 3, load_w=600),
            circuit("c", "main", 5, 7, load_w=4500, breaker_a=30, outage_role="off"),
        ),
        "scenarios": (scenario(), scenario("out", outage_h=(2, 5))),
    }
    return Site(**parts | changes)


def portable(**changes: Any) -> Generator:
    """A hand-started gasoline set with receptacle, cord and inlet of 30 A."""
    defaults = {
        "rated_kw": 7.2,
        "portable": True,
        "start": "by_hand",
        "fuel": "gasoline",
        "breaker_a": 30,
        "receptacle_a": 30,
        "cord_a": 30,
        "inlet_a": 30,
    }
    return generator(**defaults | changes)


def interlock_site(**changes: Any) -> Site:
    """A portable set through an inlet and an interlock on the only panel."""
    switch = TransferSwitch(id="lock", name="Interlock", kind="interlock", rating_a=100)
    parts: dict[str, Any] = {
        "name": "Interlock",
        "services": (service(main_a=100),),
        "generators": (portable(),),
        "transfer_switches": (switch,),
        "panels": (panel("main", rating_a=100, main_a=100, neutral_bonded=True),),
        "feeders": (
            feeder("grid", "lock", "utility"),
            feeder("set", "lock", "generator", breaker_a=30),
            feeder("lock", "main"),
        ),
        "circuits": (
            circuit("a", "main", 1, load_w=1200),
            circuit("b", "main", 3, load_w=600),
            circuit("c", "main", 5, 7, load_w=4500, breaker_a=30, outage_role="off"),
        ),
        "scenarios": (scenario(), scenario("out", outage_h=(2, 5))),
    }
    return Site(**parts | changes)


def set_120_only_site(**changes: Any) -> Site:
    """The interlock site with a 120 V-only set: both legs in phase, 240 V loads dead."""
    small = portable(rated_kw=3.6, system="120")
    return with_parts(interlock_site(), **{"name": "120 V set", "generators": (small,)} | changes)


def handle_set_site(**changes: Any) -> Site:
    """Two circuits of the main panel on transfer handles, one stays on the grid."""
    switch = TransferSwitch(
        id="handles",
        name="Handle set",
        kind="handles",
        rating_a=30,
        handles=(Handle(circuit_id="a", leg="L1"), Handle(circuit_id="b", leg="L1")),
    )
    parts: dict[str, Any] = {
        "name": "Handle set",
        "generators": (portable(),),
        "transfer_switches": (switch,),
        "feeders": (
            feeder("grid", "main"),
            feeder("set", "handles", "generator", breaker_a=30),
        ),
        "scenarios": (scenario(), scenario("out", outage_h=(2, 5))),
    }
    return normal_only_site(**parts | changes)


def two_services_site(**changes: Any) -> Site:
    """Two meters; one set behind a transfer switch for each dwelling, that opens its neutral."""
    opens: dict[str, Any] = {
        "rating_a": 200,
        "service_rated": True,
        "poles": 3,
        "switches_neutral": True,
    }
    parts: dict[str, Any] = {
        "name": "Two services",
        "services": (service("east"), service("west")),
        "generators": (generator(neutral_bonded=True),),
        "transfer_switches": (
            TransferSwitch(id="ats-east", name="East switch", **opens),
            TransferSwitch(id="ats-west", name="West switch", **opens),
        ),
        "panels": (panel("p-east"), panel("p-west")),
        "feeders": (
            feeder("east", "ats-east", "utility"),
            feeder("west", "ats-west", "utility"),
            feeder("set", "ats-east", "generator", breaker_a=50),
            feeder("set", "ats-west", "generator", breaker_a=50),
            feeder("ats-east", "p-east"),
            feeder("ats-west", "p-west"),
        ),
        "circuits": (
            circuit("a", "p-east", 1, load_w=1200),
            circuit("b", "p-west", 1, load_w=600),
            circuit("c", "p-west", 5, 7, load_w=2400, breaker_a=30),
        ),
        "scenarios": (scenario(), scenario("out", outage_h=(2, 5))),
    }
    return Site(**parts | changes)


def system_208_site(**changes: Any) -> Site:
    """One 120/208 V service and panel: legs 120 degrees apart."""
    wye = (service(system="120/208"),)
    return normal_only_site(**{"name": "120/208 V", "services": wye} | changes)


EVERY_SITE = {
    "normal_only": normal_only_site,
    "backed_up": backed_up_site,
    "double_throw": double_throw_site,
    "whole_house": whole_house_site,
    "interlock": interlock_site,
    "set_120_only": set_120_only_site,
    "handle_set": handle_set_site,
    "two_services": two_services_site,
    "system_208": system_208_site,
}
