"""The optional methods: a whole dwelling (220.82) and an existing one (220.83)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from server.domain.errors import InputError
from server.rules.demand.general import (
    carried,
    counted,
    general_lines,
    outlet_cite,
    require_whole,
    setting_lines,
    tier_lines,
    vehicle_line,
)
from server.rules.demand.hvac import EQUAL, fan_of, optional_side
from server.rules.demand.inputs import BY_OUTLET, HEATING, HVAC, Dwelling, Load, sum_va
from server.rules.demand.motors import by_plate
from server.rules.demand.standard import standard, with_standard_legs
from server.rules.demand.worksheet import Line, Worksheet
from server.rules.editions import Cite, Rulebook
from server.rules.leg import LEG_V
from server.rules.words import listed, percent

NEUTRAL_NOTE = "Legs and neutral are by the standard method ({}.61)."


def optional(dwelling: Dwelling, rules: Rulebook) -> Worksheet:
    """Demand by the optional method, only for a whole dwelling on conductors of 100 A or more.

    220.82(A) speaks of the conductors: their ampacity counts, and the rating where that is higher
    (a service of 100 A on the wire of 310.12) or they are not told.

    >>> from server.rules.editions import rulebook
    >>> house = Dwelling("House", 1500, loads=(
    ...     Load("Range", "cooking", 12_000), Load("Dryer", "dryer", 5_000),
    ...     Load("Water heater", "fastened", 2_500),
    ...     Load("Dishwasher", "fastened", 1_200, volts=120),
    ...     Load("Room heat", "room_heat", 1_800, quantity=5)))
    >>> sheet = optional(house, rulebook("2023"))
    >>> sheet.total_va, sheet.rounded_a
    (21480.0, 90)

    Raises
    ------
    InputError   For conductors that carry less than the whole dwelling or under 100 A.
    """
    least = rules.figure("optional_least_a")
    require_whole(dwelling, "optional method", least.cite)
    known = [a for a in (dwelling.existing_a, dwelling.conductors_a) if a is not None]
    if known and max(known) < least.value:
        raise InputError(
            f"The optional method needs conductors of {least.value:g} A or more "
            f"({least.cite.section}); {_too_small(dwelling)}. Use the standard method, or that of "
            "an existing dwelling.",
            field="existing_a",
        )
    tiers, cite = rules.tiers("optional_tiers")
    outside = rules.on("optional_vehicle_outside")
    lines = [*_general(dwelling, rules, "optional")]
    lines += _appliances(dwelling, cite, rules)
    side = optional_side(dwelling, rules)
    blowers = [d for d in dwelling.of("air_handler") if d not in side.loads]
    motors = rules.figure("optional_motors").cite
    lines += _carried_loads(_motors_said(blowers, dwelling, rules), motors)
    vehicles = dwelling.of("vehicle")
    if not outside:
        lines += [vehicle_line(d, None, rules) for d in vehicles]
    lines += tier_lines(_carried_va(lines), tiers, cite)
    if outside:
        lines += [vehicle_line(d, 1.0, rules) for d in vehicles]
    lines += side.lines
    lines += setting_lines(dwelling, rules)
    sheet = _done("optional", f"{dwelling.name}, optional method", dwelling, rules, lines)
    return replace(sheet, notes=(*sheet.notes, *_heats_together(dwelling, rules)))


def existing(dwelling: Dwelling, rules: Rulebook) -> Worksheet:
    """Demand of an existing dwelling to which loads are added (loads marked ``new``).

    Without new heating or cooling all of it, old and new, goes through the steps; with it, the
    side of heating or cooling by which the whole comes to more stands outside at 100 %.

    Raises
    ------
    InputError   For a conductor that carries less than the whole dwelling, or has one leg only.
    """
    tiers, cite = rules.tiers("existing_tiers")
    require_whole(dwelling, "existing-dwelling method", cite)
    if dwelling.volts <= LEG_V:
        raise InputError(
            f"The existing-dwelling method is for a 3-wire supply of two legs and a neutral "
            f"({cite.section}); {dwelling.name} has one leg. Use the standard method.",
            field="method",
        )
    lines = [*_general(dwelling, rules, "existing")]
    lines += _appliances(dwelling, cite, rules)
    lines += [vehicle_line(d, None, rules) for d in dwelling.of("vehicle")]
    hvac_is_new = any(d.new for d in dwelling.of(*HVAC))
    figure = rules.figure("existing_hvac_factor")

    def with_side(side: tuple[Load, ...], fans: tuple[Load, ...]) -> list[Line]:
        outside = _hvac_outside((*side, *fan_of(side, fans)), rules) if hvac_is_new else ()
        inside = [d for d in (*side, *fans) if d not in outside]
        carried_lines = [*lines, *_carried_loads(inside, cite)]
        steps = tier_lines(_carried_va(carried_lines), tiers, cite)
        return [*carried_lines, *steps, *(counted(d, figure.value, figure.cite) for d in outside)]

    heat, cool = dwelling.of(*HEATING), dwelling.of("cooling")
    fan = dwelling.of("air_handler")
    of_heat, of_cool = with_side(heat, fan), with_side(cool, fan)
    heat_counts = _demand_va(of_heat) >= _demand_va(of_cool)
    equal = _demand_va(of_heat) == _demand_va(of_cool)
    why = EQUAL if equal else f"{'heating' if heat_counts else 'cooling'} comes to more"
    lost = [counted(d, 0.0, cite, f"not counted: {why}") for d in (cool if heat_counts else heat)]
    lines = [*(of_heat if heat_counts else of_cool), *lost, *setting_lines(dwelling, rules)]
    words = "with new heating or cooling" if hvac_is_new else "no new heating or cooling"
    title = f"{dwelling.name}, existing dwelling, {words}"
    return _done("existing", title, dwelling, rules, lines)


def _general(dwelling: Dwelling, rules: Rulebook, method: str) -> tuple[Line, ...]:
    """The general load with its circuits as the method itself lists them.

    The exception of 220.52(A) for a refrigerator is of the standard method.
    """
    lighting, *circuits = general_lines(dwelling, rules, f"lighting_va_per_ft2_{method}")
    cite = rules.figure(f"{method}_circuits").cite
    return lighting, *(replace(line, cite=cite, note="") for line in circuits)


def _heats_together(dwelling: Dwelling, rules: Rulebook) -> tuple[str, ...]:
    """That a heat pump or a furnace, and room heat beside it, can both run, though one counts.

    The list of 220.82(C) has them as two selections; its (C)(3) adds heat that supplements a pump.
    A bathroom or a shop with a heater of its own is heated beside the rest of the house.
    """
    pumps, strips = dwelling.of("heat_pump"), dwelling.of("central_heat")
    rooms = dwelling.of("room_heat")
    if not (pumps or strips) or not rooms:
        return ()
    pump, more = (
        rules.figure("optional_heat_pump_factor"),
        rules.figure("optional_central_heat_factor"),
    )
    together_va = pump.value * sum_va(pumps) + more.value * sum_va((*strips, *rooms))
    side = optional_side(dwelling, rules)
    fans_va = sum_va(d for d in side.loads if d.category == "air_handler")
    further_va = together_va + fans_va - sum(line.demand_va for line in side.lines)
    if further_va <= 0:
        return ()
    names = listed([d.name for d in (*pumps, *strips, *rooms)])
    return (
        f"{names} can heat at one time, and of the list ({more.cite.section}) only the largest "
        f"selection counts. Held to supplement each other they would be {together_va:,.0f} VA, "
        f"{further_va:,.0f} VA more, which the room left here does not count: ask the authority.",
    )


def _appliances(dwelling: Dwelling, cite: Cite, rules: Rulebook) -> list[Line]:
    """Nameplates of everything but heating, cooling and vehicles, carried to the steps."""
    own = dwelling.of("cooking", "dryer", "fastened", "individual")
    lines = _carried_loads(_motors_said(own, dwelling, rules), cite)
    for load in dwelling.of(*BY_OUTLET):
        lines += _carried_loads((load,), outlet_cite(load, rules))
    return lines


def _carried_loads(loads: Iterable[Load], cite: Cite) -> list[Line]:
    return [
        carried(d.name, quantity=d.quantity, each=d.va, unit="VA", cite=cite, note=d.note)
        for d in loads
    ]


def _motors_said(loads: Iterable[Load], dwelling: Dwelling, rules: Rulebook) -> tuple[Load, ...]:
    """Loads, each motor that counts by its plate saying what its table would be."""
    return tuple(replace(d, note=by_plate(d, dwelling.volts, rules)) for d in loads)


def _carried_va(lines: Iterable[Line]) -> float:
    return sum(line.connected_va for line in lines if line.factor is None)


def _demand_va(lines: Iterable[Line]) -> float:
    return sum(line.demand_va for line in lines)


def _hvac_outside(side: Iterable[Load], rules: Rulebook) -> tuple[Load, ...]:
    """What counts at 100 % beside the steps: four or more room units stay in the steps."""
    loads = tuple(side)
    rooms = sum(d.quantity for d in loads if d.category == "room_heat")
    many = rooms >= rules.value("many_rooms_count")
    return tuple(d for d in loads if not (many and d.category == "room_heat"))


def _too_small(dwelling: Dwelling) -> str:
    if dwelling.conductors_a is None:
        return (
            f"{dwelling.name} is rated {dwelling.existing_a:g} A, and what its conductors carry is "
            "not told"
        )
    return f"those of {dwelling.name} carry {dwelling.conductors_a:.0f} A"


def _conductors_note(dwelling: Dwelling, rules: Rulebook) -> tuple[str, ...]:
    """That the method stands on the conductors, where the rating alone would not allow it."""
    least = rules.figure("optional_least_a")
    rated, carried_a = dwelling.existing_a, dwelling.conductors_a
    if rated is None or carried_a is None or rated >= least.value:
        return ()
    return (
        f"The method goes by the conductors ({least.cite.section}): they carry {carried_a:.0f} A, "
        f"{least.value:g} A or more, though the rating is {rated:g} A.",
    )


def _shared_note(dwelling: Dwelling, section: str, rules: Rulebook) -> tuple[str, ...]:
    """That the method is for one dwelling, where its meter also feeds what several share."""
    if not dwelling.shared_circuits:
        return ()
    plain = standard(dwelling, rules)
    return (
        f"Several dwellings share what is on: {listed(list(dwelling.shared_circuits))}. That is "
        f"not this dwelling’s, and the method is for one dwelling ({section}); it counts here as "
        "it hangs on the same conductors. By the standard method all of it comes to "
        f"{plain.total_va:,.0f} VA, {plain.rounded_a} A; ask the authority which it takes.",
    )


def _farm_note(dwelling: Dwelling, rules: Rulebook) -> tuple[str, ...]:
    """That the method is for a dwelling, where it also carries what stands in farm buildings."""
    if not dwelling.in_farm_buildings:
        return ()
    article = rules.load_article
    return (
        f"In farm buildings: {listed(list(dwelling.in_farm_buildings))}. Farm loads are not the "
        f"dwelling’s, and this method is for a dwelling: Part V ({article}.102, {article}.103) "
        "takes them, on the sheet of the farm with its dwelling.",
    )


def _continuous_note(
    dwelling: Dwelling, sheet: Worksheet, factor: float, rules: Rulebook
) -> tuple[str, ...]:
    """That 25 % is added of the whole of what runs for hours, of which the steps count less.

    With what it would come to of the part counted, where the steps take all of it.
    """
    extra_a = sheet.needed_a - sheet.leg_a
    cars_outside = sheet.method == "optional" and rules.on("optional_vehicle_outside")
    outside = dwelling.settings or (cars_outside and dwelling.of("vehicle"))
    in_steps = any(line.factor == factor for line in sheet.lines)
    if extra_a <= 0.0 or outside or not in_steps:
        return ()
    more = percent(rules.value("continuous_factor") - 1.0)
    less_a = sheet.leg_a + factor * extra_a
    return (
        f"{more} more is added of the whole of what runs three hours or longer, though the steps "
        f"count most of it at {percent(factor)}: our safe reading. Of what is counted alone it "
        f"would ask for about {less_a:.1f} A and not {sheet.needed_a:.1f} A.",
    )


def _done(
    method: str, title: str, dwelling: Dwelling, rules: Rulebook, lines: list[Line]
) -> Worksheet:
    by_optional = method == "optional"
    cite = (
        rules.figure("optional_least_a").cite if by_optional else rules.tiers(f"{method}_tiers")[1]
    )
    sheet = with_standard_legs(
        dwelling,
        rules,
        method=method,
        title=title,
        lines=tuple(lines),
        notes=(
            NEUTRAL_NOTE.format(rules.load_article),
            *(_conductors_note(dwelling, rules) if by_optional else ()),
            *_farm_note(dwelling, rules),
            *_shared_note(dwelling, cite.section, rules),
        ),
    )
    factor = rules.tiers(f"{method}_tiers")[0][-1].factor
    sheet = replace(sheet, notes=(*sheet.notes, *_continuous_note(dwelling, sheet, factor, rules)))
    sheet = replace(sheet, if_told=dwelling.whose_untold)
    room = sheet.can_add_va
    if not room:
        return sheet
    words = (
        f"The room for {room:,.0f} VA more is calculated VA, after the factors: of a load that "
        f"counts at {percent(factor)} it is {room / factor:,.0f} VA by nameplate."
    )
    return replace(sheet, notes=(*sheet.notes, words))
