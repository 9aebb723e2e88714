"""Every item of the harm clock of a run, those that come first in front."""

from __future__ import annotations

from server.simulate.harm import Harm, HarmClock, Seen
from server.simulate.harm_dark import food, internet, medical, pits, water
from server.simulate.harm_frozen import frozen
from server.simulate.harm_set import fuel, oil
from server.simulate.harm_stores import batteries, boxes, overflows, wells
from server.simulate.harm_warmth import rooms, tanks
from server.simulate.results import Run

_PARTS = (
    batteries,
    medical,
    rooms,
    boxes,
    frozen,
    food,
    wells,
    water,
    tanks,
    overflows,
    pits,
    internet,
    fuel,
    oil,
)


def harms(run: Run) -> tuple[Harm, ...]:
    """Items in the order in which they come, then those not reached; none without an outage.

    Those of the hours before a run are in them, at their own hour.

    Worked out once and kept with the run.
    """
    kept = run.aside.get("harms")
    if isinstance(kept, tuple):
        return kept
    made = clock_items(run)
    if run.before is not None:
        made = run.before.on_clock(made, run.scenario)
    run.aside["harms"] = made
    return made


def clock_items(seen: Run | Seen) -> tuple[Harm, ...]:
    """Those of the run alone, harms that stood as it began at its begin."""
    if not any(end > 0.0 for _, end in seen.served.outages):
        return ()
    clock = HarmClock(seen)
    found = [harm for part in _PARTS for harm in part(clock)]
    found.sort(key=lambda harm: harm.at or seen.scenario.end)
    return tuple(found)
