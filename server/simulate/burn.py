"""What a set burns through a run: its curve, followed cell by cell, with how that was worked out.

The burn of a mean load is not the mean burn where the curve bends, so nothing here is reckoned from
a mean over the run.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from server.domain.supply import Generator
from server.domain.working import Term, Working
from server.physics.engine_set import BTU_PER_UNIT, UNIT_OF_FUEL
from server.physics.fuel_curve import FuelCurve, curve_as_entered, curve_source

Floats = NDArray[np.float64]

_LEAST_SHARE = 1e-9


def curve_of(generator: Generator) -> FuelCurve:
    """What a set burns at each load, in the unit its fuel is counted in."""
    return curve_as_entered(
        fuel=generator.fuel,
        rated_kw=generator.rated_kw,
        points=[(p.at_kw(generator.rated_kw), p.rate_per_h) for p in generator.fuel_points],
        unit=generator.fuel_rate_in,
    )


def burn_per_h(curve: FuelCurve, *, watts: Floats, running: Floats) -> Floats:
    """Mean burn in each cell: share running × curve(watts while it runs). [units/h]

    watts : (cells,)     Mean power given over each cell. [W]
    running : (cells,)   Share of each cell in which it turns.
    """
    share = np.where(watts > 0.0, np.maximum(running, _LEAST_SHARE), running)
    load_kw = np.maximum(watts, 0.0) / 1000.0 / np.maximum(share, _LEAST_SHARE)
    return np.asarray(share * curve.rate_per_h(load_kw))


def fuel_used(generator: Generator, *, watts: Floats, running: Floats, cell_s: Floats) -> Working:
    """Fuel burnt in a run, line by line of the curve. [gal or 1000 Btu]

    On each line, burn = a + b × load; so over the cells whose load lies on it, fuel = a × hours +
    b × kWh. watts, running, cell_s : (cells,) as in ``burn_per_h``, and each cell's length. [s]
    """
    curve = curve_of(generator)
    unit = UNIT_OF_FUEL[generator.fuel]
    run_h = running * cell_s / 3600.0
    kwh = np.maximum(watts, 0.0) * cell_s / 3.6e6
    line = curve.line_of(np.maximum(watts, 0.0) / 1000.0 / np.maximum(running, _LEAST_SHARE))
    idle, slope = curve.at_no_load, curve.slopes
    hours = np.bincount(line, weights=run_h, minlength=len(slope))
    energy = np.bincount(line, weights=kwh, minlength=len(slope))
    title = f"{generator.name}, fuel used"
    if curve.guess and len(slope) == 1:
        return Working(
            title=title,
            value=float(idle[0] * hours[0] + slope[0] * energy[0]),
            unit=unit,
            formula="idle burn × hours run + burn per kWh × kWh given",
            terms=(
                Term("idle burn", float(idle[0]), f"{unit}/h", "guess"),
                Term("hours run", float(hours[0]), "h", "this run"),
                Term("burn per kWh", float(slope[0]), f"{unit}/kWh", "guess"),
                Term("energy given", float(energy[0]), "kWh", "this run"),
            ),
            source=source_of(generator),
        )
    terms: list[Term] = []
    for k in np.flatnonzero((hours > 0.0) | (energy > 0.0)):
        where = stretch(curve, int(k))
        burnt = float(idle[k] * hours[k] + slope[k] * energy[k])
        terms += (
            Term(f"hours {where}", float(hours[k]), "h", "this run"),
            Term(f"energy {where}", float(energy[k]), "kWh", "this run"),
            Term(f"burnt {where}", burnt, unit, line_words(curve, int(k))),
        )
    return Working(
        title=title,
        value=float((idle * hours + slope * energy).sum()),
        unit=unit,
        formula="on each stretch of the curve: a × hours + b × kWh; all stretches added up",
        terms=tuple(terms),
        source=source_of(generator),
    )


def burn_at(generator: Generator, load_kw: float) -> Working:
    """What a set burns at one steady load, with the line it lies on. [gal/h or 1000 Btu/h]"""
    curve = curve_of(generator)
    line = int(curve.line_of(np.array([load_kw]))[0])
    unit = UNIT_OF_FUEL[generator.fuel]
    return Working(
        title=f"Burn at {load_kw:.4g} kW",
        value=float(curve.rate_per_h(np.array([load_kw]))[0]),
        unit=f"{unit}/h",
        formula=f"{stretch(curve, line)}, {line_words(curve, line)}",
        terms=(Term("load", load_kw, "kW"),),
        source=source_of(generator),
    )


def other_per_h(generator: Generator) -> float:
    """What all other appliances draw out of a set's tank, as a mean. [gal/h]

    Btu/h as entered over the heat of a gallon; 0 without a tank.
    """
    tank = generator.tank
    return 0.0 if tank is None else tank.other_btu_h / BTU_PER_UNIT[generator.fuel]


def tank_lasts(generator: Generator, load_kw: float) -> Working | None:
    """Hours that a filled tank lasts above its reserve at one steady load. [h]

    None without a tank, or where nothing is burnt.
    """
    tank, burn = generator.tank, burn_at(generator, load_kw)
    if tank is None or UNIT_OF_FUEL[generator.fuel] != "gal" or burn.value <= 0.0:
        return None
    usable = tank.capacity_gal * max(0.0, tank.fill_share - tank.reserve_share)
    others = other_per_h(generator)
    return Working(
        title=f"A filled tank at {load_kw:.4g} kW",
        value=usable / (burn.value + others),
        unit="h",
        formula=f"capacity × (filled to − kept) ÷ {'(burn + others)' if others else 'burn'}",
        terms=(
            Term("capacity", tank.capacity_gal, "gal", "the set’s tank"),
            Term("filled to", tank.fill_share, "of 1", "the set’s tank"),
            Term("kept", tank.reserve_share, "of 1", "the set’s tank"),
            Term("burn", burn.value, burn.unit, burn.formula),
            *([Term("others", others, burn.unit, "other appliances on it")] if others else []),
        ),
        source=burn.source,
    )


def stretch(curve: FuelCurve, line: int) -> str:
    """The loads of one line of a curve in words.

    >>> sheet = [(0, 1), (10, 2), (25, 5)]
    >>> stretch(curve_as_entered(fuel="propane", rated_kw=25, points=sheet, unit=None), 1)
    'above 10 kW'
    """
    low, high = curve.loads_kw[line], curve.loads_kw[line + 1]
    if len(curve.loads_kw) == 2:
        return "at every load"
    if line == len(curve.loads_kw) - 2:
        return f"above {low:.4g} kW"
    return f"from {low:.4g} to {high:.4g} kW"


def line_words(curve: FuelCurve, line: int) -> str:
    """One line of a curve as its sum: what it would burn at no load, and for each kW more.

    >>> sheet = [(0, 1), (10, 2), (25, 5)]
    >>> line_words(curve_as_entered(fuel="propane", rated_kw=25, points=sheet, unit=None), 1)
    '0 + 0.2 for each kW'
    """
    words = f"{curve.at_no_load[line]:.3g} + {curve.slopes[line]:.3g} for each kW"
    return words.replace("-", "\N{MINUS SIGN}")


def source_of(generator: Generator) -> str:
    """Where the curve of a set comes from."""
    return curve_source(curve_of(generator), fuel=generator.fuel, rated_kw=generator.rated_kw)
