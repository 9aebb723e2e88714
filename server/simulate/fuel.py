"""Whether the fuel by a set lasts, by the straight-line figure.

The run itself does not stop a set that runs dry; the verdict says that it would.
"""

from __future__ import annotations

from dataclasses import dataclass

from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.results import SourceResult


@dataclass(frozen=True)
class FuelNeed:
    """Fuel a set burns in a run beside what is there. [gal].

    ``there_gal`` is the fuel at the start and every delivery inside the run; ``reserve_gal`` the
    part of it to be kept.
    """

    name: str
    used_gal: float
    there_gal: float
    reserve_gal: float

    @property
    def runs_dry(self) -> bool:
        """Whether more is burnt than is there."""
        return self.used_gal > self.there_gal

    @property
    def eats_reserve(self) -> bool:
        """Whether the reserve is touched."""
        return self.used_gal > self.there_gal - self.reserve_gal


def fuel_needs(
    site: Site, scenario: Scenario, sources: tuple[SourceResult, ...]
) -> tuple[FuelNeed, ...]:
    """The fuel need of every set that ran and has a tank.

    There: capacity x fill share x share at the start + deliveries, which are taken to fit and to
    come in time.
    """
    burnt = {s.source_id: s.fuel_used for s in sources if s.fuel_used is not None}
    delivered = sum(d.gallons for d in scenario.deliveries if d.at < scenario.end)
    found = []
    for generator in site.generators:
        used = burnt.get(generator.id)
        tank = generator.tank
        if used is None or tank is None or used.value <= 0.0 or used.unit != "gal":
            continue
        full = tank.capacity_gal * tank.fill_share
        found.append(
            FuelNeed(
                name=generator.name,
                used_gal=used.value,
                there_gal=full * scenario.fuel_at_start_share + delivered,
                reserve_gal=tank.capacity_gal * tank.reserve_share,
            )
        )
    return tuple(found)
