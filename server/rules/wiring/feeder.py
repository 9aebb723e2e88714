"""The wiring answers of every feeder of a site."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

from server.domain.errors import InputError
from server.domain.site import Site
from server.domain.supply import Feeder, Segment
from server.domain.working import Working
from server.rules.demand.farm import FOR_NEW_WORK, by_part_v
from server.rules.demand.mapping import Facts
from server.rules.demand.ratings import feeder_device_a, system_volts
from server.rules.demand.report import ElementDemand, demand_report
from server.rules.demand.worksheet import Worksheet
from server.rules.editions import Rulebook
from server.rules.ocpd import next_standard_a
from server.rules.tables import conductor, raceway_kind
from server.rules.wiring.ampacity import Ampacity
from server.rules.wiring.carrying import carries, protects, run_column, smallest_that_carries
from server.rules.wiring.drop import Drop, drop_at_start
from server.rules.wiring.feeder_drop import (
    hardest_start,
    held_to_device,
    one_leg_drop,
    path_share,
    stretch_of,
)
from server.rules.wiring.feeder_run import advice_at_device, advice_for_load, feeder_run
from server.rules.wiring.ground import equipment_ground
from server.rules.wiring.raceway import Fill, fill, wires_of
from server.rules.wiring.run import RANGES, Run, RunAnswer
from server.rules.wiring.segment import (
    TABLE_CURRENT_CARRYING,
    ambient_c,
    segment_ampacity,
)
from server.rules.wiring.service import of_service
from server.rules.wiring.set_wire import set_wire_a
from server.rules.wiring.sizing import least_neutral, run_drop, size_run

MOST_KEPT = 256
"""A change of one circuit leaves most feeders of a site as they were."""


@dataclass(frozen=True)
class SegmentWiring:
    """One segment: its ampacity, ground and fill, and whether it carries its feeder.

    ``carries`` is by its terminals as marked, else by 110.14(C); ``carries_at_75`` if those that
    were not read are all marked 75 °C, where it carries ``most_at_75_a``. ``protected`` is whether
    the device is one that 240.4 permits then.
    ``ground_size`` is in the metal of its ground, empty for service conductors, which have none.
    ``neutral_size`` is the smallest neutral for the feeder's neutral load; a neutral that is not
    entered is as large as the legs.
    """

    segment: Segment
    ampacity: Ampacity
    carries: bool
    carries_at_75: bool
    most_at_75_a: float
    why_not: str
    protected: bool
    ground_size: str
    ground_working: Working | None
    ground_enough: bool | None
    neutral_size: str
    neutral_enough: bool | None
    fill: Fill | None


@dataclass(frozen=True)
class FeederWiring:
    """Wiring of one feeder at its calculated load.

    ``service`` is whether it lies ahead of the service disconnect. ``neutral_a`` is the load its
    neutral is held to, never above a leg's or the device's.
    ``design_a`` is the governing demand with 125 % of its continuous part, but 115 % of a set
    that has no device, by its ``set_working``; ``path_drop_share``
    adds the feeders ahead on the utility side. ``missing`` are questions; ``advice`` is the
    smallest size for the whole length at its device and ``load_advice`` that for a load above the
    device, None where it could not be worked out. Drops are on the
    heavier leg where the legs differ; ``one_leg_drop`` is that with the 120 V loads of the other
    leg off, None where it is no larger. ``held_working`` is how a load above the device is brought
    down to it, None where it is not. ``start_a`` and ``start_volts`` are of the hardest start.
    """

    feeder_id: str
    name: str
    volts: float
    demand: Worksheet
    device_a: float | None
    service: bool
    neutral_ampacity_a: float | None
    neutral_a: float | None
    design_a: float
    set_working: Working | None
    whole_dwelling: bool
    segments: tuple[SegmentWiring, ...]
    drop: Drop | None
    one_leg_drop: Drop | None
    held_working: Working | None
    start_drop: Drop | None
    start_a: float
    start_volts: float
    path_drop_share: float | None
    advice: RunAnswer | None
    load_advice: RunAnswer | None
    missing: tuple[str, ...]

    @property
    def path_start_share(self) -> float | None:
        """The drop at its hardest start with what the feeders ahead lose running."""
        if self.start_drop is None or self.drop is None or self.path_drop_share is None:
            return None
        return self.start_drop.dc_share + self.path_drop_share - self.drop.dc_share


def feeder_wiring(
    site: Site,
    *,
    rules: Rulebook,
    facts: Facts | None = None,
    report: Iterable[ElementDemand] | None = None,
    advise: bool = True,
) -> tuple[FeederWiring, ...]:
    """Wiring of every feeder that carries something.

    ``report`` is the demand of the site where it is already worked out; ``advise`` False leaves
    out the smallest size that would do.
    """
    known = {d.element_id: d for d in report or demand_report(site, rules=rules, facts=facts)}
    answers = {
        f.id: one_feeder(site, f, demand=known[f.id], rules=rules, advise=advise)
        for f in site.feeders
        if f.id in known
    }
    shares = {i: w.drop.dc_share for i, w in answers.items() if w.drop}
    return tuple(
        replace(w, path_drop_share=path_share(site, w.feeder_id, shares)) for w in answers.values()
    )


def governing(demand: ElementDemand) -> Worksheet:
    """The heaviest over the switch positions, each by its lightest method permitted.

    A measured demand stands beside it and never in its place. Where farm buildings hang on it the
    sheet of Part V governs: it asks for them to be worked out so (220.100).
    """
    by_position: dict[str, list[Worksheet]] = {}
    for sheet in demand.sheets:
        if sheet.method == "measured":
            continue
        by_position.setdefault(sheet.position, []).append(sheet)
    lightest = []
    for sheets in by_position.values():
        new = by_part_v([s for s in sheets if s.method in FOR_NEW_WORK])
        held = [s for s in sheets if s.method in ("managed", "selected")]
        lightest.append(min(new or held or sheets, key=lambda s: s.needed_a))
    return max(lightest, key=lambda s: s.needed_a)


def one_feeder(
    site: Site, feeder: Feeder, *, demand: ElementDemand, rules: Rulebook, advise: bool = True
) -> FeederWiring:
    """Wiring of one feeder at its demand."""
    sheet = governing(demand)
    device_a = feeder_device_a(site, feeder)
    whole = any(s.method == "optional" for s in demand.sheets)
    volts = system_volts(site, feeder.id)
    missing = [*sheet.missing]
    if not feeder.segments:
        missing.append(f"Length and wire of {feeder.name}.")
    if device_a is None:
        missing.append(f"Overcurrent device of {feeder.name}.")
    service = of_service(site, feeder)
    of_set = set_wire_a(site, feeder, rules)
    least_a = of_set.value if of_set else 0.0
    # A set without a device still gives no more than it can.
    held_a = device_a if of_set is None else of_set.terms[-1].value
    run = replace(
        feeder_run(feeder, sheet, held_a, whole=whole and of_set is None, volts=volts),
        service=service,
        device_a=device_a,
        least_a=least_a,
    )
    behind_a = device_a or (next_standard_a(least_a) if of_set else sheet.standard_a or 0.0)
    segments: list[SegmentWiring] = []
    for segment in feeder.segments:
        try:
            segments.append(_segment(segment, run, behind_a, rules))
        except InputError as error:
            missing.append(_not_worked_out(feeder, device_a, error))
    start_a, start_volts = hardest_start(site, feeder, volts)
    drop = start = one_leg = None
    if feeder.segments:
        try:
            stretches = [stretch_of(s) for s in feeder.segments]
            drop = run_drop(run, stretches, rules)
            one_leg = one_leg_drop(run, drop, stretches, rules)
            if start_a:
                start = drop_at_start(
                    running=drop,
                    start_a=start_a,
                    start_volts=start_volts,
                    stretches=stretches,
                    rules=rules,
                )
        except InputError as error:
            missing.append(_not_worked_out(feeder, device_a, error))
    return FeederWiring(
        feeder_id=feeder.id,
        name=feeder.name,
        volts=volts,
        demand=sheet,
        device_a=device_a,
        service=service,
        neutral_ampacity_a=feeder.neutral_ampacity_a,
        neutral_a=run.neutral_a,
        design_a=least_a or sheet.needed_a,
        set_working=of_set,
        whole_dwelling=whole,
        segments=tuple(segments),
        drop=drop,
        one_leg_drop=one_leg,
        held_working=held_to_device(sheet, held_a, of_set=of_set is not None),
        start_drop=start,
        start_a=start_a,
        start_volts=start_volts,
        path_drop_share=None,
        advice=advice_at_device(run, rules) if advise else None,
        load_advice=advice_for_load(feeder, sheet, run, rules) if advise else None,
        missing=tuple(dict.fromkeys(missing)),
    )


def _not_worked_out(feeder: Feeder, device_a: float | None, error: InputError) -> str:
    """Why the wire of a feeder could not be worked out, with its name."""
    permitted = RANGES["device_a"]
    if device_a is not None and device_a > permitted.high:
        return (
            f"Wire of {feeder.name}: its device of {device_a:,g} A is past what can be worked out "
            f"here, {permitted.words} of device."
        )
    return f"Wire of {feeder.name}: {error}"


def ground_with(one: FeederWiring, wire: RunAnswer) -> str:
    """The ground that this wire asks for the whole length, empty where none less is entered."""
    if one.service:
        return ""
    wanted = conductor(wire.ground_size).cmil
    for segment in (s.segment for s in one.segments):
        alike = segment.ground_metal == wire.run.ground_metal
        laid = segment.ground_size
        if laid and not (alike and conductor(laid).cmil >= wanted):
            return f"{wire.ground_size} {wire.run.ground_metal}"
    return ""


def wire_behind(
    feeder: Feeder, one: FeederWiring, sheet: Worksheet, device_a: float, rules: Rulebook
) -> RunAnswer | None:
    """The smallest wire for the load of a sheet behind this device; None where there is none."""
    run = feeder_run(feeder, sheet, None, whole=one.whole_dwelling, volts=one.volts)
    try:
        return size_run(replace(run, service=one.service, device_a=device_a), rules)
    except InputError:
        return None


@lru_cache(maxsize=MOST_KEPT)
def _segment(segment: Segment, run: Run, device_a: float, rules: Rulebook) -> SegmentWiring:
    found: list[tuple[Ampacity, bool, str]] = []
    for marked in (segment.terminal_c, segment.terminal_c or 75):
        column = run_column(replace(run, terminal_c=marked), device_a, rules)
        one = segment_ampacity(segment, terminal_c=column, rules=rules)
        ok, why = carries(one, run=run, device_a=device_a, rules=rules)
        found.append((one, ok, why))
    ground, grown = ("", None) if run.service else _ground(segment, run, device_a, rules)
    enough = None
    if ground and segment.ground_size:
        enough = conductor(segment.ground_size).cmil >= conductor(ground).cmil
    neutral = least_neutral(_own_run(segment, run), device_a, segment.size, rules) or ""
    return SegmentWiring(
        segment=segment,
        ampacity=found[0][0],
        carries=found[0][1],
        carries_at_75=found[1][1],
        most_at_75_a=found[1][0].final_a,
        why_not=found[0][2],
        protected=protects(found[1][0], run=run, device_a=device_a, rules=rules),
        ground_size=ground,
        ground_working=grown,
        ground_enough=enough,
        neutral_size=neutral,
        neutral_enough=(
            conductor(segment.neutral_size or segment.size).cmil >= conductor(neutral).cmil
            if neutral
            else None
        ),
        fill=_fill(segment, ground, two_wire=run.two_wire, rules=rules),
    )


def _ground(segment: Segment, run: Run, device_a: float, rules: Rulebook) -> tuple[str, Working]:
    """Equipment ground of a segment in its metal, grown where its wire is larger than needed."""
    return equipment_ground(
        device_a=device_a,
        metal=segment.ground_metal,
        needed_size=_least_size(segment, run, device_a, rules),
        installed_size=segment.size,
        installed_metal=segment.metal,
        rules=rules,
    )


def _own_run(segment: Segment, run: Run) -> Run:
    """The run with a segment's own wire and place."""
    return replace(
        run,
        metal=segment.metal,
        sets=segment.sets,
        letters=segment.insulation,
        ambient_c=ambient_c(segment),
        current_carrying=segment.current_carrying or TABLE_CURRENT_CARRYING,
        terminal_c=segment.terminal_c,
    )


def _least_size(segment: Segment, run: Run, device_a: float, rules: Rulebook) -> str | None:
    """The smallest size of a segment's own metal and sets that carries, whatever it drops."""
    try:
        return smallest_that_carries(_own_run(segment, run), device_a, rules)
    except InputError:
        return None


def _fill(segment: Segment, ground: str, *, two_wire: bool, rules: Rulebook) -> Fill | None:
    """Fill of a stated raceway with the hots, the neutral and any ground of one set."""
    kind = raceway_kind(segment.raceway)
    if kind is None or not segment.raceway_trade_size:
        return None
    return fill(
        kind=kind,
        trade_size=segment.raceway_trade_size,
        wires=wires_of(segment, ground, two_wire=two_wire),
        rules=rules,
    )
