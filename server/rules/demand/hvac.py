"""Heating and cooling that do not run together: which side counts, and at what factor."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from server.rules.demand.general import counted
from server.rules.demand.inputs import HEATING, Category, Dwelling, Load, sum_va
from server.rules.demand.worksheet import Line
from server.rules.editions import Figure, Rulebook
from server.rules.words import percent

EQUAL = "it equals what counts, and only one of the two does"


@dataclass(frozen=True)
class HvacSide:
    """The side that counts: its lines, the loads in it, and whether its motor is already raised.

    ``left_out`` is the other side, which runs where this one, but for the fan, does not.
    """

    lines: tuple[Line, ...]
    loads: tuple[Load, ...]
    raised: bool = False
    left_out: tuple[Load, ...] = ()


def standard_side(dwelling: Dwelling, rules: Rulebook) -> HvacSide:
    """Larger of heating and cooling at 100 %; the fan of the house runs with both.

    From 2020 on, cooling that is not the larger is compared at 125 %. Where it wins only by that,
    it counts at 125 % and its motor is not raised a second time. Each side is compared with the
    25 % of the largest motor that comes with it: a heat pump is a motor when it heats too.
    """
    heat = dwelling.of(*HEATING)
    cool = dwelling.of("cooling")
    fan = dwelling.of("air_handler")
    motor = rules.figure("noncoincident_motor_factor")
    fixed = rules.figure("fixed_heat_factor")
    heat_va, cool_va = sum_va(heat), sum_va(cool)
    others = [d for d in dwelling.loads if d not in (*heat, *cool)]
    beside_va = _largest_motor_va(others)
    extra = rules.value("largest_motor_extra")
    with_heat_va = heat_va + extra * max(beside_va, _largest_motor_va(heat))
    with_cool_va = cool_va + extra * max(beside_va, _largest_motor_va(cool))
    raised = cool_va < heat_va < cool_va * motor.value
    if raised:
        left_va = beside_va if beside_va > _largest_motor_va(cool) else 0.0
        with_cool_va = cool_va * motor.value + extra * left_va
        raised = with_cool_va > with_heat_va
    cooling = raised or (bool(cool) and cool_va >= heat_va and with_cool_va >= with_heat_va)
    turning, blowing = rules.figure("motor_load"), rules.figure("blower_load")
    fan_lines = tuple(counted(d, blowing.value, blowing.cite, "runs with both") for d in fan)
    if cooling:
        factor = motor.value if raised else 1.0
        lines = [counted(d, factor, motor.cite) for d in cool]
        larger = f"cooling at {percent(motor.value)} is larger" if raised else "cooling is larger"
        lines += _omitted(heat, motor, EQUAL if heat_va == cool_va else larger)
        return HvacSide((*lines, *fan_lines), (*cool, *fan), raised, heat)
    lines = [
        counted(d, own.value, own.cite)
        for d in heat
        for own in (turning if d.category == "heat_pump" else fixed,)
    ]
    larger = "heating is larger"
    if heat_va < cool_va * motor.value:
        larger += " with the largest motor"
    lines += _omitted(cool, motor, EQUAL if heat_va == cool_va else larger)
    return HvacSide((*lines, *fan_lines), (*heat, *fan), left_out=cool)


def _largest_motor_va(loads: Iterable[Load]) -> float:
    return max((d.motor_va for d in loads if d.quantity), default=0.0)


def _omitted(loads: tuple[Load, ...], figure: Figure, why: str) -> list[Line]:
    return [counted(d, 0.0, figure.cite, f"not counted: {why}") for d in loads]


def optional_side(dwelling: Dwelling, rules: Rulebook) -> HvacSide:
    """Largest selection of the optional method's heating and cooling list.

    A fan that does not run with it, or shares no duct with it, is none of its lines: it is a motor
    of its own beside it (220.82(B)(4)).
    """
    rooms = dwelling.of("room_heat")
    many = sum(d.quantity for d in rooms) >= rules.value("many_rooms_count")
    room_factor = "optional_many_rooms_factor" if many else "optional_few_rooms_factor"
    fan = dwelling.of("air_handler")
    factors: dict[Category, str] = {
        "cooling": "optional_cooling_factor",
        "heat_pump": "optional_heat_pump_factor",
        "central_heat": "optional_central_heat_factor",
        "room_heat": room_factor,
        "storage_heat": "optional_storage_factor",
    }
    selections: tuple[tuple[Category, ...], ...] = (
        ("cooling",),
        ("heat_pump", "central_heat"),
        ("room_heat",),
        ("storage_heat",),
    )
    found: list[HvacSide] = []
    for selection in selections:
        loads = dwelling.of(*selection)
        if not loads:
            continue
        lines = [
            counted(d, rules.value(factors[d.category]), rules.figure(factors[d.category]).cite)
            for d in loads
        ]
        if selection[0] in ("cooling", "heat_pump"):
            fan_figure = rules.figure(
                "optional_cooling_factor"
                if selection[0] == "cooling"
                else "optional_heat_pump_factor"
                if dwelling.of("heat_pump")
                else "optional_central_heat_factor"
            )
            ducted = fan_of(loads, fan)
            lines += [counted(d, fan_figure.value, fan_figure.cite) for d in ducted]
            loads = (*loads, *ducted)
        found.append(HvacSide(tuple(lines), loads))
    if not found:
        return HvacSide((), ())
    best = max(found, key=_demand_va)
    omitted: list[Line] = []
    for side in found:
        lost = tuple(d for d in side.loads if d not in (*best.loads, *fan))
        as_large = _demand_va(side) >= _demand_va(best)
        why = EQUAL if as_large else "another selection is larger"
        for load in lost:
            omitted += _omitted((load,), rules.figure(factors[load.category]), why)
    return HvacSide((*best.lines, *omitted), best.loads)


def fan_of(side: Iterable[Load], fans: Iterable[Load]) -> tuple[Load, ...]:
    """The fans that blow through the duct of this heating or cooling.

    >>> window, central = Load("Window", "cooling", 900, ductless=True), Load("AC", "cooling", 3000)
    >>> burner = Load("Furnace", "air_handler", 600)
    >>> [len(fan_of(cool, [burner])) for cool in ([window], [window, central])]
    [0, 1]
    """
    alone = [d.ductless for d in side]
    if alone and all(alone):
        return ()
    return tuple(d for d in fans if not d.ductless)


def _demand_va(side: HvacSide) -> float:
    return sum(line.demand_va for line in side.lines)
