"""Circuits taken off a set that transfers by itself, in a way that the code counts."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from server.domain.appliance import Appliance
from server.domain.behaviour import RoomUnit
from server.domain.circuit import Circuit
from server.domain.edits import new_id, with_changes
from server.domain.errors import EditError, ThreebusError
from server.domain.pairs import in_role, pair_of, proposed_move
from server.domain.relied_on import keeps_house, must_stay_on
from server.domain.site import CodeEdition, Site
from server.domain.supply import EnergyGroup
from server.rules.checks.loads import over_by_a
from server.rules.demand.left_off import GIVES_WAY, left_off
from server.rules.demand.ratings import generator_a, rating_a
from server.rules.demand.reach import carried_by, distinct_positions
from server.rules.demand.report import demand_of
from server.rules.demand.standing import LEAST_SETTING_A
from server.rules.editions import Rulebook, site_rules
from server.rules.mends.offer import Offer, changed, with_circuits
from server.rules.words import amps, listed

MOST_PASSES = 3
"""A circuit of the lighter leg helps only once the heavier one was relieved."""

MOST_SITES = 32

LEAST_GAIN_A = 0.05

PAUSES = "Keeps off on generator"
"""Name of a manager that keeps its circuits off while a set feeds them."""

Step = Callable[[Site, Circuit], Site]


@dataclass(frozen=True)
class TakenOff:
    """A site whose set carries no more than its rating by the code, and what was changed for it.

    ``moved``, ``kept_off`` and ``managed`` are the circuits by the way in which they were taken
    off, a pair that shares a neutral by both.
    """

    set_id: str
    site: Site
    moved: tuple[Circuit, ...]
    kept_off: tuple[Circuit, ...]
    managed: tuple[Circuit, ...]

    @property
    def words(self) -> str:
        """What is done, as it reads after “with”."""
        ways: list[str] = []
        if self.moved:
            to = self.site.panel(self.site.circuit(self.moved[0].id).panel_id).name
            ways.append(f"{listed([c.name for c in self.moved])} moved to {to}")
        if self.kept_off:
            ways.append(
                f"{listed([c.name for c in self.kept_off])} kept off by a listed load manager "
                "while the generator runs"
            )
        if self.managed:
            group = next(
                g
                for g in self.site.energy_groups
                if g.id == self.site.circuit(self.managed[0].id).energy_group_id
            )
            at = f" set to {amps(group.setting_a)}" if group.setting_a else ""
            ways.append(
                f"{listed([c.name for c in self.managed])} under listed load management{at}"
            )
        return "; ".join(ways)


def by_itself(site: Site, set_id: str) -> bool:
    """Whether something transfers to a set without a hand."""
    automatic = {t.id for t in site.transfer_switches if t.automatic}
    return any(f.from_id == set_id and f.to_id in automatic for f in site.feeders)


def by_hand_instead(site: Site, set_id: str, edition: CodeEdition | None = None) -> Offer | None:
    """The transfer to a set made by hand, with breakers left off where that is needed to fit.

    By hand the user selects what runs (702.4), so what is set to stay off does not count.
    """
    ids = [f.to_id for f in site.feeders if f.from_id == set_id]
    switches = [t for t in site.transfer_switches if t.id in ids and t.automatic]
    if not switches:
        return None
    now = changed(site, "transfer_switches", [t.id for t in switches], kind="manual")
    words = f"the transfer of {listed([t.name for t in switches])} made by hand"
    off = next((one for one in left_off(now, edition) if one.set_id == set_id), None)
    if off is None:
        return Offer(words, now)
    for circuit in off.circuits:
        now = in_role(now, circuit.id, "by_hand")
    names = listed([c.name for c in off.circuits])
    return (
        Offer(f"{words} and {names} kept off until switched on by hand", now) if off.fits else None
    )


@lru_cache(maxsize=MOST_SITES)
def taken_off(site: Site, set_id: str, edition: CodeEdition | None = None) -> TakenOff | None:
    """Few circuits that, taken off a set so that the code counts it, bring it within its rating.

    Parameters
    ----------
    set_id : str              A generator.
    edition : str, optional   The edition to use instead of the site's.

    Returns
    -------
    TakenOff or None   None where the set and its feeders hold, or where all that may give way does
    not suffice. On a set that transfers by itself an open breaker that a person is to see to does
    not count (702.4(B)(2)), so what scenarios leave off goes first: to a panel that no set feeds
    where one has room, else under a manager that keeps it off. What runs goes under a manager that
    lets on what its setting leaves: what can wait before what is wanted before what matters, the
    largest first. Water, a pump of a pit, food kept cold and the last heat of a room go after all
    of that. What must be served and medical devices stay, and what proves not to be needed is left
    as it was.
    """
    rules, _ = site_rules(site, edition)
    parts = (set_id, *(f.id for f in site.feeders if f.from_id == set_id))

    def past_a(now: Site) -> float:
        found = (demand_of(now, part, rules=rules, held_only=True) for part in parts)
        return max(
            (over_by_a(now, one, sheet.position) for one in found for sheet in one.sheets),
            default=0.0,
        )

    if past_a(site) <= 0.0:
        return None
    order = _may_go(site, set_id)
    for target in (*_beside(site), ""):
        done = _enough(site, order, _step(set_id, target, rules), past_a)
        if done is not None:
            return _told(set_id, site, done)
    return None


def _may_go(site: Site, set_id: str) -> list[Circuit]:
    """What may be taken off a set, in the order in which it goes, a pair once."""
    found: dict[str, Circuit] = {}
    for _, positions in distinct_positions(site, set_id):
        for carried in carried_by(site, set_id, positions):
            pair = pair_of(site, carried.circuit.id)
            if any(p.id in found for p in pair) or any(map(must_stay_on, pair)):
                continue
            if any(p.appliances for p in pair) and not any(p.energy_group_id for p in pair):
                found[carried.circuit.id] = carried.circuit
    return sorted(found.values(), key=lambda c: _order(site, c))


def _order(site: Site, circuit: Circuit) -> tuple[bool, bool, int, float]:
    pair = pair_of(site, circuit.id)
    rank = max(GIVES_WAY.index(c.load_class) for c in pair)
    return (
        not _is_off(site, circuit),
        any(_needed(site, c) for c in pair),
        rank,
        -sum(map(_asked_va, pair)),
    )


def _asked_va(circuit: Circuit) -> float:
    return sum(a.load_w / a.power_factor for a in circuit.appliances)


def _needed(site: Site, circuit: Circuit) -> bool:
    """Whether it gives water, keeps a pit or food, or is the last heat of a room to go."""
    for one in circuit.appliances:
        if keeps_house(one):
            return True
        if _heats(one):
            others = (c for c in site.circuits if any(_same_room(one, a) for a in c.appliances))
            if circuit.id == min(others, key=_asked_va).id:
                return True
    return False


def _heats(one: Appliance) -> bool:
    return isinstance(one.behaviour, RoomUnit) and one.behaviour.mode in {"heat", "fan"}


def _same_room(one: Appliance, other: Appliance) -> bool:
    """Whether both heat, or both blow, into the same room."""
    mine, theirs = one.behaviour, other.behaviour
    return (
        isinstance(mine, RoomUnit)
        and isinstance(theirs, RoomUnit)
        and (mine.zone_id, mine.mode) == (theirs.zone_id, theirs.mode)
    )


def _is_off(site: Site, circuit: Circuit) -> bool:
    """Whether it is set to stay off while a set feeds it, or a scenario keeps it off."""
    kept = {k.circuit_id for s in site.scenarios for k in s.kept_off}
    return any(
        c.outage_role in {"off", "by_hand"} or c.id in kept for c in pair_of(site, circuit.id)
    )


def _beside(site: Site) -> list[str]:
    """Panels that no set feeds, in the building of what the set feeds."""
    fed = {g.id for g in site.generators}
    while True:
        more = {f.to_id for f in site.feeders if f.from_id in fed} - fed
        if not more:
            break
        fed |= more
    return [p.id for p in site.panels if p.id not in fed and not p.detached_building]


def _step(set_id: str, target: str, rules: Rulebook) -> Step:
    """What takes one circuit off: what is off anyway is moved where a panel has room."""

    def step(site: Site, circuit: Circuit) -> Site:
        pair = pair_of(site, circuit.id)
        if not _is_off(site, circuit):
            return under_manager(site, pair, set_id, rules)
        free = not any(c.pinned or site.panel(c.panel_id).detached_building for c in pair)
        if target and free:
            try:
                return proposed_move(site, circuit.id, target)
            except ThreebusError:
                pass
        return _paused(site, pair)

    return step


def _paused(site: Site, circuits: Iterable[Circuit]) -> Site:
    """Under a manager that keeps them off while a set feeds them; they stay off as they were."""
    group = next((g for g in site.energy_groups if g.off_on_generator), None)
    if group is None:
        group = EnergyGroup(
            id=new_id(PAUSES, set(site.name_of)), name=PAUSES, off_on_generator=True, planned=True
        )
        site = with_changes(site, energy_groups=(*site.energy_groups, group))
    return with_circuits(site, circuits, energy_group_id=group.id)


def under_manager(site: Site, circuits: Iterable[Circuit], set_id: str, rules: Rulebook) -> Site:
    """The site with circuits under a manager that measures a set, entered where none is.

    It is held at the least that a leg of the set or of a feeder from it gives, over the factor of
    continuous loads: what it lets on can run for hours.

    Raises
    ------
    EditError   Where that leaves a manager nothing to let on.
    """
    group = next((g for g in site.energy_groups if g.watch_id == set_id), None)
    if group is None:
        own = [rating_a(site, f.id) for f in site.feeders if f.from_id == set_id]
        limit_a = min(generator_a(site, set_id), *(a for a in own if a is not None), math.inf)
        setting_a = math.floor(limit_a / rules.figure("continuous_factor").value)
        if setting_a < LEAST_SETTING_A:
            raise EditError(f"{site.name_of[set_id]} leaves a manager nothing to let on.")
        group = EnergyGroup(
            id=new_id("Load manager", set(site.name_of)),
            name="Load manager",
            setting_a=setting_a,
            watch_id=set_id,
            planned=True,
        )
        site = with_changes(site, energy_groups=(*site.energy_groups, group))
    for circuit in circuits:
        held_by = circuit.energy_group_id or group.id
        site = with_circuits(site, [circuit], outage_role="managed", energy_group_id=held_by)
    return site


def _enough(
    site: Site, order: Sequence[Circuit], step: Step, past_a: Callable[[Site], float]
) -> Site | None:
    """The site with steps on as few of these as bring it within, None where all do not."""
    done: list[Circuit] = []
    now, left_a = site, past_a(site)
    for _ in range(MOST_PASSES):
        for circuit in [c for c in order if c not in done]:
            try:
                then = step(now, circuit)
            except ThreebusError:
                continue
            then_a = past_a(then)
            if then_a < left_a - LEAST_GAIN_A:
                done.append(circuit)
                now, left_a = then, then_a
            if left_a <= 0.0:
                return _without_needless(site, done, step, past_a) or now
    return None


def _without_needless(
    site: Site, done: list[Circuit], step: Step, past_a: Callable[[Site], float]
) -> Site | None:
    """The same without those that are not needed, from the last to the first; None for all."""
    best: Site | None = None
    for circuit in reversed(done[:-1]):
        fewer = [c for c in done if c is not circuit]
        now = site
        for one in fewer:
            now = step(now, one)
        if past_a(now) <= 0.0:
            done, best = fewer, now
    return best


def _told(set_id: str, site: Site, now: Site) -> TakenOff:
    pairs = [(c, now.circuit(c.id)) for c in site.circuits if now.circuit(c.id) != c]
    pausing = {g.id for g in now.energy_groups if g.off_on_generator}
    moved = tuple(was for was, is_ in pairs if is_.panel_id != was.panel_id)
    others = [(was, is_) for was, is_ in pairs if is_.panel_id == was.panel_id]
    return TakenOff(
        set_id,
        now,
        moved,
        tuple(was for was, is_ in others if is_.energy_group_id in pausing),
        tuple(was for was, is_ in others if is_.energy_group_id not in pausing),
    )
