"""What to do for fuel: how much to bring and the reserve it covers, how to keep it, what else."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

from server.advise.begin.choices import is_medical
from server.advise.plan_task import joined
from server.domain.appliance import Appliance
from server.domain.behaviour import SumpPump
from server.domain.catalogue import KINDS, pumps_waste
from server.domain.cautions import FUEL, PROPANE, Caution
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.domain.topology import bus_of_circuit, sources_of
from server.physics.fuel_guess import GUESS_SHARE
from server.simulate.fuel_need import FuelNeed
from server.simulate.fuel_untold import UntoldFuel
from server.simulate.verdict import guessed_burn

STORED_GAL = 25.0
"""Gasoline that many places let a home keep: the figure of the caution on stored fuel, from
memory. [gal]"""

KBTU_IN_A_THERM = 100.0
"""By definition. [kBtu]"""

_LEAST_SHARE = 0.1
"""Where next to nothing of what is held may be burnt, no more than ten times is asked for; our own
figure."""

_LEAST_USED_GAL = 0.05
_TOLD_IN_DAYS_H = 48.0

_OTHERWISE = (
    "let it run fewer hours of the day, or carry fewer circuits; each hour off and each circuit "
    "off saves fuel."
)


def _otherwise(site: Site, need: FuelNeed) -> str:
    """How to burn less; hours off are not for a set that carries a medical device or a sump.

    The pit of a sump fills by itself, and runs over in the hours off.
    """
    bus_of = bus_of_circuit(site)
    devices = [
        a.name
        for c in site.circuits
        if c.outage_role != "off" and bus_of[c.id].kind != "normal"
        if need.generator_id in sources_of(site, c)
        for a in c.appliances
        if _needs_all_hours(a)
    ]
    if not devices:
        return _OTHERWISE
    hang, have = ("hang", "each has") if len(set(devices)) > 1 else ("hangs", "that has")
    return (
        f"carry fewer circuits, each circuit off saves fuel. {joined(devices)} {hang} on it, so "
        f"let it run all hours, unless {have} what it runs on alone through the hours off."
    )


def _needs_all_hours(one: Appliance) -> bool:
    """Whether it keeps somebody alive, or a pit from running over that fills by itself."""
    kind = KINDS.get(one.kind)
    sump = isinstance(one.behaviour, SumpPump) and not pumps_waste(one)
    return sump or (kind is not None and is_medical(kind))


def short_gal(need: FuelNeed) -> float:
    """Fuel that is missing for the run with the reserve left untouched, 0 where none is. [gal]"""
    in_all = need.used_gal + need.reserve_gal - need.there_gal
    in_time = need.lacking_gal + need.reserve_gal if need.runs_dry else 0.0
    return max(in_all, in_time, need.reserve_gal - need.least_gal, 0.0)


def gal_words(gallons: float) -> str:
    """Gallons to a tenth, and whole ones without.

    >>> gal_words(400.0), gal_words(75.46)
    ('400', '75.5')
    """
    return f"{gallons:.1f}".removesuffix(".0")


def therms_words(kbtu: float) -> str:
    """Natural gas as it is billed: a therm is 100,000 Btu by definition.

    >>> therms_words(1234.0), therms_words(100.0)
    ('12.3 therms', '1.0 therms')
    """
    return f"{kbtu / KBTU_IN_A_THERM:,.1f} therms"


@dataclass(frozen=True)
class FuelParts:
    """Fuel to be brought in ``count`` parts or more of at most ``each_gal`` each. [gal]

    The first before ``first_before``, then at the mean every ``every_h`` h; 0 where none is told.
    """

    count: int
    each_gal: float
    first_before: datetime | None
    every_h: float


def parts_wanted(site: Site, need: FuelNeed) -> FuelParts:
    """In how many parts the fuel that is short finds room in the tank above its reserve."""
    more_gal = float(math.ceil(short_gal(need)))
    tank = next(g.tank for g in site.generators if g.id == need.generator_id)
    room_gal = tank.capacity_gal * tank.fill_share - need.reserve_gal if tank else 0.0
    if room_gal <= 0.0 or more_gal <= room_gal:
        return FuelParts(1, more_gal, need.dry_at, 0.0)
    count = math.ceil(more_gal / room_gal)
    return FuelParts(count, room_gal, need.dry_at, _every_h(need, room_gal))


def enough_words(need: FuelNeed) -> str:
    """That the fuel there is enough for the run, and that somebody looks whether it is there."""
    kept = f" and leaves the reserve of {gal_words(need.reserve_gal)} gal"
    return (
        f"{need.name} needs about {gal_words(need.used_gal)} gal"
        f"{kept if need.reserve_gal > 0.05 else ''}: the {gal_words(need.there_gal)} gal that this "
        f"scenario counts on are enough. See that they are there.{_lasts_words(need)}"
    )


def _lasts_words(need: FuelNeed) -> str:
    """How long what is above the reserve carries an outage that burns as this run; or empty."""
    if need.used_gal < _LEAST_USED_GAL or need.outage_h <= 0.0:
        return ""
    lasts_h = (need.there_gal - need.reserve_gal) * need.outage_h / need.used_gal
    long = f"{lasts_h / 24.0:.1f} days" if lasts_h >= _TOLD_IN_DAYS_H else f"{lasts_h:.0f} h"
    above = "above the reserve " if need.reserve_gal > 0.05 else ""
    return f" At the mean of this run what is there {above}lasts about {long} of outage."


def hangs_words(scenario: Scenario, need: FuelNeed) -> str:
    """That the fuel ends early by the high guess of a burn, and how much bridges that; or empty."""
    if not need.hangs_on_guess:
        return ""
    high_gal = need.used_gal + GUESS_SHARE * (need.used_gal - need.other_gal)
    more_gal = _held_gal(need, max(high_gal + need.reserve_gal - need.there_gal, 0.0))
    where = "at hand" if scenario.roads == "closed" else "within reach"
    more = math.ceil(more_gal)
    have = f" Else have about {more} gal more {where}.{_at_start(need, more)}" if more else ""
    return f"{guessed_burn(scenario, need)}{have}"


def to_add_gal(need: FuelNeed) -> float:
    """Fuel to have more at hand: what is missing, and its own part of the reserve. [gal]

    What stands by the set in cans is entered as more that its tank holds, and the reserve is a
    share of all that is held; a gas tank that is refilled holds no more than before.
    """
    return _held_gal(need, short_gal(need))


def _held_gal(need: FuelNeed, gallons: float) -> float:
    """What is to be held more so that so much more is there to burn. [gal]"""
    if not need.in_cans:
        return gallons
    return gallons / max(need.added_share, _LEAST_SHARE)


def _at_start(need: FuelNeed, added_gal: int) -> str:
    """How full all is then at the start, for a scenario that begins with less; else empty.

    >>> held = FuelNeed("set", "Set", 30.4, 10.8, 2.4, 0.0, 0.0, None, capacity_gal=24.0,
    ...     start_share=0.45)
    >>> _at_start(held, 25)
    ' Enter it as what the tank and cans hold, and 74 % as the fuel at the start of this scenario.'
    """
    if need.start_share > 0.9995:
        return ""
    share = math.ceil(100.0 * need.start_share_with(added_gal))
    if not need.in_cans and share > 100:
        full_gal = need.capacity_gal * need.fill_share
        return f" The tank filled is {gal_words(full_gal)} gal: what is more has to be delivered."
    if not need.in_cans:
        return (
            f" Have its tank filled so far, and enter {share} % as the fuel at the start of this "
            "scenario."
        )
    return (
        f" Enter it as what the tank and cans hold, and {share} % as the fuel at the start of this "
        "scenario."
    )


def bring_words(site: Site, need: FuelNeed, *, cut_off: bool = False) -> str:
    """How many gallons to have, the sum they come from, and the other way.

    ``cut_off`` where the roads are closed: then nothing is fetched on the way.
    """
    more_gal = to_add_gal(need)
    if need.there_gal + more_gal > STORED_GAL and _fuel(site, need) == "gasoline":
        return _all_at_hand(site, need) if cut_off else _as_you_go(site, need)
    more = math.ceil(more_gal)
    if need.used_gal + need.reserve_gal <= need.there_gal:
        return (
            f"Have about {more} gal more at hand before the delivery, or let it "
            f"come sooner: {need.name} is down to {gal_words(need.least_gal)} gal by then, and "
            f"{gal_words(need.reserve_gal)} gal are its reserve.{_at_start(need, more)} Or burn "
            f"less: {_otherwise(site, need)}"
        )
    kept, others = "", ""
    if need.reserve_gal > 0.05:
        kept = f" and keeps {gal_words(need.reserve_gal)} gal in reserve"
        if more_gal > short_gal(need) + 0.5:
            kept += ", the same share of what is added"
    if need.other_gal > 0.05:
        others = f", {gal_words(need.other_gal)} of them in other appliances,"
    return (
        f"Have about {more} gal more at hand: {need.name} needs about "
        f"{gal_words(need.used_gal)} gal{others} in this scenario{kept}, and "
        f"{gal_words(need.there_gal)} gal are there.{_at_start(need, more)} Or bring less: "
        f"{_otherwise(site, need)}"
    )


def _all_at_hand(site: Site, need: FuelNeed) -> str:
    """Gasoline that may not all be stored where none can be fetched: use less of it."""
    more = math.ceil(to_add_gal(need))
    kept = (
        f" and keeps {gal_words(need.reserve_gal)} gal in reserve"
        if need.reserve_gal > 0.05
        else ""
    )
    return (
        f"No fuel is to be had in this scenario while the roads are closed, and about {more} gal "
        f"more than the {gal_words(need.there_gal)} gal at hand are needed: {need.name} needs "
        f"about {gal_words(need.used_gal)} gal{kept}. Many places let a home keep no more than "
        f"{STORED_GAL:.0f} gal at once, so burn less: {_otherwise(site, need)} Or keep at hand "
        f"before it what may be kept, and enter it.{_at_start(need, more)}"
    )


def _as_you_go(site: Site, need: FuelNeed) -> str:
    """Gasoline that may not all be stored; what is brought later leaves the reserve as it is."""
    more, held = math.ceil(short_gal(need)), math.ceil(to_add_gal(need))
    entered = (
        f" Where so much may be held, {held} gal more held beforehand do it too, for the reserve "
        f"grows: {_in_all(need, held)} gal in all as what its tank and the cans by it hold."
        f"{_at_start(need, held)}"
        if held > more
        else ""
    )
    kept = (
        f", keeps {gal_words(need.reserve_gal)} gal in reserve" if need.reserve_gal > 0.05 else ""
    )
    return (
        f"About {more} gal more are needed, and many places let a home keep no more than "
        f"{STORED_GAL:.0f} gal at once: {need.name} needs about {gal_words(need.used_gal)} gal in "
        f"this scenario{kept}, and {gal_words(need.there_gal)} gal are there.{entered} Fetch "
        f"it as you go, where a station has power, {_parts(site, need)}and enter it as fuel "
        f"delivered in the scenario. {_no_room(need)}"
        f"Or burn less: {_otherwise(site, need)}"
    )


def _in_all(need: FuelNeed, added_gal: int) -> str:
    """What tank and cans hold with so much more, as it is entered; never rounded down. [gal]

    >>> _in_all(FuelNeed("set", "Set", 46.0, 20.0, 5.0, 0.0, 0.0, None, capacity_gal=20.0), 42)
    '62'
    """
    return gal_words(math.ceil(10.0 * (need.capacity_gal + added_gal) - 1e-9) / 10.0)


def _no_room(need: FuelNeed) -> str:
    """What of the fuel that is due finds no room when it comes; empty where all does."""
    if need.left_over_gal <= 0.05:
        return ""
    return (
        f"Of what is due already, {gal_words(need.left_over_gal)} gal find no room when they come: "
        "enter them later, or in smaller parts. "
    )


def _parts(site: Site, need: FuelNeed) -> str:
    """In how many parts it is brought, where the tank has no room for it at once above its reserve.

    Empty where it has.
    """
    wanted = parts_wanted(site, need)
    if wanted.count == 1:
        return ""
    return (
        f"in {wanted.count} parts or more of no more than "
        f"{gal_words(wanted.each_gal)} gal, each once as much is burnt, for its tank has no room "
        f"before{_how_often(wanted)}, "
    )


def _every_h(need: FuelNeed, room_gal: float) -> float:
    """How far apart fills are at the mean, in whole half hours; 0 where that is not told. [h]"""
    if need.outage_h <= 0.0:
        return 0.0
    return math.floor(2.0 * room_gal * need.outage_h / need.used_gal) / 2.0


def _how_often(wanted: FuelParts) -> str:
    """How far apart the fills may be, and that each is a stop; empty below half an hour."""
    if not wanted.every_h:
        return ""
    return (
        f" (at the mean about every {wanted.every_h:g} h, oftener while much is on, and each is a "
        "stop: enter the stops as often)"
    )


def _fuel(site: Site, need: FuelNeed) -> str:
    return next(g.fuel for g in site.generators if g.id == need.generator_id)


def storage_caution(site: Site, need: FuelNeed) -> Caution:
    """The caution that stands wherever fuel to bring is told, by the fuel of the set."""
    generator = next(g for g in site.generators if g.id == need.generator_id)
    return PROPANE if generator.fuel == "propane" else FUEL


def to_bring(
    site: Site, needs: tuple[FuelNeed, ...], *, cut_off: bool = False
) -> tuple[tuple[str, Caution], ...]:
    """For each set whose fuel is short or eats into its reserve: what to bring, and its caution."""
    return tuple(
        (bring_words(site, n, cut_off=cut_off), storage_caution(site, n))
        for n in needs
        if n.runs_dry or n.eats_reserve
    )


def untold_words(one: UntoldFuel) -> str:
    """How much a set without a tank needs, that nobody told of it, and where it is told."""
    more = one.used_gal > STORED_GAL and one.fuel == "gasoline"
    kept = f"; many places let a home keep no more than {STORED_GAL:.0f} gal at once"
    return (
        f"{one.name} burns {one.much} in this scenario, and nobody has told where they come from: "
        "no tank is entered, so this run lets it go on for ever. Enter what its tank and the cans "
        f"by it hold{kept if more else ''}. Then this run says when it ends and how much to bring."
    )
