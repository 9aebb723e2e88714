"""Lines that several methods share: general load, demand steps, settings."""

from __future__ import annotations

from collections.abc import Iterable

from server.domain.errors import InputError
from server.rules.demand.amp_lines import Continuous
from server.rules.demand.inputs import Dwelling, Load
from server.rules.demand.setting_legs import LegsA, as_continuous, binds, held_at, plates_a
from server.rules.demand.worksheet import Line
from server.rules.editions import Cite, Figure, Rulebook, Tier
from server.rules.words import listed, percent


def carried(
    label: str, *, quantity: float, each: float, unit: str, cite: Cite, note: str = ""
) -> Line:
    """A line whose amount goes on to a later step."""
    return Line(label, quantity, each, unit, quantity * each, None, 0.0, cite, note)


def counted(load: Load, factor: float, cite: Cite, note: str = "") -> Line:
    """A line of one load at a factor."""
    total = load.total_va
    note = note or load.note
    return Line(load.name, load.quantity, load.va, "VA", total, factor, total * factor, cite, note)


def outlet_cite(load: Load, rules: Rulebook) -> Cite:
    """Where a light, an outlet for plugs or a load of its own outside a dwelling stands."""
    names = {"luminaire": "luminaire_factor", "outlet": "receptacle_va"}
    return rules.figure(names.get(load.category, "individual_load")).cite


def general_lines(dwelling: Dwelling, rules: Rulebook, lighting: str) -> tuple[Line, ...]:
    """Lighting and general plugs by area, small-appliance and laundry circuits, all carried on.

    ``lighting`` is the name of the figure in VA/ft². Several dwelling units are counted by
    ``dwelling.units``, with the area and circuits of one.
    """
    per_ft2 = rules.figure(lighting)
    small = rules.figure("small_appliance_va")
    laundry = rules.figure("laundry_va")
    units = dwelling.units
    area = (dwelling.area_ft2 or 0.0) * units
    note = dwelling.area_note or ("" if dwelling.area_ft2 is not None else "area not told")
    return (
        carried(
            "Lighting and general plugs",
            quantity=area,
            each=per_ft2.value,
            unit="ft²",
            cite=per_ft2.cite,
            note=note,
        ),
        carried(
            "Small-appliance circuits",
            quantity=dwelling.small_appliance_circuits * units,
            each=small.value,
            unit="circuits",
            cite=small.cite,
            note="; ".join(
                filter(None, (_own_note(dwelling, small), _refrigerator_note(dwelling, small)))
            ),
        ),
        carried(
            "Laundry circuits",
            quantity=dwelling.laundry_circuits * units,
            each=laundry.value,
            unit="circuits",
            cite=laundry.cite,
            note=_dryer_note(dwelling, laundry, rules),
        ),
    )


def _own_note(dwelling: Dwelling, small: Figure) -> str:
    return _as_such(
        dwelling.appliance_circuits, "for one thing in its place", small, "not by a plate"
    )


def _dryer_note(dwelling: Dwelling, laundry: Figure, rules: Rulebook) -> str:
    return _as_such(
        dwelling.laundry_dryers,
        "with a dryer of 120 V",
        laundry,
        f"not as an electric clothes dryer ({rules.load_article}.54)",
    )


def _as_such(names: tuple[str, ...], what: str, circuit: Figure, instead: str) -> str:
    """That circuits by these names count at the load of such a circuit; empty without any."""
    if not names:
        return ""
    each = "each count" if len(names) > 1 else "counts"
    return (
        f"{listed(list(names))}, {what}, {each} as such a circuit at {circuit.value:,.0f} VA, "
        f"{instead}"
    )


def _refrigerator_note(dwelling: Dwelling, small: Figure) -> str:
    names = dwelling.refrigerator_circuits
    if not names:
        return ""
    return (
        f"{listed(list(names))} for a refrigerator alone: its {small.value:,.0f} VA may be left "
        f"out ({small.cite.section} exception)"
    )


