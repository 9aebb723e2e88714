"""What a generator set can give, and the fuels it burns."""

from __future__ import annotations

from typing import Literal

from server.physics.legs import System

Fuel = Literal["propane", "natural_gas", "gasoline", "diesel"]

BTU_PER_UNIT: dict[Fuel, float] = {
    # EIA "Units and calculators explained" (2021-22 figures); propane EIA 2012. Natural gas is
    # counted in 1000 Btu, so its unit is 1000 Btu itself.
    "propane": 91_333.0,
    "gasoline": 120_214.0,
    "diesel": 137_381.0,
    "natural_gas": 1_000.0,
}
UNIT_OF_FUEL: dict[Fuel, str] = {
    "propane": "gal",
    "gasoline": "gal",
    "diesel": "gal",
    "natural_gas": "kBtu",
}


def derated_kw(
    *,
    rated_kw: float,
    altitude_ft: float,
    outdoor_f: float,
    altitude_derate_per_1000ft: float,
    altitude_free_ft: float,
    heat_derate_per_10f: float,
    heat_free_f: float,
) -> float:
    """Kilowatts left at this altitude and temperature. [kW].

    rated x (1 - a (altitude - free)/1000) x (1 - h (outdoor - free)/10), never negative. The rates
    come from the maker's sheet; 3.5 % per 1000 ft and 1 % per 10 F over 77 F is one printed pair.

    >>> round(derated_kw(rated_kw=20, altitude_ft=2000, outdoor_f=97,
    ...     altitude_derate_per_1000ft=0.035, altitude_free_ft=0,
    ...     heat_derate_per_10f=0.01, heat_free_f=77), 3)
    18.228
    """
    thin = max(0.0, altitude_ft - altitude_free_ft) / 1000.0 * altitude_derate_per_1000ft
    warm = max(0.0, outdoor_f - heat_free_f) / 10.0 * heat_derate_per_10f
    return max(0.0, rated_kw * (1.0 - thin) * (1.0 - warm))


def leg_limit_a(*, kva: float, system: System) -> float:
    """Amps one leg can carry. [A].

    120/240 V: kVA x 1000/240. 120 V only: kVA x 1000/120 for the one hot. 120/208 V: two legs of a
    three-phase wye set, kVA x 1000/360.

    >>> round(leg_limit_a(kva=20, system="120/240"), 1)
    83.3
    """
    volts = {"120/240": 240.0, "120": 120.0, "120/208": 360.0}[system]
    return kva * 1000.0 / volts
