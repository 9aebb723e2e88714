"""What is done while the utility is still on, and what has no power once it is out."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.pairs import in_role
from server.rules.demand.left_off import LeftOff, left_off
from server.simulate.harms import harms
from server.simulate.results import Run

DARK_SHARE = 0.95
"""Of all outages, from which a circuit counts as dark throughout (common practice, no source)."""

_LAUNDRY = frozenset({"washer", "dryer", "heat-pump-dryer", "gas-dryer", "dishwasher"})


def ahead(run: Run, told: Collection[str] = ()) -> Iterator[str]:
    """What the site has that is better done before: cars, laundry, water, hot water.

    ``told`` are appliances that have hours of their own while the utility is out.
    """
    cars = [a.name for _, a in _things(run) if a.kind.startswith("car-charger")]
    if cars:
        yield f"Charge the car in full while the utility is on: {named(cars)}."
    washed = [a.name for _, a in _things(run) if a.kind in _LAUNDRY and a.id not in told]
    if washed:
        yield f"Do the laundry and the dishes while the utility is on: {named(washed)}."
    dark = {c.id for c in dark_throughout(run)}
    tanks = [a.name for c, a in _things(run) if c.id in dark and a.behaviour.model == "tank"]
    if tanks:
        yield (
            f"Bathe early, then let it heat up in full before the power goes: {named(tanks)}; "
            "it stays off until the end."
        )
    if any(h.kind == "water" and h.reached for h in harms(run)):
        wells = [a.name for _, a in _things(run) if a.behaviour.model == "well"]
        yield (
            f"Draw water for drinking, cooking and flushing: {named(wells)} gives none without "
            "power once its tank is empty."
        )


def too_much_by_code(run: Run, set_ids: Collection[str]) -> Iterator[str]:
    """That a set is selected to carry more than it is rated for, and what is left off it.

    What the scenario keeps off all the time does not count.
    """
    for one in _left_off(run):
        if one.set_id in set_ids:
            on = " This run has them on; by the code it is no permit." if one.fits else ""
            yield f"{one.counted_words} {one.way}{on}"


def left_by_code(run: Run, set_ids: Collection[str]) -> frozenset[str]:
    """The circuits that must be left off so that sets carry no more than they are rated for."""
    found = (one for one in _left_off(run) if one.set_id in set_ids and one.fits)
    return frozenset(c.id for one in found for c in one.circuits)


def _left_off(run: Run) -> tuple[LeftOff, ...]:
    site = run.site
    for kept in run.scenario.kept_off:
        site = in_role(site, kept.circuit_id, "off")
    return left_off(site)


def will_not_work(run: Run) -> str:
    """Names what has no power in all outages, empty where everything has some.

    What is switched off, or on by hand for a while, is told in tasks of its own.
    """
    found = dark_throughout(run)
    if found and len(found) == len(run.site.circuits):
        house = [b.name for b in run.site.batteries]
        more = f", and what {named(house)} may carry: that is not counted here" if house else ""
        return f"Nothing works until the utility is back but what has a battery of its own{more}."
    apart = {k.circuit_id for k in run.scenario.kept_off}
    apart |= {w.circuit_id for w in run.scenario.hand_windows}
    dark = [c.name for c in found if c.outage_role != "off" and c.id not in apart]
    if not dark:
        return ""
    return f"Without power until the utility is back: {named(dark)}."


def dark_throughout(run: Run) -> tuple[Circuit, ...]:
    """The circuits that have no power to use while the utility is out, from first to last."""
    span_s = run.scenario.steps * float(run.scenario.step_s)
    outages = [(max(a, 0.0), min(b, span_s)) for a, b in run.served.outages]
    all_s = sum(max(b - a, 0.0) for a, b in outages)
    if all_s <= 0.0:
        return ()
    found = []
    for row, circuit in enumerate(run.site.circuits):
        dark_s = sum(
            max(min(b, d) - max(a, c), 0.0) for a, b in outages for c, d in run.served.dark(row)
        )
        if dark_s >= DARK_SHARE * all_s:
            found.append(circuit)
    return tuple(found)


def _things(run: Run) -> Iterator[tuple[Circuit, Appliance]]:
    return ((c, a) for c in run.site.circuits for a in c.appliances)


def named(names: list[str]) -> str:
    """Names, each once: what is to be done is never cut short."""
    return ", ".join(dict.fromkeys(names))