def tier_lines(total_va: float, tiers: Iterable[Tier], cite: Cite) -> tuple[Line, ...]:
    """One line for each demand step that the amount reaches."""
    lines: list[Line] = []
    below = 0.0
    for tier in tiers:
        part = min(total_va, tier.up_to_va) - below
        if part <= 0 and lines:
            break
        label = (
            f"First {tier.up_to_va:,.0f} VA"
            if not lines
            else "Remainder"
            if tier.up_to_va == float("inf") or total_va <= tier.up_to_va
            else f"Next, up to {tier.up_to_va:,.0f} VA"
        )
        part = max(part, 0.0)
        lines.append(
            Line(
                f"{label} at {percent(tier.factor)}",
                1,
                part,
                "VA",
                part,
                tier.factor,
                part * tier.factor,
                cite,
            )
        )
        below = tier.up_to_va
    return tuple(lines)


def setting_lines(dwelling: Dwelling, rules: Rulebook) -> tuple[Line, ...]:
    """One line for each energy-management setting: the setting is the load of its group.

    Where all it holds comes to less, that counts.
    """
    figure = rules.figure("managed_setting")
    lines = []
    for setting in dwelling.settings:
        held = [d for d in dwelling.loads if d.group == setting.group]
        va = min(setting.va, held_va(held, rules))
        note = f"holds {listed([d.name for d in held])}" if held else ""
        legs_a = held_legs_a(dwelling, setting.group, rules)
        setting_a = setting.va / dwelling.volts
        if va < setting.va and binds(legs_a, setting_a):
            note += f", on a leg more than its setting of {setting_a:g} A, which holds that leg"
            if rules.on("managed_setting_continuous"):
                cite = rules.figure("managed_setting_continuous").cite
                note += f" and counts as continuous ({cite.words})"
        elif va < setting.va:
            note += f", together below its setting of {setting.va:,.0f} VA"
        elif note:
            counts = "counts"
            if setting.of_all_va:
                note += ", up to what its limit on all that is carried leaves them"
                counts = f"all up to that limit, {setting.of_all_va:,.0f} VA, counts"
            if rules.on("managed_setting_continuous"):
                cite = rules.figure("managed_setting_continuous").cite
                note += f"; {counts} as continuous ({cite.words})"
        lines.append(
            Line(
                setting.name,
                1,
                va,
                "VA",
                va,
                figure.value,
                va * figure.value,
                figure.cite,
                note,
            )
        )
    return tuple(lines)


def held_legs_a(dwelling: Dwelling, group: str, rules: Rulebook) -> LegsA:
    """Amps on L1 and L2 of all that a setting holds, at what it counts for (``held_va``). [A]"""
    return plates_a(
        (
            (d, vehicle_va(d, rules) if d.category == "vehicle" else d.va)
            for d in dwelling.loads
            if d.group == group
        ),
        dwelling.volts,
    )


def held_va(loads: Iterable[Load], rules: Rulebook) -> float:
    """What a setting holds, vehicle equipment as the edition counts it. [VA]"""
    return sum(
        (vehicle_va(d, rules) if d.category == "vehicle" else d.va) * d.quantity for d in loads
    )


def vehicle_va(load: Load, rules: Rulebook) -> float:
    """What one set of vehicle equipment counts for: its nameplate, or the edition's least. [VA]

    >>> from server.rules.editions import rulebook
    >>> vehicle_va(Load("Charger", "vehicle", 3840), rulebook("2023"))
    7200.0
    """
    if not load.known:
        return rules.value("vehicle_unknown_va")
    return max(load.va, rules.value("vehicle_least_va"))


def vehicle_line(load: Load, factor: float | None, rules: Rulebook) -> Line:
    """The line of vehicle equipment; ``factor`` None carries it to a later step."""
    name = "vehicle_least_va" if load.known else "vehicle_unknown_va"
    figure = rules.figure(name)
    each = vehicle_va(load, rules)
    note = ""
    if not load.known:
        note = "nameplate not told"
    elif each > load.va:
        note = f"larger of {load.va:,.0f} VA and {each:,.0f} VA"
    total = each * load.quantity
    demand = 0.0 if factor is None else total * factor
    return Line(load.name, load.quantity, each, "VA", total, factor, demand, figure.cite, note)


