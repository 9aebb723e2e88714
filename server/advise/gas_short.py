"""Whether the gas of a run is there, and its diesel flows: surely not, not known, or enough.

A tank or meter that gives less than the least its set may burn stops the set, so the run does not
hold. One that falls short only by a guess, by its sizing at full load, or that was not told is a
condition of the answer.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from server.advise.tank_gas import TankGas
from server.domain.supply import Generator
from server.physics.engine_set import BTU_PER_UNIT
from server.physics.fuel_guess import GUESS_SHARE
from server.rules.gas_meter import GasDraw
from server.rules.words import btu_words
from server.simulate.burn import burn_per_h, curve_of
from server.simulate.harm_set import run_hours
from server.simulate.results import Run
from server.simulate.verdict import moment
from server.simulate.weather import outdoor_f

TANK_GIVES = "the propane tank gives enough gas"
METER_CARRIES = "the gas meter carries the set"
DIESEL_FLOWS = "the diesel flows in the cold"
DIESEL_FLOWS_F = 15.0
"""Ordinary No. 2 diesel clouds with wax about here and clogs its filter below; winter blends flow
10 to 20 °F further down. From memory. [F]"""

_MINUTE_S = 60.0
"""What a meter is held to is a mean of so long. Common practice, no source. [s]"""


@dataclass(frozen=True)
class GasShort:
    """Sentences of gas that is surely not there; conditions; and what puts them in doubt.

    ``of_meter`` is whether a natural gas meter is among them.
    """

    sure: tuple[str, ...]
    provided: tuple[str, ...]
    doubt: str
    of_meter: bool


def gas_short(run: Run, tanks: tuple[TankGas, ...], meters: tuple[GasDraw, ...]) -> GasShort:
    """What the tanks and meters of the sets that ran say of the run's answer."""
    sets = {generator.id: (row, generator) for row, generator in enumerate(run.site.generators)}
    sure, provided, doubt = [], [], []
    of_meter = False
    for tank in sorted(tanks, key=lambda one: -_hard(one)):
        if tank.status == "within":
            continue
        _, generator = sets[tank.set_id]
        own = tank.burn.value - tank.others_btu_h
        if tank.status == "over" and own * _least(generator) + tank.others_btu_h > tank.gives.value:
            sure.append(tank.words)
        else:
            provided.append(TANK_GIVES)
            doubt.append(tank.words)
    for meter in meters:
        row, generator = sets[meter.set_id]
        said = _hardest_minute(run, row, generator, meter)
        if said is None or meter.status == "within":
            continue
        of_meter = True
        if said:
            sure.append(said)
        else:
            provided.append(METER_CARRIES)
            doubt.append(meter.words)
    for generator in run.site.generators:
        said = _cold_diesel(run, generator)
        if said:
            provided.append(DIESEL_FLOWS)
            doubt.append(said)
    return GasShort(
        tuple(sure), tuple(dict.fromkeys(provided)), doubt[0] if doubt else "", of_meter
    )


def _hard(tank: TankGas) -> float:
    return tank.burn.value / max(tank.gives.value, 1e-9)


def _least(generator: Generator) -> float:
    """The least share of what is told as its burn that a set may burn."""
    return 1.0 - GUESS_SHARE if curve_of(generator).guess else 1.0


def _cold_diesel(run: Run, generator: Generator) -> str:
    """That diesel may not flow in the coldest air a set runs in; empty where it does."""
    served = run.served
    running = np.diff(run_hours(served.running[generator.id], served.cell_end_s), prepend=0.0) > 0.0
    if generator.fuel != "diesel" or not running.any():
        return ""
    air_f = outdoor_f(run.scenario.weather, run.scenario.start, served.cell_end_s[running])
    low_f = float(air_f.min())
    if low_f >= DIESEL_FLOWS_F:
        return ""
    return (
        f"{generator.name} runs at {low_f:.0f} °F: ordinary No. 2 diesel clouds with wax at about "
        f"{DIESEL_FLOWS_F:.0f} °F and stops in its filter below. Ask for a winter blend, and for "
        "what warms block, tank and filter."
    )


def _hardest_minute(run: Run, row: int, generator: Generator, meter: GasDraw) -> str | None:
    """That a set burns more than its meter carries in its hardest minute; empty where it does not.

    A mean of 60 s, wherever it begins. None where it never runs. Other appliances are left out, so
    that what is told is sure.
    """
    served = run.served
    end_s = served.cell_end_s
    cell_s = np.diff(end_s, prepend=0.0)
    hours = run_hours(served.running[generator.id], end_s)
    running = np.diff(hours, prepend=0.0) * 3600.0 / cell_s
    if not running.any():
        return None
    watts = served.set_w[row].astype(np.float64)
    burn = burn_per_h(curve_of(generator), watts=watts, running=running)
    at_s = np.append(0.0, end_s)
    burnt = np.append(0.0, np.cumsum(burn * cell_s))
    minute_s = np.concatenate((end_s, end_s + _MINUTE_S))
    minute_s = minute_s[(minute_s >= _MINUTE_S) & (minute_s <= end_s[-1])]
    means = np.interp(minute_s, at_s, burnt) - np.interp(minute_s - _MINUTE_S, at_s, burnt)
    hardest = int(np.argmax(means))
    btu_h = float(means[hardest]) / _MINUTE_S * BTU_PER_UNIT["natural_gas"]
    if meter.meter_btu_h is None or btu_h * _least(generator) <= meter.meter_btu_h:
        return ""
    at = run.scenario.start + timedelta(seconds=float(minute_s[hardest]))
    return (
        f"{generator.name} burns {btu_words(btu_h)} Btu/h of natural gas at {moment(at)}; meter "
        f"and pipe carry {btu_words(meter.meter_btu_h)} Btu/h. The set may lose power or stop."
    )
