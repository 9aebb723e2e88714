"""The limit list of a site: every place where current meets a rating."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from server.domain.site import Site
from server.domain.supply import Generator
from server.domain.told import source_of
from server.domain.topology import buses
from server.domain.working import Term, Working
from server.physics.engine_set import derated_kw, leg_limit_a
from server.simulate.results import LimitPoint, PointKind

BusOf = dict[str, str]


def limit_points(site: Site, *, outdoor_high_f: float) -> tuple[LimitPoint, ...]:
    """Every limit point of a site, sources first, circuits last.

    ``outdoor_high_f`` is the warmest hour of the scenario, which derates a generator.
    """
    bus = _bus_by_element(site)
    return (
        *_service_points(site, bus),
        *_generator_points(site, bus, outdoor_high_f),
        *_switch_points(site, bus),
        *_feeder_points(site, bus),
        *_panel_points(site, bus),
        *_solar_points(site, bus),
        *_circuit_points(site),
    )


def site_kw(site: Site, generator: Generator, outdoor_high_f: float) -> float:
    """What this set can give at the altitude of the site and in such heat. [kW]"""
    return derated_kw(
        rated_kw=generator.rated_kw,
        altitude_ft=site.place.altitude_ft,
        outdoor_f=outdoor_high_f,
        altitude_derate_per_1000ft=generator.altitude_derate_per_1000ft,
        altitude_free_ft=generator.altitude_free_ft,
        heat_derate_per_10f=generator.heat_derate_per_10f,
        heat_free_f=generator.heat_free_f,
    )


def generator_leg_limit(site: Site, generator: Generator, outdoor_high_f: float) -> Working:
    """Amps a leg of this set can give here, with how it was worked out."""
    left_kw = site_kw(site, generator, outdoor_high_f)
    kva = min(generator.kva, left_kw)
    volts = {"120/240": "240 V", "120": "120 V", "120/208": "(3 × 120 V)"}[generator.system]
    return Working(
        title=f"{generator.name}, amps a leg",
        value=leg_limit_a(kva=kva, system=generator.system),
        unit="A",
        formula=(
            "lesser of kVA and derated kW, × 1000 ÷ "
            f"{volts}; derated kW = rated × (1 − altitude) × (1 − heat)"
        ),
        terms=(
            Term("rated", generator.rated_kw, "kW", source_of(generator, "rated_kw")),
            Term("rated", generator.kva, "kVA", source_of(generator, "rated_kw")),
            Term("altitude", site.place.altitude_ft, "ft", "site"),
            Term("warmest hour", outdoor_high_f, "°F", "scenario"),
            Term("derated", left_kw, "kW", "maker’s derate rates"),
        ),
        source="Derate rates from the maker’s sheet; leg limit is kVA over the legs’ volts.",
    )


AS_ENTERED = "entered for this site"
WIRE_AS_ENTERED = (
    "entered for this site; Wiring works out the amps of its size and terminals, and Findings say "
    "where the entry is above them"
)


def _rating(name: str, amps: float, source: str) -> Working:
    return Working(
        title=f"{name}, rating", value=amps, unit="A", formula="as entered", source=source
    )


def _point(
    kind: PointKind,
    element_id: str,
    name: str,
    amps: float,
    bus_id: str | None,
    *,
    counts: Literal["net", "gross"] = "net",
    continuous_rule: bool = True,
    working: Working | None = None,
) -> LimitPoint:
    return LimitPoint(
        id=f"{kind}:{element_id}",
        name=name,
        kind=kind,
        element_id=element_id,
        bus_id=bus_id,
        leg_rating_a=amps,
        working=working or _rating(name, amps, AS_ENTERED),
        counts=counts,
        continuous_rule=continuous_rule,
    )


def _bus_by_element(site: Site) -> dict[str, str]:
    found = {panel_id: bus.id for bus in buses(site) for panel_id in bus.panel_ids}
    found |= {bus.root_id: bus.id for bus in buses(site) if bus.panel_ids}
    return found


def _service_points(site: Site, bus: BusOf) -> Iterator[LimitPoint]:
    for service in site.services:
        where = bus.get(service.id)
        if service.meter_socket_a:
            yield _point(
                "meter_socket",
                service.id,
                f"{service.name}, meter socket",
                service.meter_socket_a,
                where,
            )
        yield _point("service_main", service.id, f"{service.name}, main", service.main_a, where)


def _generator_points(site: Site, bus: BusOf, outdoor_high_f: float) -> Iterator[LimitPoint]:
    for generator in site.generators:
        fed = {f.to_id for f in site.feeders if f.from_id == generator.id}
        where = bus.get(next(iter(fed)), None) if len(fed) == 1 else None
        working = generator_leg_limit(site, generator, outdoor_high_f)
        yield _point(
            "generator",
            generator.id,
            generator.name,
            max(working.value, 1e-6),
            where,
            continuous_rule=False,
            working=working,
        )
        extras: tuple[tuple[PointKind, str, float | None], ...] = (
            ("generator_breaker", "breaker", generator.breaker_a),
            ("receptacle", "receptacle", generator.receptacle_a),
            ("cord", "cord", generator.cord_a),
            ("inlet", "inlet", generator.inlet_a),
        )
        for kind, word, amps in extras:
            if amps:
                yield _point(
                    kind,
                    generator.id,
                    f"{generator.name}, {word}",
                    amps,
                    where,
                    continuous_rule=kind == "generator_breaker",
                )


def _switch_points(site: Site, bus: BusOf) -> Iterator[LimitPoint]:
    for switch in site.transfer_switches:
        yield _point("transfer_switch", switch.id, switch.name, switch.rating_a, bus.get(switch.id))
    for throw in site.double_throws:
        yield _point("double_throw", throw.id, throw.name, throw.rating_a, bus.get(throw.id))


def _feeder_points(site: Site, bus: BusOf) -> Iterator[LimitPoint]:
    for feeder in site.feeders:
        where = bus.get(feeder.to_id)
        if feeder.breaker_a:
            yield _point(
                "feeder_breaker",
                feeder.id,
                f"{feeder.name}, breaker",
                feeder.breaker_a,
                where,
                continuous_rule=not feeder.full_rated,
            )
        if feeder.ampacity_a:
            yield _point(
                "feeder_conductor",
                feeder.id,
                f"{feeder.name}, conductors",
                feeder.ampacity_a,
                where,
                continuous_rule=False,
                working=_rating(f"{feeder.name}, conductors", feeder.ampacity_a, WIRE_AS_ENTERED),
            )
        if feeder.neutral_ampacity_a:
            yield _point(
                "feeder_neutral",
                feeder.id,
                f"{feeder.name}, neutral",
                feeder.neutral_ampacity_a,
                where,
                continuous_rule=False,
                working=_rating(
                    f"{feeder.name}, neutral", feeder.neutral_ampacity_a, WIRE_AS_ENTERED
                ),
            )


def _panel_points(site: Site, bus: BusOf) -> Iterator[LimitPoint]:
    solar_panels = {array.panel_id for array in site.solar}
    for panel in site.panels:
        yield _point(
            "panel_bus",
            panel.id,
            panel.name,
            panel.rating_a,
            bus.get(panel.id),
            counts="gross" if panel.id in solar_panels else "net",
            continuous_rule=False,
        )
        if panel.main_a:
            yield _point(
                "panel_main", panel.id, f"{panel.name}, main", panel.main_a, bus.get(panel.id)
            )


def _solar_points(site: Site, bus: BusOf) -> Iterator[LimitPoint]:
    for array in site.solar:
        yield _point(
            "solar_breaker",
            array.id,
            f"{array.name}, breaker",
            array.breaker_a,
            bus.get(array.panel_id),
        )


def _circuit_points(site: Site) -> Iterator[LimitPoint]:
    owner = {c: bus.id for bus in buses(site) for c in bus.circuit_ids}
    for circuit in site.circuits:
        yield _point(
            "circuit_breaker",
            circuit.id,
            circuit.name,
            circuit.breaker_a,
            owner.get(circuit.id),
            continuous_rule=not circuit.full_rated,
        )