def continuous_of(loads: Iterable[Load], rules: Rulebook, between_va: float = 0.0) -> Continuous:
    """These loads as what runs three hours or longer, a 120 V one on its own leg.

    ``between_va`` is more of it between the legs. A 120 V load without a leg is spread over both.
    """
    on = {"L1": 0.0, "L2": 0.0}
    for load in loads:
        va = (vehicle_va(load, rules) if load.category == "vehicle" else load.va) * load.quantity
        if load.single_leg and load.leg is not None:
            on[load.leg] += va
        else:
            between_va += va
    return Continuous(between_va, on["L1"], on["L2"])


def continuous_part(dwelling: Dwelling, rules: Rulebook) -> Continuous:
    """Continuous part of the load: vehicle equipment, settings, and what is marked.

    A setting counts in full: what it holds can draw that much for hours, one load after the other,
    on each leg no more than all that is on it. Where it is what a limit on everything leaves, all
    up to that limit can be drawn for hours. Where all it holds comes to less on both legs, only
    what is continuous of that counts.
    """
    volts = dwelling.volts
    found = Continuous()
    for setting in dwelling.settings:
        setting_a = setting.va / volts
        legs_a = held_legs_a(dwelling, setting.group, rules)
        whole = binds(legs_a, setting_a) and rules.on("managed_setting_continuous")
        if whole and setting.of_all_va:
            return Continuous(between_va=setting.of_all_va)
        if not whole:
            running = [d for d in dwelling.loads if d.group == setting.group and d.continuous]
            legs_a = continuous_of(running, rules).amps(volts)
        found += as_continuous(held_at(legs_a, setting_a), volts)
    free = (d for d in dwelling.loads if d.continuous and d.group not in dwelling.held_groups)
    return found + continuous_of(free, rules)


def require_whole(dwelling: Dwelling, method: str, cite: Cite) -> None:
    """Refuse a method that is only for conductors carrying the whole of one dwelling.

    Raises
    ------
    InputError   With the reason.
    """
    if dwelling.no_dwelling:
        raise InputError(
            f"The {method} is for a dwelling ({cite.section}); {dwelling.name} feeds outbuildings "
            "alone. Use the standard method.",
            field="method",
        )
    if not dwelling.whole:
        raise InputError(
            f"The {method} is only for conductors that carry the whole dwelling "
            f"({cite.section}); {dwelling.name} carries a part. Use the standard method.",
            field="method",
        )
    if dwelling.common_circuits:
        raise InputError(
            f"The {method} is for one dwelling ({cite.section}), and "
            f"{listed(list(dwelling.common_circuits))} feed what several share: name on each panel "
            "whose it is. Until then use the standard method.",
            field="units",
        )
    units = max(dwelling.units, len(dwelling.dwellings))
    if units != 1:
        raise InputError(f"The {method} is for one dwelling; {units} were given.", field="units")


def farm_kind_notes(dwelling: Dwelling, rules: Rulebook) -> tuple[str, ...]:
    """That what is usual on farms counts with a dwelling, as it is entered: for the part of one."""
    if not dwelling.farm_in_dwelling:
        return ()
    section = rules.figure("farm_dwelling").cite.section
    return (
        f"Counted with the dwelling, as entered: {listed(list(dwelling.farm_in_dwelling))}. What "
        f"serves a farm is a farm load and no part of its dwelling ({section}): where it does, set "
        "the circuit to an outbuilding’s.",
    )


def open_questions(dwelling: Dwelling) -> tuple[str, ...]:
    """What the worksheet still needs to be told."""
    missing = list(dwelling.missing)
    area = "Floor area from the outside dimensions, without garage and open porches."
    if dwelling.area_ft2 is None and area not in missing:
        missing.insert(0, area)
    missing += [f"Nameplate of {d.name}." for d in dwelling.loads if not d.known]
    return tuple(dict.fromkeys(missing))
