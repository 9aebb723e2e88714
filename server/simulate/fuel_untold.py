"""Liquid fuel that a set burns in a run though nobody said where it comes from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from server.domain.site import Site
from server.simulate.fuel_need import LIQUID
from server.simulate.results import SourceResult

LONG_H = 2.0
"""What runs less may do so on one filling of whatever stands by it; our own figure. [h]"""


@dataclass(frozen=True)
class UntoldFuel:
    """A set without a tank, and what it burns in a run of so many hours of its own. [gal]"""

    generator_id: str
    name: str
    fuel: str
    used_gal: float
    run_h: float

    @property
    def clause(self) -> str:
        """That nobody told of it, as what holding costs."""
        return f"nobody has told where {self.much} for {self.name} come from"

    @property
    def note(self) -> str:
        """What the answer rests on."""
        return (
            f"{self.name} burns {self.much} in {self.run_h:.0f} h of this scenario and has no tank "
            "entered: this run goes on as if its fuel never ended, but it stops when what is in it "
            "is burnt."
        )

    @property
    def much(self) -> str:
        """How much of what."""
        return f"about {self.used_gal:.0f} gal of {self.fuel}"


def untold_fuel(site: Site, sources: Iterable[SourceResult]) -> tuple[UntoldFuel, ...]:
    """The sets of a liquid fuel that run for hours without a tank, in the order of the site.

    >>> untold_fuel(Site(name="None"), ())
    ()
    """
    of_set = {s.source_id: s for s in sources if s.kind == "generator"}
    found = []
    for generator in site.generators:
        source = of_set.get(generator.id)
        bare = generator.tank is None and generator.fuel in LIQUID
        if not bare or source is None or source.fuel_used is None or source.run_h < LONG_H:
            continue
        found.append(
            UntoldFuel(
                generator.id,
                generator.name,
                generator.fuel,
                source.fuel_used.value,
                source.run_h,
            )
        )
    return tuple(found)
