"""The wiring answers of every feeder of a site."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from server.domain.errors import InputError
from server.domain.site import Site
from server.domain.supply import Feeder
from server.domain.working import Working
from server.rules.demand.farm import METHOD as FARM
from server.rules.demand.farm_buildings import asks_copper_ground
from server.rules.demand.lightest import counted_a, lightest
from server.rules.demand.mapping import Facts
from server.rules.demand.ratings import feeder_device_a, system_volts
from server.rules.demand.report import ElementDemand
from server.rules.demand.standing import Standing
from server.rules.demand.watched import demand_report
from server.rules.demand.worksheet import Worksheet
from server.rules.editions import Rulebook
from server.rules.neutral_bonds import on_old_three_wire_feeder
from server.rules.ocpd import next_standard_a
from server.rules.tables import Metal, conductor
from server.rules.wiring.behind import Smaller, least_main_a, smaller_device
from server.rules.wiring.drop import Drop, drop_at_start
from server.rules.wiring.feeder_drop import (
    hardest_start,
    held_to,
    one_leg_drop,
    path_drop,
    stretch_of,
)
from server.rules.wiring.feeder_run import (
    advice_at_device,
    advice_for_load,
    feeder_run,
    standing_instead,
)
from server.rules.wiring.laid import SegmentWiring, segment_wiring
from server.rules.wiring.run import RANGES, RunAnswer
from server.rules.wiring.service import of_service
from server.rules.wiring.set_wire import set_wire_a
from server.rules.wiring.sizing import run_drop, size_run
from server.rules.wiring.tap import Tap, feeder_tap
from server.rules.words import listed


@dataclass(frozen=True)
class FeederWiring:
    """Wiring of one feeder at its calculated load.

    ``service`` is whether it lies ahead of the service disconnect. ``no_neutral`` is whether
    it has none; ``neutral_a`` is the load its neutral is held to, never above a leg's or the
    device's.
    ``design_a`` is the governing demand with 125 % of its continuous part, but 115 % of a set
    that has no device, by its ``set_working``; ``path_drop_share``
    adds the feeders ahead on the utility side, by ``path_sides`` of the double-throws on the way,
    the worse ones. ``missing`` are questions; ``unchecked`` names what
    of its wire could not be held against the code and says why; ``advice`` is the smallest size
    for the whole length at its device and ``load_advice`` that for a load above the
    device, None where it could not be worked out. Drops are on the
    heavier leg where the legs differ; ``one_leg_drop`` is that with the 120 V loads of the other
    leg off, None where it is no larger. ``held_working`` is how a load above the device is brought
    down to it, None where it is not. ``standing`` is the manager's setting that may stand for a
    load above the device and fits it: wire and drop are then for that. ``tap`` is set where the
    device ahead is too large for the wire and the main at its end protects it, ``smaller`` where a
    smaller one would. ``start_a`` and
    ``start_volts`` are of the hardest start, ``start_basis`` says what its amps are by.
    """

    feeder_id: str
    name: str
    volts: float
    demand: Worksheet
    device_a: float | None
    service: bool
    no_neutral: bool
    neutral_ampacity_a: float | None
    neutral_a: float | None
    design_a: float
    set_working: Working | None
    whole_dwelling: bool
    segments: tuple[SegmentWiring, ...]
    drop: Drop | None
    one_leg_drop: Drop | None
    held_working: Working | None
    standing: Standing | None
    start_drop: Drop | None
    start_a: float
    start_basis: str
    start_volts: float
    path_drop_share: float | None
    advice: RunAnswer | None
    load_advice: RunAnswer | None
    missing: tuple[str, ...]
    unchecked: tuple[tuple[str, str], ...] = ()
    path_sides: str = ""
    tap: Tap | None = None
    smaller: Smaller | None = None

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
    return tuple(_with_path(site, w, shares) for w in answers.values())


def _with_path(site: Site, one: FeederWiring, shares: Mapping[str, float]) -> FeederWiring:
    path = path_drop(site, one.feeder_id, shares)
    if path is None:
        return one
    sides = [f"{site.name_of[i]} on {side}" for i, side in path.sides]
    return replace(one, path_drop_share=path.share, path_sides=listed(sides) if sides else "")


def governing(demand: ElementDemand) -> Worksheet:
    """The heaviest over the switch positions, each by its lightest method permitted.

    A measured demand stands beside it and never in its place.
    """
    by_position: dict[str, list[Worksheet]] = {}
    for sheet in demand.sheets:
        if sheet.method == "measured":
            continue
        by_position.setdefault(sheet.position, []).append(sheet)
    found = [lightest(demand.kind, sheets) or sheets[0] for sheets in by_position.values()]
    return max(found, key=lambda s: counted_a(demand.kind, s))


def one_feeder(
    site: Site, feeder: Feeder, *, demand: ElementDemand, rules: Rulebook, advise: bool = True
) -> FeederWiring:
    """Wiring of one feeder at its demand."""
    sheet = governing(demand)
    device_a = feeder_device_a(site, feeder)
    methods = {s.method for s in demand.sheets if not s.if_told}
    # The 83 % is for the load of a dwelling (310.12), which farm buildings are no part of.
    whole = "optional" in methods and FARM not in methods
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
    by = "Device" if of_set is None else "Set"
    standing = standing_instead(demand, sheet, feeder, device_a)
    if standing is not None and device_a is not None and standing.counted_a < device_a:
        held_a, by = standing.counted_a, "Setting"
    run = replace(
        feeder_run(feeder, sheet, held_a, whole=whole and of_set is None, volts=volts),
        service=service,
        device_a=device_a,
        least_a=least_a,
        ground_metal=_ground_metal(site, feeder),
    )
    if run.held and by == "Setting" and standing is not None:
        run = replace(run, held=f"the setting of {standing.group.name}")
    behind_a = device_a or (next_standard_a(least_a) if of_set else sheet.standard_a or 0.0)
    segments: list[SegmentWiring] = []
    unchecked: list[tuple[str, str]] = []
    for segment in feeder.segments:
        try:
            laid = segment_wiring(
                segment,
                run,
                behind_a,
                rules,
                neutral_laid=not feeder.no_neutral,
                ground_laid=_has_ground(site, feeder),
            )
        except InputError as error:
            missing.append(f"Wire of {feeder.name}: {_why(device_a, error)}")
            wire = f"The wire of {feeder.name}, {segment.size} {segment.metal},"
            unchecked.append((wire, _why(device_a, error)))
            continue
        segments.append(laid)
        for part, error_words in laid.unchecked:
            why = _why(device_a, error_words)
            missing.append(f"{part.capitalize()} of {feeder.name}: {why}")
            unchecked.append((f"The {part} of {feeder.name}", why))
        if laid.unfilled:
            missing.append(f"Fill of the raceway of {feeder.name}: {laid.unfilled}")
    start_a, start_volts, start_basis = hardest_start(site, feeder, volts)
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
            missing.append(f"Wire of {feeder.name}: {_why(device_a, error)}")
    return FeederWiring(
        feeder_id=feeder.id,
        name=feeder.name,
        volts=volts,
        demand=sheet,
        device_a=device_a,
        service=service,
        no_neutral=feeder.no_neutral,
        neutral_ampacity_a=feeder.neutral_ampacity_a,
        neutral_a=run.neutral_a,
        design_a=least_a or sheet.needed_a,
        set_working=of_set,
        whole_dwelling=whole,
        segments=tuple(segments),
        drop=drop,
        one_leg_drop=one_leg,
        held_working=held_to(sheet, held_a, by=by),
        standing=standing,
        start_drop=start,
        start_a=start_a,
        start_basis=start_basis,
        start_volts=start_volts,
        path_drop_share=None,
        advice=advice_at_device(run, rules) if advise else None,
        load_advice=advice_for_load(feeder, sheet, run, rules)
        if advise and standing is None
        else None,
        missing=tuple(dict.fromkeys(missing)),
        unchecked=tuple(dict.fromkeys(unchecked)),
        tap=None
        if all(s.carries_at_75 for s in segments) or len(segments) < len(feeder.segments)
        else feeder_tap(site, feeder, segments, ahead_a=device_a, rules=rules),
        smaller=None
        if of_set
        else smaller_device(
            feeder, sheet, run, segments, least_a=least_main_a(site, feeder, rules), rules=rules
        ),
    )


def _has_ground(site: Site, feeder: Feeder) -> bool:
    """Whether a ground lies in it: the neutral of an old feeder of three wires is that too.

    250.32(B)(1) exception, from memory.
    """
    fed = site.panel_by_id.get(feeder.to_id)
    return fed is None or not on_old_three_wire_feeder(site, fed)


def _ground_metal(site: Site, feeder: Feeder) -> Metal:
    """The metal of the ground beside a chosen wire: as it lies, copper to a farm building."""
    laid = feeder.segments[0].ground_metal if feeder.segments else "copper"
    return "copper" if asks_copper_ground(site, feeder.to_id) else laid


def _why(device_a: float | None, error: InputError | str) -> str:
    """Why something of a feeder could not be worked out."""
    permitted = RANGES["device_a"]
    if device_a is not None and device_a > permitted.high:
        return (
            f"its device of {device_a:,g} A is past what can be worked out here, "
            f"{permitted.words} of device."
        )
    return str(error)


def ground_with(one: FeederWiring, wire: RunAnswer) -> str:
    """The ground that this wire asks for the whole length, empty where none less is entered."""
    if one.service:
        return ""
    wanted = conductor(wire.ground_size).cmil
    for laid_there in one.segments:
        segment = laid_there.segment
        if segment.ground_size and laid_there.ground_enough is None:
            return f"{wire.ground_size} {wire.run.ground_metal}"
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
