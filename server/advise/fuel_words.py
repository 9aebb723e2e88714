"""What to do for fuel: how much to bring and the reserve it covers, how to keep it, what else."""

from __future__ import annotations

import math

from server.domain.cautions import FUEL, PROPANE, Caution
from server.domain.site import Site
from server.simulate.results import FuelNeed

_OTHERWISE = (
    "Or bring less: let it run fewer hours of the day, or carry fewer circuits; each hour off and "
    "each circuit off saves fuel."
)


def short_gal(need: FuelNeed) -> float:
    """Fuel that is missing for the run with the reserve left untouched, 0 where none is. [gal]"""
    return max(need.used_gal + need.reserve_gal - need.there_gal, 0.0)


def bring_words(need: FuelNeed) -> str:
    """How many gallons to have, the sum they come from, and the other way."""
    kept = f" and keeps {need.reserve_gal:.1f} gal in reserve" if need.reserve_gal > 0.05 else ""
    others = f", {need.other_gal:.1f} of them in other appliances," if need.other_gal > 0.05 else ""
    return (
        f"Have about {math.ceil(short_gal(need))} gal more at hand: {need.name} needs about "
        f"{need.used_gal:.1f} gal{others} in this scenario{kept}, and {need.there_gal:.1f} gal are "
        f"there. {_OTHERWISE}"
    )


def storage_caution(site: Site, need: FuelNeed) -> Caution:
    """The caution that stands wherever fuel to bring is told, by the fuel of the set."""
    generator = next(g for g in site.generators if g.id == need.generator_id)
    return PROPANE if generator.fuel == "propane" else FUEL


def to_bring(site: Site, needs: tuple[FuelNeed, ...]) -> tuple[tuple[str, Caution], ...]:
    """For each set whose fuel is short or eats into its reserve: what to bring, and its caution."""
    return tuple(
        (bring_words(n), storage_caution(site, n)) for n in needs if n.runs_dry or n.eats_reserve
    )
