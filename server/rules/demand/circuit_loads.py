"""What one circuit counts for in a demand worksheet."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import lru_cache
from typing import Any

from server.domain.appliance import Appliance
from server.domain.base import Leg, other_leg
from server.domain.catalogue import KINDS
from server.domain.circuit import Circuit
from server.domain.panel import leg_of_space
from server.rules.cords import on_a_cord
from server.rules.demand.inputs import HEATING, Load
from server.rules.demand.outlets import outlet_loads
from server.rules.demand.reach import Carried
from server.rules.editions import Rulebook
from server.rules.tables import read_toml

MOTOR_CATEGORIES = ("heat_pump", "cooling")
NO_MOTOR_CATEGORIES = ("cooking", "dryer", "vehicle", "central_heat", "room_heat", "storage_heat")
RANGES = ("range-oven", "range-burners")
"""The kinds that a range is entered as."""
KW_AS_KVA = ("cooking", "dryer")
MOST_KEPT = 2048
"""One circuit counts on every element between it and its sources, in each position and method."""
NOT_LOADS = ("general", "small_appliance", "laundry")
PLUG_CIRCUITS = ("small_appliance", "laundry")
"""Categories that a circuit of 20 A is asked for."""


def kind_row(kind: str) -> Mapping[str, Any] | None:
    """How a kind of appliance is counted, None for one that is not in the table."""
    row: Mapping[str, Any] | None = read_toml("appliance_kinds")["kinds"].get(kind)
    return row


def category_of(appliance: Appliance) -> str:
    """The load-calculation category of an appliance, ``unknown`` where its kind tells nothing.

    A dryer between the legs is a household electric dryer, whatever heats its air (220.54).
    """
    row = kind_row(appliance.kind)
    if row is None:
        return "unknown"
    between_legs = appliance.volts == 240 and row.get("category_240")
    return str(between_legs or row["category"])


@lru_cache(maxsize=MOST_KEPT)
def counts_as(circuit: Circuit, rules: Rulebook) -> str:
    """The 1,500 VA circuit it is: ``small_appliance``, ``laundry``, or empty for neither.

    Counter outlets and a laundry's count so behind a breaker that is too small for them as well:
    that is a finding, and no less load.
    """
    small = circuit.breaker_a < rules.value("small_appliance_breaker_a")
    found = {category_of(a) for a in circuit.appliances}
    asked = circuit.place == "dwelling" and (feeds_counters(circuit) or found == {"laundry"})
    if circuit.poles == 2 or (small and not asked):
        return ""
    return next((c for c in PLUG_CIRCUITS if c in found), "")


def feeds_counters(circuit: Circuit) -> bool:
    """Whether all on a circuit is a kitchen's or laundry's, and not only what stays in place."""
    kinds = [kind_row(a.kind) or {} for a in circuit.appliances]
    alike = {str(k.get("category", "unknown")) for k in kinds}
    return (
        len(alike) == 1
        and alike <= set(PLUG_CIRCUITS)
        and not all(k.get("own_circuit") for k in kinds)
    )


def dries_as_laundry(circuit: Circuit, rules: Rulebook) -> bool:
    """Whether a dryer of 120 V is on a circuit that counts as one of a laundry's."""
    return counts_as(circuit, rules) == "laundry" and any(
        (kind_row(a.kind) or {}).get("category_240") == "dryer" for a in circuit.appliances
    )


def at_nameplate(circuit: Circuit, *, outside: bool, rules: Rulebook) -> tuple[Appliance, ...]:
    """Appliances the figures by area and by circuit do not carry here (220.14(A), 220.82(B)(3)).

    Those that stand alone on their circuit, each of 240 V, and outside a dwelling what would else
    be a kitchen's or a laundry's.
    """
    rows = {a.id: kind_row(a.kind) or {} for a in circuit.appliances}
    carried = [a for a in circuit.appliances if category_of(a) in NOT_LOADS]
    if counts_as(circuit, rules):
        return ()
    if outside:
        return tuple(a for a in carried if category_of(a) != "general")
    if all(rows[a.id].get("own_circuit") for a in circuit.appliances):
        return tuple(carried)
    return tuple(a for a in carried if a.volts == 240)


def leg_of(carried: Carried, appliance: Appliance | None = None) -> Leg:
    """The leg, at the element, of a 120 V load or of the 120 V part of a 240 V one.

    Without an appliance, that of the circuit's first pole. A handle lands a circuit on a leg of its
    own, whatever its spaces in the panel.
    """
    spaces = carried.circuit.spaces
    pole = min(1 if appliance is None else appliance.on_pole, len(spaces))
    if carried.handle_leg is None:
        leg = leg_of_space(spaces[pole - 1])
    else:
        leg = carried.handle_leg if pole == 1 else other_leg(carried.handle_leg)
    return other_leg(leg) if carried.swapped else leg


@lru_cache(maxsize=MOST_KEPT)
def loads_of(
    carried: Carried, rules: Rulebook, *, group: str, new: bool, outside: bool
) -> tuple[Load, ...]:
    """Loads of a circuit, but for what the figures by area and by circuit carry.

    ``outside`` is whether its lights and plugs lie outside every dwelling's floor area.
    """
    circuit = carried.circuit
    found: list[Load] = []
    general: list[Appliance] = []
    cooking: list[Appliance] = []
    alone = {a.id for a in at_nameplate(circuit, outside=outside, rules=rules)}
    for appliance in circuit.appliances:
        category = category_of(appliance)
        if appliance.id in alone:
            found.append(_load(carried, appliance, "alone", group=group, new=new))
            continue
        if category == "general":
            general.append(appliance)
        if category in NOT_LOADS:
            continue
        if category == "cooking":
            cooking.append(appliance)
            continue
        load = _load(carried, appliance, category, group=group, new=new)
        found.append(replace(load, note=_plug_note(load, appliance, rules)))
    if cooking:
        found += _cooking(cooking, group=group, new=new)
    if outside:
        leg = leg_of(carried)
        found += outlet_loads(circuit, general, leg=leg, rules=rules, group=group, new=new)
    if outside and circuit.place != "common_area":
        found = [replace(load, outbuilding=True) for load in found]
    return tuple(found)


