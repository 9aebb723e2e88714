"""A run of wire to be sized, and the answer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from server.domain.errors import InputError
from server.domain.working import Working
from server.rules.leg import LEG_V
from server.rules.ranges import Range, within
from server.rules.tables import Metal
from server.rules.wiring.ampacity import Ampacity
from server.rules.wiring.drop import Drop
from server.rules.wiring.raceway import Fill

Reckoning = Literal["dc", "impedance", "both"]
Winner = Literal["ampacity", "drop", "same"]


RANGES = {
    "run_ft": Range(0, 20_000, "ft"),
    "noncontinuous_a": Range(0, 6000, "A"),
    "continuous_a": Range(0, 6000, "A"),
    "start_a": Range(0, 5000, "A"),
    "volts": Range(12, 600, "V"),
    "power_factor": Range(0.05, 1),
    "drop_share": Range(0.001, 0.5),
    "device_a": Range(1, 1200, "A"),
    "sets": Range(1, 6, whole=True),
    "ambient_c": Range(-40, 85, "°C"),
    "current_carrying": Range(1, 1000, whole=True),
    "neutral_a": Range(0, 6000, "A"),
}
"""What each figure of a run may be; the tables end where these do."""
_CHECKED_AT_ONCE = (
    "run_ft",
    "noncontinuous_a",
    "continuous_a",
    "volts",
    "power_factor",
    "start_a",
    "drop_share",
)


@dataclass(frozen=True)
class Run:
    """One run of wire to be sized.

    ``device_a`` None takes the next standard device for the load. ``terminal_c`` None follows
    110.14(C). ``whole_dwelling`` lets the 83 % rule apply. ``neutral_a`` None leaves the neutral
    out; ``neutral_drop_a`` is what it carries in line with the heavier leg while both legs carry
    their load, None where they are alike. ``start_a`` is the locked-rotor current of a motor that
    starts on top of the load.
    ``least_a`` is what its wire carries whatever its load, as that of a set without a device.
    ``held`` is what the load was brought down to, as the device it stands behind; empty where it
    was not.
    ``drop_share`` is the drop not to be passed, 3 % of the volts unless said otherwise.
    """

    run_ft: float
    noncontinuous_a: float = 0.0
    continuous_a: float = 0.0
    metal: Metal = "copper"
    volts: float = 240.0
    power_factor: float = 1.0
    drop_share: float | None = None
    reckoning: Reckoning = "dc"
    device_a: float | None = None
    full_rated: bool = False
    receptacles: bool = False
    whole_dwelling: bool = False
    sets: int = 1
    letters: str = "THWN-2"
    ambient_c: float = 30.0
    current_carrying: int = 3
    wet: bool = False
    terminal_c: int | None = None
    conduit: str = "pvc"
    neutral_a: float | None = None
    service: bool = False
    ground_metal: Metal = "copper"
    start_a: float = 0.0
    neutral_drop_a: float | None = None
    least_a: float = 0.0
    held: str = ""

    def __post_init__(self) -> None:
        for name in _CHECKED_AT_ONCE:
            value, permitted = getattr(self, name), RANGES[name]
            if value is not None:
                within(value, permitted.low, permitted.high, field=name, unit=permitted.unit)
        if self.noncontinuous_a + self.continuous_a <= 0:
            raise InputError("A load above 0 A is needed.", field="noncontinuous_a")

    @property
    def two_wire(self) -> bool:
        """Whether it is one hot and a neutral, which then carry the same."""
        return self.volts <= LEG_V

    @property
    def load_a(self) -> float:
        """All of the load at 100 %. [A]"""
        return self.noncontinuous_a + self.continuous_a


@dataclass(frozen=True)
class Candidate:
    """One size tried: its ampacity and drop, and whether each is enough."""

    size: str
    ampacity: Ampacity
    carries: bool
    why_not: str
    drop: Drop
    drop_share: float
    drops_ok: bool


@dataclass(frozen=True)
class RunAnswer:
    """What a run needs. ``won`` says whether ampacity or drop set the size, or both alike.

    ``ampacity_size`` and ``drop_size`` are the smallest size for each alone. ``dwelling_share`` is
    whether the 83 % rule was used.
    """

    run: Run
    device: Working
    device_a: float
    size: str
    ampacity_size: str
    drop_size: str
    dwelling_share: bool
    won: Winner
    reason: str
    candidates: tuple[Candidate, ...]
    drop: Drop
    start_drop: Drop | None
    neutral_size: str | None
    ground_size: str
    ground: Working
    raceways: dict[str, Fill | None]
