"""Mends of a feeder's wire: a larger size, ground, neutral or raceway."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.finding import Finding
from server.domain.site import Site
from server.rules.demand.report import demand_of
from server.rules.editions import Rulebook
from server.rules.mends.offer import Maker, Offer, changed
from server.rules.tables import raceway_kind
from server.rules.wiring.drop import LEG_V
from server.rules.wiring.feeder import FeederWiring, SegmentWiring, one_feeder
from server.rules.wiring.raceway import trade_size_needed, wires_of


def _wiring(site: Site, finding: Finding, rules: Rulebook) -> FeederWiring:
    feeder = next(f for f in site.feeders if f.id == finding.element_id)
    return one_feeder(site, feeder, demand=demand_of(site, feeder.id, rules=rules), rules=rules)


def larger_wire(site: Site, finding: Finding, rules: Rulebook) -> Iterator[Offer]:
    """The smallest size that carries the load and holds the drop, with the ground it asks for."""
    one = _wiring(site, finding, rules)
    if one.advice is None or not one.segments:
        return
    advice = one.advice
    segments = [
        {
            **s.segment.model_dump(),
            "size": advice.size,
            "metal": advice.run.metal,
            "sets": advice.run.sets,
            "neutral_size": None,
            "ground_size": (
                advice.ground_size if s.segment.ground_size and not one.service else None
            ),
            "ground_metal": advice.run.ground_metal,
            "raceway_trade_size": "",
        }
        for s in one.segments
    ]
    yield Offer(
        f"{advice.size} {advice.run.metal} the whole length of {one.name}, in a raceway to fit",
        changed(site, "feeders", [one.feeder_id], segments=segments),
    )


def larger_ground(site: Site, finding: Finding, rules: Rulebook) -> Iterator[Offer]:
    """The ground that the device asks for."""
    one = _wiring(site, finding, rules)
    segments = [
        {**s.segment.model_dump(), "ground_size": s.ground_size or s.segment.ground_size}
        for s in one.segments
    ]
    sizes = ", ".join(
        dict.fromkeys(
            f"{s.ground_size} {s.segment.ground_metal}" for s in one.segments if s.ground_size
        )
    )
    yield Offer(
        f"a ground of {sizes} in {one.name}",
        changed(site, "feeders", [one.feeder_id], segments=segments),
    )


def larger_neutral(site: Site, finding: Finding, rules: Rulebook) -> Iterator[Offer]:
    """A neutral as large as the wires of the legs."""
    one = _wiring(site, finding, rules)
    segments = [{**s.segment.model_dump(), "neutral_size": None} for s in one.segments]
    yield Offer(
        f"a neutral of the legs’ size in {one.name}",
        changed(site, "feeders", [one.feeder_id], segments=segments, neutral_ampacity_a=None),
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
            wires=wires_of(part.segment, part.ground_size, two_wire=one.volts <= LEG_V),
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


WIRE_MENDS: dict[str, Maker] = {
    "wire-too-small": larger_wire,
    "drop-above-advice": larger_wire,
    "ground-too-small": larger_ground,
    "neutral-too-small": larger_neutral,
    "raceway-too-full": larger_raceway,
}
