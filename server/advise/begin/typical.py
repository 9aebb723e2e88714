"""What is taken where a person does not know, each with its name and why it is typical."""

from __future__ import annotations

from dataclasses import dataclass

from server.domain.supply import Fuel


@dataclass(frozen=True)
class Typical:
    """A figure taken as a guess. ``words`` name it on a page; ``source`` says where it is from."""

    name: str
    value: float
    unit: str
    source: str

    @property
    def words(self) -> str:
        """The figure as it is offered.

        >>> SERVICE.words
        'a typical 200 A'
        """
        return f"a typical {self.value:,g} {self.unit}"


_COMMON = "common practice, no source"

SERVICE = Typical("Service", 200, "A", f"{_COMMON}: a house with electric heat or cooking")
SECOND_SERVICE = Typical("Second service", 100, "A", f"{_COMMON}: a flat, barn or workshop")
FIXED_SET = Typical("Generator", 16, "kW", f"{_COMMON}: an air-cooled standby set")
PORTABLE_SET = Typical("Generator", 7.2, "kW", f"{_COMMON}: a portable with a 30 A outlet")
SOLAR = Typical("Solar", 6, "kW", f"{_COMMON}: some 15 to 20 modules on a roof")
FLOOR = Typical("Floor area", 2_000, "ft²", _COMMON)
LOSS_PER_FT2 = Typical(
    "Heat loss", 0.2, "Btu/h °F for each ft²", f"{_COMMON}: 200 to 800 Btu/h °F for a house"
)
PROPANE_TANK = Typical("Propane tank", 500, "gal", _COMMON)
DIESEL_TANK = Typical("Diesel tank", 60, "gal", f"{_COMMON}: a tank under the set")
CANS = Typical("Gasoline", 20, "gal", f"{_COMMON}: its own tank and three 5 gal cans")
TANKS: dict[Fuel, Typical] = {
    "propane": PROPANE_TANK,
    "diesel": DIESEL_TANK,
    "gasoline": CANS,
}


def usual_fuel(*, portable: bool) -> Fuel:
    """What a set commonly burns. Common practice, no source."""
    return "gasoline" if portable else "propane"


PATIENCE = Typical("Longest time dark, for what you say must not be", 60, "min", _COMMON)
BACKED_FEED = Typical("Feeder to the backed-up panel", 100, "A", _COMMON)
THROW_FEED = Typical("Each feed of the switchable panel", 60, "A", _COMMON)
INVERTER_SHARE = 0.8
"""kW ac of an inverter for each kW dc of its modules. Common practice, no source."""


def inverter(dc_kw: float) -> Typical:
    """The inverter that is taken with modules of so many kW dc.

    >>> inverter(6).words
    'a typical 4.8 kW ac'
    """
    source = f"{_COMMON}: {INVERTER_SHARE:g} of the {dc_kw:g} kW dc of the modules"
    return Typical("Inverter", round(dc_kw * INVERTER_SHARE, 2), "kW ac", source)


@dataclass(frozen=True)
class Climate:
    """How cold and hot it gets, and about where that is. Common practice, no source."""

    id: str
    words: str
    low_f: float
    high_f: float
    latitude_deg: float


CLIMATES = {
    climate.id: climate
    for climate in (
        Climate("hot", "Mild winters, long hot summers: 30 to 100 °F", 30, 100, 31),
        Climate("mild", "Mild all year: 32 to 85 °F", 32, 85, 38),
        Climate("middle", "Cold winters, hot summers: 15 to 95 °F", 15, 95, 39),
        Climate("cold", "Hard winters: −5 to 90 °F", -5, 90, 44),
        Climate("far-north", "Very hard winters: −20 to 85 °F", -20, 85, 47),
    )
}
USUAL_CLIMATE = CLIMATES["middle"]
