"""Propane cylinders, which are sold by the pound, as gallons of a tank and as heat."""

from __future__ import annotations

from dataclasses import dataclass

from server.physics.engine_set import BTU_PER_UNIT

LB_PER_GAL = 4.24
"""Liquid propane at 60 °F. [lb/gal] As engine makers print it in their sheets of fuels."""
MOST_FILLED = 0.8
"""Of a vessel's room; the rest is left for the liquid to swell into. NFPA 58, from memory."""


@dataclass(frozen=True)
class Cylinders:
    """So many cylinders of a size, full. ``lb`` is the propane that one is sold with. [lb]

    ``stays`` is one that is filled where it stands, as by a fixed set.
    """

    id: str
    words: str
    lb: float
    count: int = 1
    stays: bool = False

    @property
    def liquid_gal(self) -> float:
        """Liquid propane in all of them. [gal]

        >>> round(CYLINDERS["lb-20"].liquid_gal, 2)
        4.72
        """
        return self.count * self.lb / LB_PER_GAL

    @property
    def tank_gal(self) -> float:
        """The tank that is as large, filled no further than a tank may be. [gal]

        >>> CYLINDERS["lb-20"].tank_gal
        5.9
        """
        return round(self.liquid_gal / MOST_FILLED, 2)

    @property
    def heat_btu(self) -> float:
        """Heat of all of it. [Btu]"""
        return self.liquid_gal * BTU_PER_UNIT["propane"]


CYLINDERS = {
    one.id: one
    for one in (
        Cylinders("lb-20", "a 20 lb cylinder", 20),
        Cylinders("lb-20-two", "two 20 lb cylinders", 20, 2),
        Cylinders("lb-30", "a 30 lb cylinder", 30),
        Cylinders("lb-30-two", "two 30 lb cylinders", 30, 2),
        Cylinders("lb-100", "a 100 lb cylinder", 100),
        Cylinders("lb-100-two", "two 100 lb cylinders", 100, 2),
        Cylinders("lb-420-two", "two 420 lb cylinders", 420, 2, stays=True),
    )
}
