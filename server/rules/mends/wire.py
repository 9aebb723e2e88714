"""Mends of a feeder's wire: a larger size, ground, neutral or raceway."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.finding import Advised, Finding
from server.domain.site import Site
from server.domain.supply import Segment
from server.rules.demand.report import demand_of
from server.rules.editions import Rulebook
from server.rules.leg import LEG_V
from server.rules.mends.offer import Maker, Offer, changed
from server.rules.mends.supply import smaller_feeder_device
from server.rules.tables import conductor, insulation, raceway_kind
from server.rules.wiring.feeder import FeederWiring, one_feeder
from server.rules.wiring.laid import SegmentWiring
from server.rules.wiring.raceway import trade_size_needed, wires_of
from server.rules.words import listed


def _wiring(site: Site, finding: Finding, rules: Rulebook) -> FeederWiring:
    feeder = next(f for f in site.feeders if f.id == finding.element_id)
    return one_feeder(site, feeder, demand=demand_of(site, feeder.id, rules=rules), rules=rules)


def larger_wire(site: Site, finding: Finding, rules: Rulebook) -> Iterator[Offer]:
    """The size that the mend names for the whole length, with the ground it asks for."""
    one, advised = _wiring(site, finding, rules), finding.advised
    if advised is None or not one.segments or advised.of == "breaker":
        return
    if advised.of == "neutral":
        yield from larger_neutral(site, finding, rules)
        return
    segments = [
        {
            **s.segment.model_dump(),
            "size": advised.size,
            "metal": advised.metal,
            "sets": advised.sets,
            "neutral_size": None,
            **_ground(s.segment, advised),
            "raceway_trade_size": "",
        }
        for s in one.segments
    ]
    fit = ", in a raceway to fit" if any(_in_a_raceway(s.segment) for s in one.segments) else ""
    yield Offer(
        f"{advised} the whole length of {one.name}{fit}",
        # Amps entered were those of the wire that is taken out.
        changed(
            site,
            "feeders",
            [one.feeder_id],
            segments=segments,
            ampacity_a=None,
            neutral_ampacity_a=None,
        ),
    )


def larger_wire_or_smaller_breaker(
    site: Site, finding: Finding, rules: Rulebook
) -> Iterator[Offer]:
    """The wire that the mend names, then a smaller breaker where that alone is enough."""
    yield from larger_wire(site, finding, rules)
    one = _wiring(site, finding, rules)
    feeder = next(f for f in site.feeders if f.id == finding.element_id)
    smaller = one.smaller
    if smaller and smaller.enough and feeder.breaker_a is not None:
        yield Offer(
            f"a breaker of {smaller.device_a:g} A on {feeder.name}",
            changed(site, "feeders", [feeder.id], breaker_a=smaller.device_a),
        )


def _in_a_raceway(segment: Segment) -> bool:
    """Whether it is no cable, or is told to lie in one."""
    return bool(segment.raceway_trade_size or insulation(segment.insulation).family)


def _ground(segment: Segment, advised: Advised) -> dict[str, str]:
    """The ground that the mend names beside its wire, where one is entered."""
    if not advised.ground or not segment.ground_size:
        return {}
    size, metal = advised.ground.split()
    return {"ground_size": size, "ground_metal": metal}


def larger_ground(site: Site, finding: Finding, rules: Rulebook) -> Iterator[Offer]:
    """The ground that the mend names, wherever less lies."""
    one, advised = _wiring(site, finding, rules), finding.advised
    if advised is None:
        return
    lacking = [
        s.ground_enough is False and s.segment.ground_metal == advised.metal for s in one.segments
    ]
    segments = [
        s.segment.model_dump() | ({"ground_size": advised.size} if small else {})
        for s, small in zip(one.segments, lacking, strict=True)
    ]
    yield Offer(
        f"a ground of {advised} in {one.name}",
        changed(site, "feeders", [one.feeder_id], segments=segments),
    )


def copper_ground(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """Copper of the same size for each ground of aluminum, which is never too small."""
    feeder = next(f for f in site.feeders if f.id == finding.element_id)
    segments = [
        s.model_dump() | ({"ground_metal": "copper"} if s.ground_size else {})
        for s in feeder.segments
    ]
    sizes = listed(list(dict.fromkeys(s.ground_size for s in feeder.segments if s.ground_size)))
    yield Offer(
        f"a ground of {sizes} copper in {feeder.name}",
        changed(site, "feeders", [feeder.id], segments=segments),
    )


def larger_neutral(site: Site, finding: Finding, rules: Rulebook) -> Iterator[Offer]:
    """The neutral that the mend names, wherever less lies."""
    one, advised = _wiring(site, finding, rules), finding.advised
    if advised is None:
        return
    if advised.amps is not None:
        stated = changed(site, "feeders", [one.feeder_id], neutral_ampacity_a=advised.amps)
        yield Offer(f"a neutral for {advised} in {one.name}", stated)
        return
    least = conductor(advised.size).cmil
    segments = [
        s.segment.model_dump()
        | (
            {"neutral_size": advised.size}
            if s.segment.neutral_size
            and s.segment.metal == advised.metal
            and s.neutral_enough is not None
            and conductor(s.segment.neutral_size).cmil < least
            else {}
        )
        for s in one.segments
    ]
    yield Offer(
        f"a neutral of {advised} in {one.name}",
        changed(site, "feeders", [one.feeder_id], segments=segments),
    )


def neutral_laid(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """A neutral as large as the hots, which no load behind them can overload."""
    yield Offer(
        f"a neutral as large as its hots in {site.name_of[finding.element_id]}",
        changed(site, "feeders", [finding.element_id], no_neutral=False),
    )


def larger_raceway(site: Site, finding: Finding, rules: Rulebook) -> Iterator[Offer]:
    """The smallest trade size of the same kind that is not too full."""
    one = _wiring(site, finding, rules)

    def fitted(part: SegmentWiring) -> str:
        kind = raceway_kind(part.segment.raceway)
        if kind is None or part.fill is None or part.fill.fits:
            return part.segment.raceway_trade_size
        found = trade_size_needed(
            kind=kind,
            wires=wires_of(
                part.segment,
                part.filled_ground,
                two_wire=one.volts <= LEG_V,
                neutral=not one.no_neutral,
            ),
            rules=rules,
        )
        return found.raceway.trade_size if found is not None else part.segment.raceway_trade_size

    sizes = [fitted(s) for s in one.segments]
    segments = [
        {**s.segment.model_dump(), "raceway_trade_size": size}
        for s, size in zip(one.segments, sizes, strict=True)
    ]
    words = ", ".join(dict.fromkeys(filter(None, sizes)))
    yield Offer(
        f"a {words} in raceway for {one.name}",
        changed(site, "feeders", [one.feeder_id], segments=segments),
    )


def wire_or_breaker_of_a_set(site: Site, finding: Finding, rules: Rulebook) -> Iterator[Offer]:
    """The wire that the mend names from a set, else the device that its wire can stand."""
    if finding.advised is not None and finding.advised.of == "wire":
        yield from larger_wire(site, finding, rules)
    yield from smaller_feeder_device(site, finding, rules)


WIRE_MENDS: dict[str, Maker] = {
    "wire-too-small": larger_wire_or_smaller_breaker,
    "drop-above-advice": larger_wire,
    "generator-conductors": wire_or_breaker_of_a_set,
    "ground-too-small": larger_ground,
    "farm-ground-aluminum": copper_ground,
    "neutral-too-small": larger_neutral,
    "raceway-too-full": larger_raceway,
    "loads-without-neutral": neutral_laid,
}
