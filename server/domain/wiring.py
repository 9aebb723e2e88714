"""What makes a site impossible to compute: loops, missing feeds, spaces used twice.

Hazards that exist in real houses are not refused here; they are findings of ``server.rules``.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain
from typing import TYPE_CHECKING

from server.domain.backfed import backfed_breakers
from server.domain.errors import Problem
from server.domain.scenario_names import named_by_scenarios

if TYPE_CHECKING:
    from server.domain.site import Site

SpaceUser = tuple[str, str]

MAX_APPLIANCES = 2_000
"""What the pages still show in a bearable time."""


def problems_of_site(site: Site) -> tuple[Problem, ...]:
    """Everything that keeps this site from being computed, empty when it can be."""
    problems = list(_too_many(site)) or list(_names_used_twice(site))
    if problems:
        return tuple(problems)
    problems = list(_feeder_ends(site))
    problems += _missing_feeds(site)
    if not problems:
        problems += _loops(site)
    problems += _circuits(site)
    problems += _managers(site)
    problems += _spaces(site)
    problems += _references(site)
    problems += _records(site)
    return tuple(problems)


def _too_many(site: Site) -> Iterator[Problem]:
    count = sum(len(c.appliances) for c in site.circuits)
    if count > MAX_APPLIANCES:
        yield Problem(
            "circuits",
            f"A site holds at most {MAX_APPLIANCES:,} appliances; this one has {count:,}. Enter "
            "small ones that stand together as one.",
        )


def _names_used_twice(site: Site) -> Iterator[Problem]:
    groups: tuple[tuple[str, Iterable[tuple[str, str]]], ...] = (
        (
            "element",
            chain(
                ((f"services.{i}.id", e.id) for i, e in enumerate(site.services)),
                ((f"generators.{i}.id", e.id) for i, e in enumerate(site.generators)),
                ((f"transfer_switches.{i}.id", e.id) for i, e in enumerate(site.transfer_switches)),
                ((f"double_throws.{i}.id", e.id) for i, e in enumerate(site.double_throws)),
                ((f"panels.{i}.id", e.id) for i, e in enumerate(site.panels)),
                ((f"feeders.{i}.id", e.id) for i, e in enumerate(site.feeders)),
                ((f"solar.{i}.id", e.id) for i, e in enumerate(site.solar)),
                ((f"batteries.{i}.id", e.id) for i, e in enumerate(site.batteries)),
                ((f"energy_groups.{i}.id", e.id) for i, e in enumerate(site.energy_groups)),
                ((f"zones.{i}.id", e.id) for i, e in enumerate(site.zones)),
                ((f"circuits.{i}.id", e.id) for i, e in enumerate(site.circuits)),
            ),
        ),
        (
            "appliance",
            (
                (f"circuits.{i}.appliances.{j}.id", a.id)
                for i, c in enumerate(site.circuits)
                for j, a in enumerate(c.appliances)
            ),
        ),
        ("scenario", ((f"scenarios.{i}.id", s.id) for i, s in enumerate(site.scenarios))),
    )
    for what, pairs in groups:
        seen: set[str] = set()
        for field, part_id in pairs:
            if part_id in seen:
                yield Problem(field, f"The {what} id {part_id!r} is used twice; change one.")
            seen.add(part_id)


def _feeder_ends(site: Site) -> Iterator[Problem]:
    transfer = {t.id for t in site.transfer_switches}
    throws = {d.id for d in site.double_throws}
    handle_sets = {t.id for t in site.transfer_switches if t.kind == "handles"}
    panels = set(site.panel_by_id)
    sources = {s.id for s in site.services} | {g.id for g in site.generators}
    generators = {g.id for g in site.generators}
    yield from _neutral_both_ways(site)
    taken: set[tuple[str, str | None]] = set()
    for i, feeder in enumerate(site.feeders):
        where = f"feeders.{i}"
        if feeder.from_id not in sources | transfer | throws | panels:
            yield Problem(
                f"{where}.from_id",
                f"{feeder.name} starts at {feeder.from_id!r}, which is not a source, switch or "
                "panel here.",
            )
        if feeder.from_id in handle_sets:
            yield Problem(
                f"{where}.from_id",
                f"{feeder.name} starts at a handle set, which feeds single circuits only.",
            )
        if feeder.to_id in panels:
            allowed: set[str | None] = {None}
        elif feeder.to_id in handle_sets:
            allowed = {"generator"}
        elif feeder.to_id in transfer:
            allowed = {"utility", "generator"}
        elif feeder.to_id in throws:
            allowed = {"normal", "backed_up"}
        else:
            yield Problem(
                f"{where}.to_id",
                f"{feeder.name} ends at {feeder.to_id!r}, which is not a switch or panel here.",
            )
            continue
        if feeder.to_input not in allowed:
            names = " or ".join(sorted(a or "nothing" for a in allowed))
            yield Problem(
                f"{where}.to_input", f"{feeder.name} must land on {names} of {feeder.to_id!r}."
            )
        elif (feeder.to_id, feeder.to_input) in taken:
            side = f" on its {feeder.to_input} side" if feeder.to_input else ""
            yield Problem(
                f"{where}.to_id",
                f"{site.name_of[feeder.to_id]} already has a feeder{side}. A panel that takes two "
                "feeds needs a double-throw switch between.",
            )
        taken.add((feeder.to_id, feeder.to_input))
        if feeder.to_input == "generator" and feeder.from_id not in generators:
            yield Problem(
                f"{where}.from_id",
                f"{feeder.name} lands on a generator input, so it must start at a generator.",
            )


def _neutral_both_ways(site: Site) -> Iterator[Problem]:
    for i, feeder in enumerate(site.feeders):
        told = feeder.neutral_ampacity_a or any(s.neutral_size for s in feeder.segments)
        if feeder.no_neutral and told:
            yield Problem(
                f"feeders.{i}.no_neutral",
                f"{feeder.name} is entered without a neutral and with one. Take out the amps and "
                "the size of its neutral, or say that it has one.",
            )


def _missing_feeds(site: Site) -> Iterator[Problem]:
    for i, panel in enumerate(site.panels):
        if not site.feeders_into.get(panel.id):
            yield Problem(f"panels.{i}", f"{panel.name} is fed by nothing. Draw a feeder to it.")
    for i, switch in enumerate(site.transfer_switches):
        needed = ("generator",) if switch.kind == "handles" else ("utility", "generator")
        for side in needed:
            if site.feeder_into(switch.id, side) is None:
                yield Problem(
                    f"transfer_switches.{i}",
                    f"{switch.name} has no feeder on its {side} side.",
                )
    for i, throw in enumerate(site.double_throws):
        for side, words in (("normal", "normal"), ("backed_up", "backed-up")):
            if site.feeder_into(throw.id, side) is None:
                yield Problem(
                    f"double_throws.{i}",
                    f"{throw.name} has no feeder on its {words} side. A switchable panel needs "
                    "two feeds.",
                )


def _loops(site: Site) -> Iterator[Problem]:
    upstream: dict[str, list[str]] = {}
    for feeder in site.feeders:
        upstream.setdefault(feeder.to_id, []).append(feeder.from_id)
    done: set[str] = set()
    for start in upstream:
        stack: list[tuple[str, bool]] = [(start, False)]
        path: set[str] = set()
        while stack:
            node, leaving = stack.pop()
            if leaving:
                path.discard(node)
                done.add(node)
                continue
            if node in path:
                yield Problem(
                    "feeders",
                    f"{site.name_of.get(node, node)} feeds itself through a loop of feeders. "
                    "Remove one of them.",
                )
                return
            if node in done:
                continue
            path.add(node)
            stack.append((node, True))
            stack.extend((up, False) for up in upstream.get(node, ()))


def _managers(site: Site) -> Iterator[Problem]:
    watchable = frozenset(site.watchable_ids)
    for i, group in enumerate(site.energy_groups):
        if group.watch_id is not None and group.watch_id not in watchable:
            yield Problem(
                f"energy_groups.{i}.watch_id",
                f"{group.name} watches {group.watch_id!r}, which is not a source, switch, feeder "
                "or panel here.",
            )


def _circuits(site: Site) -> Iterator[Problem]:
    zones = {z.id for z in site.zones}
    groups = {g.id for g in site.energy_groups}
    for i, circuit in enumerate(site.circuits):
        where = f"circuits.{i}"
        if circuit.panel_id not in site.panel_by_id:
            yield Problem(
                f"{where}.panel_id",
                f"{circuit.name} is in panel {circuit.panel_id!r}, which is not on this site.",
            )
        if circuit.energy_group_id is not None and circuit.energy_group_id not in groups:
            yield Problem(
                f"{where}.energy_group_id",
                f"{circuit.name} is held by {circuit.energy_group_id!r}, which is no load manager "
                "here.",
            )
        partner_id = circuit.multiwire_partner_id
        if partner_id is not None:
            partner = site.circuit_by_id.get(partner_id)
            if partner is None:
                yield Problem(
                    f"{where}.multiwire_partner_id",
                    f"{circuit.name} shares a neutral with {partner_id!r}, which is not here.",
                )
            elif partner.multiwire_partner_id != circuit.id:
                yield Problem(
                    f"{where}.multiwire_partner_id",
                    f"{partner.name} does not name {circuit.name} as its partner. A shared "
                    "neutral is entered on both circuits.",
                )
        for j, appliance in enumerate(circuit.appliances):
            behaviour = appliance.behaviour
            if behaviour.model == "room" and behaviour.zone_id not in zones:
                yield Problem(
                    f"{where}.appliances.{j}.behaviour.zone_id",
                    f"{appliance.name} serves zone {behaviour.zone_id!r}, which is not here.",
                )
            if behaviour.model == "cold_box" and behaviour.zone_id not in (None, *zones):
                yield Problem(
                    f"{where}.appliances.{j}.behaviour.zone_id",
                    f"{appliance.name} stands in zone {behaviour.zone_id!r}, which is not here.",
                )
    yield from _own_rooms(site)


def _own_rooms(site: Site) -> Iterator[Problem]:
    """Units with a room of their own cannot have more rooms than their zone."""
    left = dict.fromkeys((z.id for z in site.zones), 1.0 + 1e-9)
    for i, circuit in enumerate(site.circuits):
        for j, appliance in enumerate(circuit.appliances):
            behaviour = appliance.behaviour
            if behaviour.model != "room" or behaviour.zone_id not in left:
                continue
            left[behaviour.zone_id] -= behaviour.own_room_share
            if behaviour.own_room_share and left[behaviour.zone_id] < 0.0:
                yield Problem(
                    f"circuits.{i}.appliances.{j}.behaviour.own_room_share",
                    f"The rooms of units in zone {behaviour.zone_id!r} make more than the whole.",
                )


def _spaces(site: Site) -> Iterator[Problem]:
    taken: dict[tuple[str, int, str], tuple[str, str]] = {}

    def claim(
        field: str, name: str, panel_id: str, spaces: Iterable[int], half: str | None
    ) -> Iterator[Problem]:
        panel = site.panel_by_id.get(panel_id)
        if panel is None:
            return
        for space in spaces:
            if space > panel.spaces:
                yield Problem(
                    field,
                    f"{name} is in space {space}, but {panel.name} has {panel.spaces} spaces.",
                )
                continue
            for part in (half,) if half else ("a", "b"):
                holder, other = taken.setdefault((panel_id, space, part), (field, name))
                if holder != field:
                    yield Problem(
                        field,
                        f"{name} and {other} are both in space {space} of {panel.name}. Move one.",
                        holder,
                    )
                    break

    for i, circuit in enumerate(site.circuits):
        yield from claim(
            f"circuits.{i}.spaces", circuit.name, circuit.panel_id, circuit.spaces, circuit.half
        )
    two_pole = (
        *((f"feeders.{i}.spaces", f.name, f.from_id, f.spaces) for i, f in enumerate(site.feeders)),
        *((f"solar.{i}.spaces", a.name, a.panel_id, a.spaces) for i, a in enumerate(site.solar)),
        *(
            (f"transfer_switches.{i}.spaces", s.name, panel_id, s.spaces)
            for i, s, panel_id in backfed_breakers(site)
        ),
    )
    for field, name, panel_id, spaces in two_pole:
        if spaces and (len(spaces) != 2 or spaces[1] != spaces[0] + 2):
            yield Problem(
                field,
                f"The breaker of {name} needs two spaces under each other on one side, such as 5 "
                "and 7, so that it lands on both legs.",
            )
            continue
        yield from claim(field, name, panel_id, spaces, None)


def _records(site: Site) -> Iterator[Problem]:
    services, measured = {s.id for s in site.services}, set[str]()
    for i, record in enumerate(site.demand_records):
        where = f"demand_records.{i}.service_id"
        if record.service_id not in services:
            yield Problem(where, "This record is of a service that is not here.")
        elif record.service_id in measured:
            yield Problem(where, "One record for each service is kept here; remove the older.")
        measured.add(record.service_id)


def _references(site: Site) -> Iterator[Problem]:
    panels = site.panel_by_id
    for i, array in enumerate(site.solar):
        if array.panel_id not in panels:
            yield Problem(f"solar.{i}.panel_id", f"{array.name} ties to a panel that is not here.")
    for i, battery in enumerate(site.batteries):
        if battery.panel_id not in panels:
            yield Problem(
                f"batteries.{i}.panel_id", f"{battery.name} ties to a panel that is not here."
            )
    handled: set[str] = set()
    for i, switch in enumerate(site.transfer_switches):
        for j, handle in enumerate(switch.handles):
            where = f"transfer_switches.{i}.handles.{j}.circuit_id"
            if handle.circuit_id not in site.circuit_by_id:
                yield Problem(where, f"{switch.name} lists a circuit that is not here.")
            elif handle.circuit_id in handled:
                yield Problem(
                    where,
                    f"{site.name_of[handle.circuit_id]} is on two transfer handles; keep one.",
                )
            handled.add(handle.circuit_id)
    yield from named_by_scenarios(site)
