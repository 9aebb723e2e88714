"""Mends of a demand above its rating: circuits moved off, managed, held or left to a hand."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from itertools import combinations

from server.domain.circuit import Circuit
from server.domain.edits import new_id, with_changes
from server.domain.errors import ThreebusError
from server.domain.finding import Finding
from server.domain.pairs import in_role, pair_of, proposed_move
from server.domain.site import Site
from server.domain.supply import EnergyGroup
from server.rules.checks.loads import over_by_a, watching
from server.rules.demand.circuit_loads import category_of, kind_row
from server.rules.demand.left_off import GIVES_WAY, left_off
from server.rules.demand.reach import carried_by, distinct_positions
from server.rules.demand.report import demand_of
from server.rules.demand.standing import LEAST_SETTING_A
from server.rules.demand.watched import standing_for
from server.rules.editions import Rulebook
from server.rules.mends.offer import Maker, Offer, with_circuits
from server.rules.mends.taken_off import by_hand_instead, by_itself, taken_off, under_manager
from server.rules.reach import above, below
from server.rules.words import listed

MOST_CIRCUITS = 8
"""No more than these are moved or managed for one finding: past that, plan anew."""
WAIT_CATEGORIES = ("vehicle", "dryer")
TANKS = ("water-heater", "water-heater-heat-pump")
MANAGED, BY_HAND = "under listed load management", "kept off until switched on by hand"
Step = Callable[[Site, Circuit], Site]


def less_load(site: Site, finding: Finding, rules: Rulebook) -> Iterator[Offer]:
    """The fewest large circuits moved off, put under management, held at a setting, or let be."""
    movable = _circuits(site, finding)
    yield from _set_lower(site, finding, rules)
    ways: list[tuple[list[Circuit], Step, str]] = []
    set_id = {f.id: f.from_id for f in site.feeders}.get(finding.element_id, finding.element_id)
    if any(g.id == set_id for g in site.generators):
        running = [c for c in movable if c.outage_role == "on"]
        off = next((o for o in left_off(site, rules.edition) if o.set_id == set_id), None)
        if off is None and by_itself(site, set_id):
            yield from _off_the_set(site, set_id, rules)
        elif not any(g.portable and g.id == finding.element_id for g in site.generators):
            ways.append((running, _under_manager(set_id, rules), MANAGED))
        if off is not None and off.fits and set_id == finding.element_id:
            now = site
            for circuit in off.circuits:
                now = in_role(now, circuit.id, "by_hand")
            yield Offer(f"{listed([c.name for c in off.circuits])} {BY_HAND}", now)
        elif off is None and not by_itself(site, set_id):
            ways.append((running, _in_role("by_hand"), BY_HAND))
    # Nothing is moved out of another building: its wire ends there.
    near = [c for c in movable if not site.panel(c.panel_id).detached_building]
    ways += [
        (near, _moving_to(target), f"moved to {site.name_of[target]}")
        for target in _targets(site, finding.element_id)
    ]
    for circuits, step, words in ways:
        done = _enough(site, finding, rules, circuits, step)
        if done is not None:
            yield Offer(f"{listed(done[0])} {words}", done[1])
    yield from _held(site, finding, rules, movable)
    yield from _one_at_a_time(site, finding, rules, movable)


def _circuits(site: Site, finding: Finding) -> list[Circuit]:
    """What an element carries in the position found that may give way.

    What can wait before what is wanted before what matters, and the largest first.
    """
    positions = dict(distinct_positions(site, finding.element_id))
    found = positions.get(finding.where) or next(iter(positions.values()))
    free = [
        c.circuit
        for c in carried_by(site, finding.element_id, found)
        if c.circuit.appliances
        and not any(p.pinned or p.load_class == "must_serve" for p in pair_of(site, c.circuit.id))
    ]
    return sorted(
        free,
        key=lambda c: (
            GIVES_WAY.index(c.load_class),
            -sum(a.load_w / a.power_factor for a in c.appliances),
        ),
    )


def _targets(site: Site, element_id: str) -> tuple[str, ...]:
    """Panels outside an element that share a source with it, nearest to that source first."""
    ends = {f.id: f.to_id for f in site.feeders}
    inside = below(site, ends.get(element_id, element_id))
    ahead: set[str] = set()
    for here in inside:
        ahead |= above(site, here)
    panels = {p.id for p in site.panels} - inside
    near = [p.id for p in site.panels if p.id in panels & ahead]
    return tuple(near)


def _moving_to(panel_id: str) -> Step:
    def step(site: Site, circuit: Circuit) -> Site:
        if site.circuit(circuit.id).panel_id == panel_id:
            return site
        return proposed_move(site, circuit.id, panel_id)

    return step


def _in_role(role: str) -> Step:
    return lambda site, circuit: in_role(site, circuit.id, role)


def _under_manager(set_id: str, rules: Rulebook) -> Step:
    return lambda site, circuit: under_manager(site, [circuit], set_id, rules)


def _off_the_set(site: Site, set_id: str, rules: Rulebook) -> Iterator[Offer]:
    """What may be taken off a set that transfers by itself so that it counts; else by hand."""
    found = taken_off(site, set_id, rules.edition)
    if found is not None:
        yield Offer(found.words, found.site)
    by_hand = by_hand_instead(site, set_id, rules.edition)
    if by_hand is not None:
        yield by_hand


def _excess_a(site: Site, finding: Finding, rules: Rulebook) -> float:
    return over_by_a(
        site, demand_of(site, finding.element_id, rules=rules, held_only=True), finding.where
    )


def _enough(
    site: Site, finding: Finding, rules: Rulebook, circuits: list[Circuit], step: Step
) -> tuple[list[str], Site] | None:
    """Steps on the largest circuits until the demand is within, without those not needed."""
    done: list[Circuit] = []
    now = site
    for circuit in circuits:
        if len(done) == MOST_CIRCUITS:
            return None
        try:
            now = step(now, circuit)
        except ThreebusError:
            continue
        done.append(circuit)
        if _excess_a(now, finding, rules) <= 0:
            break
    else:
        return None
    for circuit in tuple(done[:-1]):
        fewer = [c for c in done if c.id != circuit.id]
        try:
            without = site
            for one in fewer:
                without = step(without, one)
        except ThreebusError:
            continue
        if _excess_a(without, finding, rules) <= 0:
            done, now = fewer, without
    return _names(site, now, done), now


def _names(site: Site, now: Site, done: list[Circuit]) -> list[str]:
    """What was changed, a pair that shares a neutral by both names."""
    changed = [
        c for one in done for c in pair_of(site, one.id) if c.id == one.id or now.circuit(c.id) != c
    ]
    return list(dict.fromkeys(c.name for c in changed))


def _set_lower(site: Site, finding: Finding, rules: Rulebook) -> Iterator[Offer]:
    """The manager that measures a set at the largest setting that fits, where a lower one does."""
    group = watching(site, finding.element_id)
    if group is None or group.setting_a is None:
        yield from _set_to_stand(site, finding, rules)
        return

    def at(setting_a: int) -> Site:
        return _with_setting(site, group, setting_a)

    fits, past = int(LEAST_SETTING_A), math.ceil(group.setting_a)
    if fits >= past or _excess_a(at(fits), finding, rules) > 0:
        return
    while past - fits > 1:
        middle = (fits + past) // 2
        if _excess_a(at(middle), finding, rules) > 0:
            past = middle
        else:
            fits = middle
    yield Offer(f"{group.name} set to {fits} A", at(fits))


def _set_to_stand(site: Site, finding: Finding, rules: Rulebook) -> Iterator[Offer]:
    """The manager that measures all of a load, at the highest setting that may stand for it."""
    held = standing_for(site, finding.element_id, finding.where, rules)
    limit_a = finding.limit or 0.0
    if held is None or held.fits(limit_a) or not held.beside_fits(limit_a):
        return
    most_a = held.most_a(limit_a)
    if most_a >= LEAST_SETTING_A:
        yield Offer(f"{held.group.name} set to {most_a} A", _with_setting(site, held.group, most_a))


def _with_setting(site: Site, group: EnergyGroup, setting_a: float) -> Site:
    lower = group.model_copy(update={"setting_a": float(setting_a)})
    groups = (lower if g.id == group.id else g for g in site.energy_groups)
    return with_changes(site, energy_groups=tuple(groups))


def _held(
    site: Site, finding: Finding, rules: Rulebook, circuits: list[Circuit]
) -> Iterator[Offer]:
    """One circuit of vehicle equipment at the largest energy-management setting that fits.

    Nothing else is held at amps: a range or a dryer is either on or shed.
    """
    for circuit in circuits:
        if circuit.energy_group_id is not None or not _takes_a_setting(circuit):
            continue
        group_id = new_id(f"{circuit.name} setting", {g.id for g in site.energy_groups})

        def at(setting_a: float, held: Circuit = circuit, group: str = group_id) -> Site:
            name = f"{held.name} setting"[:80]
            one = EnergyGroup(id=group, name=name, setting_a=setting_a, planned=True)
            with_group = with_changes(site, energy_groups=(*site.energy_groups, one))
            return with_circuits(with_group, [held], energy_group_id=group)

        room = -_excess_a(at(LEAST_SETTING_A), finding, rules) + LEAST_SETTING_A
        if room < LEAST_SETTING_A:
            continue
        setting = math.floor(min(room, circuit.breaker_a))
        while setting > LEAST_SETTING_A and _excess_a(at(setting), finding, rules) > 0:
            setting -= 1
        yield Offer(
            f"{circuit.name} held at {setting:g} A by listed energy management", at(setting)
        )
        return


def _takes_a_setting(circuit: Circuit) -> bool:
    return bool(circuit.appliances) and all(category_of(a) == "vehicle" for a in circuit.appliances)


def _can_wait(circuit: Circuit) -> bool:
    """Whether a manager may shed it for an hour: a car, a dryer, a tank (common practice)."""
    return bool(circuit.appliances) and all(
        category_of(a) in WAIT_CATEGORIES
        or a.kind in TANKS
        or (kind_row(a.kind) or {}).get("plug_in_vehicle", False)
        for a in circuit.appliances
    )


def _one_at_a_time(
    site: Site, finding: Finding, rules: Rulebook, circuits: list[Circuit]
) -> Iterator[Offer]:
    """Two circuits that can wait, of which a load manager lets one run at a time."""
    waiting = [c for c in circuits if c.energy_group_id is None and _can_wait(c)]
    group_id = new_id("One at a time", {g.id for g in site.energy_groups})
    for pair in combinations(waiting, 2):
        group = EnergyGroup(id=group_id, name="One at a time", way="turns", planned=True)
        grouped = with_changes(site, energy_groups=(*site.energy_groups, group))
        taking_turns = with_circuits(grouped, pair, energy_group_id=group_id)
        if _excess_a(taking_turns, finding, rules) <= 0:
            names = listed([c.name for c in pair])
            yield Offer(f"{names} one at a time by a listed load manager", taking_turns)
            return


LOAD_MENDS: dict[str, Maker] = {"demand-above-rating": less_load}
