"""What a change to a circuit costs people: harms that it brings, and what only takes comfort."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from server.advise.levers import Lever
from server.advise.plan_harms import medical_of
from server.advise.starts import SetStarts, Start
from server.domain.behaviour import RoomUnit
from server.domain.circuit import Circuit
from server.domain.pairs import pair_of
from server.simulate.harms import harms
from server.simulate.results import Run
from server.simulate.tub_frost import TUB_DARK

LONGER_S = 3600.0
"""By which a harm that comes anyway must grow to count as brought (common practice, no source).
[s]"""

FROST_F = 40.0
"""Outdoors below this, heat is more than comfort (common practice, no source). [°F]"""

UNNOTICED_F = 2.0
"""By which a room may be colder without anybody going cold (common practice, no source). [°F]"""

_WATER = frozenset({"well", "sump"})


def new_harms(run: Run, after: Run) -> tuple[str, ...]:
    """Harms that ``after`` has and ``run`` has not, or has for far shorter, each as a clause."""
    before = {(h.kind, h.element_id) for h in run.verdict.harms}
    lasted_s = {(h.kind, h.element_id): _longest_s(h.spans) for h in harms(run) if h.reached}
    grown = {
        (h.kind, h.element_id)
        for h in harms(after)
        if h.reached and _longest_s(h.spans) > lasted_s.get((h.kind, h.element_id), 0.0) + LONGER_S
    }
    found = (
        h.clause
        for h in after.verdict.harms
        if (h.kind, h.element_id) not in before or (h.kind, h.element_id) in grown
    )
    return (*found, *_frozen(run, after))


def _frozen(run: Run, after: Run) -> Iterator[str]:
    """Hot tubs whose water freezes in ``after`` alone, each as a clause."""
    was = {f.element_id for f in run.findings if f.code == TUB_DARK and f.severity != "note"}
    names = {a.id: a.name for c in after.site.circuits for a in c.appliances}
    for one in after.findings:
        if one.code == TUB_DARK and one.severity != "note" and one.element_id not in was:
            yield f"the water of {names[one.element_id]} freezes"


def _longest_s(spans: tuple[tuple[float, float], ...]) -> float:
    return max((end - begin for begin, end in spans), default=0.0)


def takes_needed(run: Run, circuit_ids: Collection[str], after: Run | None = None) -> bool:
    """Whether circuits give more than comfort: water, a medical device, food, heat in frost.

    The fan that a unit blows through gives heat as the unit does. Where ``after`` is the run
    without them and no room grows colder in it, their heat is not what keeps the house warm.
    """
    weather = run.scenario.weather
    frost = min(weather.hourly_f, default=weather.low_f) < FROST_F
    spared = after is not None and _as_warm(run, after)
    return any(_needed(run.site.circuit(i), frost=frost, as_warm=spared) for i in circuit_ids)


def _as_warm(run: Run, after: Run) -> bool:
    """Whether every room is as warm as before, but for what nobody notices."""
    if after.zone_f.shape != run.zone_f.shape or after.own_room_units != run.own_room_units:
        return False
    pairs = ((run.zone_f, after.zone_f), (run.own_room_f, after.own_room_f))
    return all(bool((now >= was - UNNOTICED_F).all()) for was, now in pairs)


def _needed(circuit: Circuit, *, frost: bool, as_warm: bool) -> bool:
    if circuit.load_class == "must_serve" or medical_of(circuit):
        return True
    for one in circuit.appliances:
        what = one.behaviour
        heats = isinstance(what, RoomUnit) and (
            what.mode == "fan" or (what.mode == "heat" and not as_warm)
        )
        if what.model in _WATER or what.model == "cold_box" or (heats and frost):
            return True
    return False


def may_go_off(run: Run, circuit: Circuit) -> bool:
    """Whether it, and what its handle opens with it, gives comfort alone."""
    return not takes_needed(run, [c.id for c in pair_of(run.site, circuit.id)])


def start_left_off(run: Run, one: SetStarts, start: Start) -> Lever | None:
    """The free way with a motor that is too hard even by itself: off, where it gives comfort.

    Of what one thermostat calls at once, the largest is left off.
    """
    alone = next((s for s in one.starts if s.kind == "alone" and s.status == "over"), None)
    hard = alone if len(start.motors) > 1 else start
    if hard is None and start.kind == "linked":
        hard = start
    if hard is None:
        return None
    circuit = hard.motors[0].circuit
    if circuit.outage_role == "off" or not may_go_off(run, circuit):
        return None
    return Lever("off", circuit.id)
