"""The standard method (Article 220 Part III; Article 120 from 2026)."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from server.rules.demand.cooking import cooking_demand, dryer_factor
from server.rules.demand.general import (
    continuous_part,
    counted,
    farm_kind_notes,
    general_lines,
    held_legs_a,
    open_questions,
    outlet_cite,
    setting_lines,
    tier_lines,
    vehicle_line,
)
from server.rules.demand.hvac import HvacSide, standard_side
from server.rules.demand.inputs import BY_OUTLET, Dwelling, Load
from server.rules.demand.legs import Share, leg_sheet, with_other_season
from server.rules.demand.motors import by_table
from server.rules.demand.setting_legs import LegsA, held_at
from server.rules.demand.worksheet import LegSheet, Line, Worksheet, finished
from server.rules.editions import Cite, Rulebook, cite_of, table_cite
from server.rules.leg import LEG_V
from server.rules.tables import read_toml
from server.rules.words import percent

METHOD = "standard"
MOST_KEPT = 128
"""A service, its panel and the wire between carry the same, by every method."""


def standard(dwelling: Dwelling, rules: Rulebook) -> Worksheet:
    """Demand by the standard method, for any service, feeder or panel.

    >>> from server.rules.editions import rulebook
    >>> house = Dwelling("House", 1500, loads=(
    ...     Load("Range", "cooking", 12_000), Load("Dryer", "dryer", 5_500)))
    >>> sheet = standard(house, rulebook("2023"))
    >>> sheet.total_va, sheet.rounded_a, sheet.standard_a
    (18600.0, 78, 100.0)
    """
    dwelling = _with_motors(dwelling, rules)
    build = _built(dwelling, rules)
    return finished(
        method=METHOD,
        title=f"{dwelling.name}, standard method",
        rules=rules,
        lines=build.lines,
        volts=dwelling.volts,
        continuous=continuous_part(dwelling, rules),
        existing_a=dwelling.existing_a,
        is_service=dwelling.is_service and (dwelling.whole or dwelling.no_dwelling),
        one_family=dwelling.one_family,
        at_service=dwelling.at_service,
        legs=build.legs,
        missing=open_questions(dwelling),
        notes=farm_kind_notes(dwelling, rules),
    )


def standard_legs(dwelling: Dwelling, rules: Rulebook) -> LegSheet:
    """Legs and neutral by the standard method; the other methods use its neutral."""
    return _built(_with_motors(dwelling, rules), rules).legs


def with_standard_legs(
    dwelling: Dwelling,
    rules: Rulebook,
    *,
    method: str,
    title: str,
    lines: tuple[Line, ...],
    notes: tuple[str, ...],
) -> Worksheet:
    """The worksheet of another method over a dwelling, with the legs of the standard method."""
    return finished(
        method=method,
        title=title,
        rules=rules,
        lines=lines,
        volts=dwelling.volts,
        continuous=continuous_part(dwelling, rules),
        existing_a=dwelling.existing_a,
        is_service=dwelling.is_service,
        one_family=dwelling.one_family and len(dwelling.dwellings) <= 1,
        at_service=dwelling.at_service,
        legs=standard_legs(dwelling, rules),
        missing=open_questions(dwelling),
        notes=(*notes, *farm_kind_notes(dwelling, rules)),
    )


def _with_motors(dwelling: Dwelling, rules: Rulebook) -> Dwelling:
    """A dwelling with its motors at the amps of their table, as this method asks."""
    return replace(dwelling, loads=by_table(dwelling.loads, dwelling.volts, rules))


def _built(dwelling: Dwelling, rules: Rulebook) -> _Build:
    """Lines and legs of a dwelling, whatever it is called and is compared with."""
    alike = replace(
        dwelling,
        name="",
        is_service=False,
        one_family=True,
        at_service=False,
        dwellings=(),
        shared=None,
        feeders=1,
        existing_a=None,
        conductors_a=None,
        shared_circuits=(),
        in_farm_buildings=(),
        farm_buildings=(),
        farm_in_dwelling=(),
        whole_service=False,
        whose_untold=False,
        missing=(),
    )
    return _built_alike(alike, rules)


def fastened_lines(dwelling: Dwelling, rules: Rulebook) -> tuple[tuple[Line, Load], ...]:
    """Fastened-in-place appliances: 75 % of four or more that are large enough to count.

    The cut is for the appliances of a dwelling (220.53): those of an outbuilding count in full.
    """
    factor, least_count = rules.figure("fastened_factor"), rules.value("fastened_least_count")
    least_w, least_hp = rules.value("fastened_least_w"), rules.value("fastened_least_hp")
    loads = [*dwelling.of("fastened")]
    if not rules.on("fastened_bars_vehicle"):
        loads += dwelling.of("vehicle")

    def large(load: Load) -> bool:
        return load.va >= least_w or (load.horsepower or 0.0) >= least_hp > 0

    count = sum(d.quantity for d in loads if large(d) and not d.outbuilding)
    found = []
    for load in loads:
        cut = count >= least_count and large(load) and not load.outbuilding
        share = factor.value if cut else 1.0
        why = "of no dwelling" if load.outbuilding else f"under {least_w:g} W"
        note = "" if cut or count < least_count else f"{why}: no reduction"
        if load.category == "vehicle":
            found.append((vehicle_line(load, share, rules), load))
        else:
            cite = _outbuilding_cite(load, rules) if load.outbuilding else factor.cite
            found.append((counted(load, share, cite, note), load))
    return tuple(found)


def _outbuilding_cite(load: Load, rules: Rulebook) -> Cite:
    """Where what is fastened in place outside a dwelling stands: as a motor, or by itself."""
    return rules.figure("largest_motor_extra").cite if load.motor_va else individual_cite(rules)


class _Build:
    """The lines of the method and, beside them, what each puts on the legs."""

    def __init__(self, dwelling: Dwelling, rules: Rulebook) -> None:
        self.dwelling, self.rules = dwelling, rules
        self.found: list[Line] = []
        self.shares: list[Share] = []
        self.motors: list[Load] = []
        self.season: list[Share] = []
        self._general()
        self._fastened()
        self._cooking()
        self._dryers()
        side = self._hvac()
        self._rest()
        self._largest_motor(side)
        self.lines = tuple(self.found)
        legs = leg_sheet(self.shares, volts=dwelling.volts, rules=rules, motor_raised=side.raised)
        self.legs = self._with_other_season(legs, side) if side.left_out else legs

    def _general(self) -> None:
        lines = general_lines(self.dwelling, self.rules, "lighting_va_per_ft2")
        if self.dwelling.no_dwelling and not any(line.connected_va for line in lines):
            return
        tiers, cite = self.rules.tiers("lighting_tiers")
        steps = tier_lines(sum(line.connected_va for line in lines), tiers, cite)
        self.found += [*lines, *steps]
        demand = sum(line.demand_va for line in steps)
        self._share("General load", demand, self.dwelling.volts, neutral="full")

    def _share(
        self, label: str, va: float, volts: float, *, neutral: str, load: Load | None = None
    ) -> None:
        """Put a demand on the legs; a 120 V load without a leg is spread over both."""
        use = "full" if load is not None and load.single_leg else neutral
        if load is None:
            self.shares.append(Share(label, va, volts, None, use))  # type: ignore[arg-type]
            return
        motor = load.motor_va if load.quantity else 0.0
        if load.single_leg and load.leg is not None:
            self.shares.append(Share(label, va, volts, load.leg, "full", motor_va=motor))
            return
        part = va * load.neutral_va / load.va if load.va and not load.single_leg else 0.0
        if neutral == "none" and part:
            self.shares.append(Share(label, va - part, volts, None, "none", motor_va=motor))
            self.shares.append(
                Share(
                    f"{label}, 120 V part",
                    part,
                    LEG_V if load.leg else self.dwelling.volts,
                    load.leg,
                    "full",
                )
            )
            return
        self.shares.append(Share(label, va, volts, None, use, motor_va=motor))  # type: ignore[arg-type]

    def _add(self, line: Line, load: Load) -> None:
        self.found.append(line)
        if line.demand_va:
            self._share(load.name, line.demand_va, load.volts, neutral="none", load=load)
            if load.motor_va:
                self.motors.append(load)

    def _fastened(self) -> None:
        for line, load in fastened_lines(self.dwelling, self.rules):
            self._add(line, load)

    def _cooking(self) -> None:
        loads = self.dwelling.of("cooking")
        if not loads:
            return
        ratings = [d.va / 1000 for d in loads for _ in range(d.quantity)]
        found = cooking_demand(ratings)
        cite = table_cite("cooking", self.rules.edition)
        total = sum(d.total_va for d in loads)
        names = ", ".join(d.name for d in loads)
        self.found.append(
            Line(
                names,
                len(ratings),
                total / len(ratings),
                "VA",
                total,
                found.demand_kw * 1000 / total,
                found.demand_kw * 1000,
                cite,
                found.note,
            )
        )
        self._share(names, found.demand_kw * 1000, self.dwelling.volts, neutral="cooking_dryer")

    def _dryers(self) -> None:
        loads = self.dwelling.of("dryer")
        if not loads:
            return
        least = self.rules.figure("dryer_least_va")
        count = sum(d.quantity for d in loads)
        factor = dryer_factor(count)
        cite = least.cite
        if count > 1:
            cite = table_cite("dryers", self.rules.edition)
        for load in loads:
            each = max(load.va, least.value)
            total = each * load.quantity
            note = f"at least {least.value:,.0f} VA each" if each > load.va else ""
            self.found.append(
                Line(
                    load.name, load.quantity, each, "VA", total, factor, total * factor, cite, note
                )
            )
            part = load.neutral_va * load.quantity * factor
            self.shares.append(
                Share(
                    load.name,
                    total * factor,
                    load.volts,
                    None,
                    "cooking_dryer",
                    va_120=part,
                    leg_120=load.leg if part else None,
                )
            )

    def _hvac(self) -> HvacSide:
        side = standard_side(self.dwelling, self.rules)
        by_name = {id(d): d for d in side.loads}
        used = list(by_name.values())
        for line in side.lines:
            load = next((d for d in used if d.name == line.label and line.demand_va), None)
            if load is None:
                self.found.append(line)
                continue
            used.remove(load)
            before = len(self.shares)
            self._add(line, load)
            if load.category != "air_handler":
                self.season += self.shares[before:]
        return side

    def _with_other_season(self, legs: LegSheet, side: HvacSide) -> LegSheet:
        """The legs, no less than with the other side running in place of the one that counts."""
        of_season = {id(share) for share in self.season}
        counting = self.shares
        self.shares = [share for share in counting if id(share) not in of_season]
        for load in side.left_out:
            self._share(load.name, load.total_va, load.volts, neutral="none", load=load)
        other = leg_sheet(self.shares, volts=self.dwelling.volts, rules=self.rules)
        self.shares = counting
        cooling = side.left_out[0].category == "cooling"
        return with_other_season(legs, other, "cooling" if cooling else "heating")

    def _rest(self) -> None:
        full = self.rules.figure("fixed_heat_factor").value
        vehicles = self.dwelling.of("vehicle") if self.rules.on("fastened_bars_vehicle") else ()
        for load in vehicles:
            self._add(vehicle_line(load, full, self.rules), load)
        cite = individual_cite(self.rules)
        for load in self.dwelling.of("individual"):
            self._add(counted(load, full, cite), load)
        for load in self.dwelling.of(*BY_OUTLET):
            self._add(counted(load, full, outlet_cite(load, self.rules)), load)
        lines = setting_lines(self.dwelling, self.rules)
        for line, setting in zip(lines, self.dwelling.settings, strict=True):
            self.found.append(line)
            dwelling, volts = self.dwelling, self.dwelling.volts
            setting_a = setting.va / volts
            self.shares.append(
                Share(
                    line.label,
                    line.demand_va,
                    volts,
                    None,
                    "part",
                    legs_a=held_at(held_legs_a(dwelling, setting.group, self.rules), setting_a),
                    to_neutral_a=held_at(self._to_neutral_of(setting.group), setting_a),
                )
            )

    def _to_neutral_of(self, group: str) -> LegsA:
        """What of the loads that a setting holds lies from each leg to neutral, all on. [A]"""
        held = tuple(replace(d, group="") for d in self.dwelling.loads if d.group == group)
        alone = replace(
            self.dwelling,
            loads=held,
            settings=(),
            area_ft2=0.0,
            small_appliance_circuits=0,
            laundry_circuits=0,
            no_dwelling=True,
        )
        return _built(alone, self.rules).legs.to_neutral_a if held else (0.0, 0.0)

    def _largest_motor(self, side: HvacSide) -> None:
        extra = self.rules.figure("largest_motor_extra")
        if not self.motors:
            return
        largest = max(self.motors, key=lambda d: d.motor_va)
        if side.raised and largest.category == "cooling":
            return
        self.found.append(
            Line(
                f"{percent(extra.value)} of the largest motor, {largest.name}",
                1,
                largest.motor_va,
                "VA",
                largest.motor_va,
                extra.value,
                largest.motor_va * extra.value,
                extra.cite,
            )
        )


@lru_cache(maxsize=MOST_KEPT)
def _built_alike(dwelling: Dwelling, rules: Rulebook) -> _Build:
    return _Build(dwelling, rules)


def individual_cite(rules: Rulebook) -> Cite:
    """Where loads on their own circuit stand: counted at 100 % (220.14, individual loads)."""
    return cite_of(read_toml("demand")["individual_load"], rules.edition)
