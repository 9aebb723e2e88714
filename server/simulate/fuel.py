"""Whether the fuel by a set lasts, and what was needed where it does not."""

from __future__ import annotations

from datetime import datetime, timedelta

from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.burn import other_per_h
from server.simulate.dry import Played
from server.simulate.fuel_need import LIQUID, FuelNeed


def fuel_needs(site: Site, scenario: Scenario, played: Played) -> tuple[FuelNeed, ...]:
    """The fuel need of every set that burns something and has a tank.

    There: capacity x fill share x share at the start + what of the deliveries inside the run
    found room.
    """
    outages = ((max(w.start, scenario.start), min(w.end, scenario.end)) for w in scenario.outages)
    outage_h = sum(max(0.0, (end - begin) / timedelta(hours=1)) for begin, end in outages)
    found = []
    for generator, gallons, at_s, poured, between, least, ends_s, lacking in zip(
        site.generators,
        played.needed,
        played.dry_s,
        played.poured,
        played.dry_between_s,
        played.least,
        played.ends_s,
        played.lacking,
        strict=True,
    ):
        tank = generator.tank
        if tank is None or gallons is None or gallons <= 0.0:
            continue
        others = other_per_h(generator) * scenario.steps * scenario.step_s / 3600.0
        start_share = tank.fill_share * scenario.fuel_share_of(generator.id)
        found.append(
            FuelNeed(
                generator_id=generator.id,
                name=generator.name,
                used_gal=gallons + others,
                other_gal=others,
                there_gal=tank.capacity_gal * start_share + poured,
                reserve_gal=tank.capacity_gal * tank.reserve_share,
                left_over_gal=_due_gal(scenario, generator.id) - poured,
                least_gal=least,
                lacking_gal=lacking,
                dry_at=_moment(scenario, at_s),
                outage_h=outage_h,
                capacity_gal=tank.capacity_gal,
                fill_share=tank.fill_share,
                start_share=scenario.fuel_share_of(generator.id),
                in_cans=generator.fuel in LIQUID,
                again_at=tuple(scenario.start + timedelta(seconds=s) for s in ends_s[1:]),
                guess=between is not None,
                dry_by_high_at=_moment(scenario, between[0] if between else at_s),
                dry_by_low_at=_moment(scenario, between[1] if between else at_s),
            )
        )
    return tuple(found)


def _moment(scenario: Scenario, at_s: float) -> datetime | None:
    if at_s == float("inf"):
        return None
    return scenario.start + timedelta(seconds=at_s)


def _due_gal(scenario: Scenario, set_id: str) -> float:
    """What is delivered for the tank of a set in the run. [gal]"""
    return sum(d.gallons for d in scenario.deliveries_to(set_id))
