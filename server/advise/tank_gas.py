"""Whether a propane tank gives gas as fast as its set burns it, in the cold and as it empties."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

import numpy as np

from server.domain.finding import Finding
from server.domain.supply import FuelTank, Generator
from server.domain.working import Term, Working
from server.physics.engine_set import BTU_PER_UNIT
from server.physics.propane_vapour import BOILS_F, Vapour, vapour
from server.rules.words import btu_words
from server.simulate.levels import burnt_by, levels
from server.simulate.results import Run
from server.simulate.verdict import moment
from server.simulate.weather import outdoor_f

_HOUR_S = 3600.0
_EVERY_S = 900.0
LEAST_LEVEL = 0.1
"""The tables begin at a tenth full, and gas falls straight to none below. Where the fuel ends in a
run that alone is told, not the gas of its last hours."""
Status = Literal["within", "unsure", "over"]
_RANKS: tuple[Status, ...] = ("within", "unsure", "over")
COLD_F = 40.0
"""Air that people call cold, for the words alone. [F]"""
_SIZES_GAL = (120.0, 250.0, 320.0, 500.0, 1000.0)
"""Tanks that are commonly sold. From memory."""


@dataclass(frozen=True)
class TankGas:
    """The hour of a run in which a propane tank is drawn on hardest for what it gives.

    ``burn`` and ``gives`` are in Btu/h; ``at`` is the end of the hour. ``status`` is ``over``
    where more is burnt than given, ``unsure`` where it is more than a table that ends there tells.
    """

    set_id: str
    name: str
    at: datetime
    burn: Working
    gives: Working
    level: float
    outdoor_f: float
    capacity_gal: float
    vessels: int
    others_btu_h: float
    at_least: bool
    status: Status
    mend: str
    fill: str

    @property
    def vessel(self) -> str:
        """Its tank, or so many vessels, in words."""
        if self.vessels == 1:
            return f"its {self.capacity_gal:g} gal tank"
        return f"its {self.vessels} vessels of {self.capacity_gal / self.vessels:.3g} gal"

    @property
    def words(self) -> str:
        """Burn, gas and the moment in a sentence or two."""
        least = "at least" if self.at_least else "about"
        said = (
            f"{self.name} burns {btu_words(self.burn.value)} Btu/h of propane in the hour to "
            f"{moment(self.at)}{' with the other appliances' if self.others_btu_h else ''}; "
            f"{self.vessel}, {100.0 * self.level:.0f} % full at {self.outdoor_f:.0f} °F, "
            f"{'give' if self.vessels > 1 else 'gives'} {least} "
            f"{btu_words(self.gives.value)} Btu/h."
        )
        if self.outdoor_f <= BOILS_F:
            return (
                f"{said.rsplit(';', 1)[0]}; at {self.outdoor_f:.0f} °F, no warmer than "
                f"{BOILS_F:.0f} °F where propane boils, {self.vessel} "
                f"{'give' if self.vessels > 1 else 'gives'} none. The set stops with fuel in the "
                "tank."
            )
        if self.status == "within":
            return f"{said} That is the closest it comes."
        if self.status == "unsure":
            return f"{said} The tables tell no more; ask the gas supplier."
        return f"{said} The set may lose power or stop with fuel in the tank."


def tank_gas(run: Run) -> tuple[TankGas, ...]:
    """The hardest hour of each propane set with a tank that burns anything in the run."""
    found = (
        _hardest(run, generator, generator.tank, row)
        for row, generator in enumerate(run.site.generators)
        if generator.fuel == "propane" and generator.tank is not None
    )
    return tuple(one for one in found if one is not None)


def tank_gas_findings(found: tuple[TankGas, ...]) -> tuple[Finding, ...]:
    """Tanks that give less gas than is burnt, and a note where the tables end below the burn."""
    return tuple(
        Finding(
            "tank-gives-too-little" if one.status == "over" else "tank-gas-asked",
            "warning" if one.status == "over" else "note",
            one.set_id,
            one.words,
            one.mend,
            source=one.gives.source,
            value=round(one.burn.value),
            limit=round(one.gives.value),
            unit="Btu/h",
        )
        for one in found
        if one.status != "within"
    )


def _hardest(run: Run, generator: Generator, tank: FuelTank, row: int) -> TankGas | None:
    scenario = run.scenario
    left = next(one for one in levels(run) if one.id == generator.id)
    at_s, burnt = burnt_by(run, generator, row)
    step_s = float(scenario.step_s)
    span_s = len(left.values) * step_s
    every = max(round(_EVERY_S / step_s), 1)
    ends = np.arange(every, len(left.values) + 1, every)
    end_s = (ends * step_s).astype(np.float64)
    hour_s = np.minimum(end_s, min(_HOUR_S, span_s))
    gallons = np.interp(end_s, at_s, burnt) - np.interp(end_s - hour_s, at_s, burnt)
    burn_gal_h = gallons / (hour_s / _HOUR_S)
    share = left.values[ends - 1] / max(tank.capacity_gal, 1e-9)
    air_f = outdoor_f(scenario.weather, scenario.start, end_s)
    worst: tuple[int, float, int] | None = None
    ends_dry = any(need.generator_id == generator.id and need.runs_dry for need in run.fuel)
    told = share >= LEAST_LEVEL if ends_dry else share > 0.0
    for k in np.flatnonzero((burn_gal_h > 1e-6) & told):
        gas = _gas(tank, float(share[k]), float(air_f[k]))
        burn = float(burn_gal_h[k]) * BTU_PER_UNIT["propane"] + tank.other_btu_h
        hard = burn / max(gas.btu_h, 1e-9)
        rank = (_RANKS.index(_status(hard, at_least=gas.at_least)), hard, int(k))
        worst = rank if worst is None else max(worst, rank)
    if worst is None:
        return None
    at = worst[2]
    return _told(
        generator,
        tank,
        scenario.start + timedelta(seconds=float(end_s[at])),
        gal_h=float(burn_gal_h[at]),
        level=float(share[at]),
        air_f=float(air_f[at]),
        cut_off=scenario.cut_off,
    )


def _gas(
    tank: FuelTank, level: float, air_f: float, *, capacity_gal: float | None = None
) -> Vapour:
    """What a tank, or another of this room in as many vessels, gives."""
    room_gal = tank.capacity_gal if capacity_gal is None else capacity_gal
    return vapour(capacity_gal=room_gal, level=level, outdoor_f=air_f, vessels=tank.vessels)


def _status(hard: float, *, at_least: bool) -> Status:
    if hard <= 1.0:
        return "within"
    return "unsure" if at_least else "over"


def _told(
    generator: Generator,
    tank: FuelTank,
    at: datetime,
    *,
    gal_h: float,
    level: float,
    air_f: float,
    cut_off: bool,
) -> TankGas:
    gas, others = _gas(tank, level, air_f), tank.other_btu_h
    heat = BTU_PER_UNIT["propane"]
    burn = Working(
        title=f"{generator.name}, propane burnt in the hour to {moment(at)}",
        value=gal_h * heat + others,
        unit="Btu/h",
        formula="gallons in the hour × heat of a gallon"
        + (" + other appliances on the tank" if others else ""),
        terms=(
            Term("burn", gal_h, "gal/h", "this run"),
            Term("heat of a gallon", heat, "Btu/gal", "EIA 2012"),
            *([Term("other appliances", others, "Btu/h", "as entered, a mean")] if others else []),
        ),
        source="A mean of an hour, as the liquid’s own warmth carries shorter peaks: common "
        "practice, no source. Other appliances on the tank count by the mean that was entered.",
    )
    gives = Working(
        title=f"{generator.name}, gas its tank gives" + (", at least" if gas.at_least else ""),
        value=gas.btu_h,
        unit="Btu/h",
        formula="table by room and outdoor temperature, by the level"
        + (", of one vessel × vessels" if tank.vessels > 1 else ""),
        terms=(
            Term("room of the tank", tank.capacity_gal, "gal", "the set’s tank"),
            *([Term("vessels", tank.vessels, "", "the set’s tank")] if tank.vessels > 1 else []),
            Term("level", 100.0 * level, "% full", "this run"),
            Term("outdoors", air_f, "°F", "the scenario"),
        ),
        source=gas.source,
    )
    return TankGas(
        set_id=generator.id,
        name=generator.name,
        at=at,
        burn=burn,
        gives=gives,
        level=level,
        outdoor_f=air_f,
        capacity_gal=tank.capacity_gal,
        vessels=tank.vessels,
        others_btu_h=others,
        at_least=gas.at_least,
        status=_status(burn.value / max(gas.btu_h, 1e-9), at_least=gas.at_least),
        mend=_mend(tank, burn.value, level, air_f),
        fill=_fill(tank, burn.value, air_f, cut_off=cut_off),
    )


def _mend(tank: FuelTank, burn_btu_h: float, level: float, air_f: float) -> str:
    """A larger tank of a common size, a fuller one or less load, the first two re-reckoned.

    Below the boiling point none of them helps.
    """
    if air_f <= BOILS_F:
        return (
            "No tank of propane, however large or full, gives gas in such cold. Ask the gas "
            "supplier, and keep another source of power and heat for it."
        )
    one = tank.model_copy(update={"vessels": 1})
    larger = next(
        (
            s
            for s in _SIZES_GAL
            if s > tank.capacity_gal / tank.vessels
            and _gas(one, level, air_f, capacity_gal=s).btu_h >= burn_btu_h
        ),
        None,
    )
    size = f" ({larger:g} gal gives that, as full)" if larger is not None else ""
    filled = _gas(tank, tank.fill_share, air_f).btu_h
    fuller = "gives that" if filled >= burn_btu_h else f"still gives only {btu_words(filled)} Btu/h"
    when = "the cold" if air_f <= COLD_F else "the outage"
    lower = "while it is this cold" if air_f <= COLD_F else "as its level falls"
    return (
        f"Take a larger tank{size}, have it filled before {when} (filled, it {fuller}), or carry "
        f"less on the set {lower}."
    )


def _fill(tank: FuelTank, burn_btu_h: float, air_f: float, *, cut_off: bool) -> str:
    """To what level a tank is kept for what is burnt, in steps of a twentieth; empty in deep cold.

    Only what the table tells counts, whatever more a fuller tank may give. ``cut_off`` where the
    roads are closed and nobody comes to fill it.
    """
    if air_f <= BOILS_F:
        return ""
    levels_full = [n / 20.0 for n in range(2, round(tank.fill_share * 20.0) + 1)]
    enough = next((f for f in levels_full if _gas(tank, f, air_f).btu_h >= burn_btu_h), None)
    if enough is not None and cut_off:
        return (
            "Nothing comes while the roads are closed: carry less on the set, so that the tank is "
            f"still above {enough * 100:.0f} % by then."
        )
    if enough is not None:
        return f"Have the tank filled again before then, so that it is above {enough * 100:.0f} %."
    if cut_off:
        return (
            "By the table no filling is sure to be enough, and nothing comes while the roads are "
            "closed: carry less on the set from then on."
        )
    return (
        "By the table no filling is sure to be enough: have it full even so, ask the gas supplier, "
        "and carry less on the set from then on."
    )