def counted_va(appliance: Appliance, category: str) -> float:
    """Nameplate volt-amperes; a dryer and cooking equipment count kW as kVA (220.54, 220.55)."""
    if category in KW_AS_KVA:
        return appliance.load_w
    return appliance.load_w / appliance.power_factor


def left_out_beside(appliances: Iterable[Appliance]) -> tuple[Appliance, ...]:
    """The smaller of heating and cooling among these, which do not run at one time (220.60).

    The two halves of a heat pump are one machine. Where they are equal the cooling is left out.
    """
    every = tuple(appliances)
    cool = tuple(a for a in every if category_of(a) == "cooling")
    heat = tuple(a for a in every if category_of(a) in HEATING)
    if not heat or not cool:
        return ()
    heat_va, cool_va = (sum(counted_va(a, category_of(a)) for a in s) for s in (heat, cool))
    return heat if cool_va > heat_va else cool


def _load(carried: Carried, appliance: Appliance, category: str, *, group: str, new: bool) -> Load:
    va = counted_va(appliance, category)
    own = "individual" if category in ("unknown", "alone") else category
    row = kind_row(appliance.kind) or {}
    motor = own in MOTOR_CATEGORIES or (
        appliance.load_type == "motor" and own not in NO_MOTOR_CATEGORIES
    )
    continuous = own == "vehicle" or bool(row.get("continuous"))
    if category in ("unknown", "alone"):
        continuous = carried.circuit.continuous
    share = appliance.part_120_w / appliance.load_w if appliance.load_w else 0.0
    part = va * min(share, 1.0)
    has_leg = appliance.volts == 120 or part > 0
    return Load(
        name=appliance.name,
        category=own,  # type: ignore[arg-type]
        va=va,
        volts=float(appliance.volts),
        leg=leg_of(carried, appliance) if has_leg else None,
        neutral_va=0.0 if appliance.volts == 120 else part,
        motor_va=va if motor else 0.0,
        horsepower=appliance.horsepower,
        wired_motor=motor and wired_motor(appliance),
        corded_motor=motor and appliance.volts == 240 and _corded_motor(appliance),
        continuous=continuous,
        ductless=bool(row.get("ductless")),
        new=new,
        group=group,
        by_current=by_current(appliance),
        known=not (own == "vehicle" and appliance.load_w == 0),
        note="on its own circuit" if category == "alone" else "",
    )


def by_current(appliance: Appliance) -> bool:
    """Whether it is vehicle equipment at its usual watts, which are its amps at 240 V (625.42).

    Other watts are taken for what its plate says where it stands.
    """
    usual = KINDS.get(appliance.kind)
    return (
        category_of(appliance) == "vehicle"
        and appliance.volts == 240
        and usual is not None
        and appliance.load_w == usual.load_w
    )


def wired_motor(appliance: Appliance) -> bool:
    """Whether a motor has neither plug, compressor nor a plate of a whole unit."""
    return _bare_motor(appliance) and not on_a_cord(appliance.kind)


def _corded_motor(appliance: Appliance) -> bool:
    return _bare_motor(appliance) and on_a_cord(appliance.kind)


def _bare_motor(appliance: Appliance) -> bool:
    """Whether a motor has neither a compressor nor a plate of a whole unit."""
    hermetic = bool((kind_row(appliance.kind) or {}).get("hermetic"))
    own_plate = hermetic or category_of(appliance) in MOTOR_CATEGORIES
    return not own_plate and appliance.min_circuit_a is None


def _plug_note(load: Load, appliance: Appliance, rules: Rulebook) -> str:
    """That a 120 V car plug counts at its plate where the edition names no exception for one."""
    least = rules.figure("vehicle_least_va")
    if not (kind_row(appliance.kind) or {}).get("plug_in_vehicle") or load.va >= least.value:
        return load.note
    return (
        f"at its plate; {least.cite.section} asks {least.value:,.0f} VA or the plate of vehicle "
        "equipment, whichever is larger, and excepts no 120 V plug: ask the authority"
    )


def _cooking(appliances: list[Appliance], *, group: str, new: bool) -> list[Load]:
    """Cooking of one circuit: oven and top of a range are one, the rest each its own.

    Note 4 of Table 220.55, which takes a cooktop and its ovens as one range, is of branch circuits.
    """
    ranges = [a for a in appliances if a.kind in RANGES]
    pieces = [[a] for a in appliances if a.kind not in RANGES]
    return [_cooking_load(p, group=group, new=new) for p in ([ranges] if ranges else []) + pieces]


def _cooking_load(pieces: list[Appliance], *, group: str, new: bool) -> Load:
    notes = read_toml("cooking")["notes"]
    total = sum(counted_va(a, "cooking") for a in pieces)
    covered = notes["least_kw"] * 1000 < total <= notes["largest_kw"] * 1000
    name = " with ".join(a.name for a in pieces)
    category = "cooking" if covered else "individual"
    return Load(name, category, total, group=group, new=new)  # type: ignore[arg-type]
