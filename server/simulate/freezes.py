"""Boxes kept cold in air that is colder, in a run without an outage."""

from __future__ import annotations

from server.domain.appliance import Appliance
from server.domain.behaviour import ColdBox
from server.domain.finding import Finding
from server.domain.stores import FREEZES_FOOD_F
from server.simulate.loads import watched
from server.simulate.prepared import Marched, Prepared


def freeze_findings(ready: Prepared, marched: Marched) -> tuple[Finding, ...]:
    """A note for each box kept above freezing that falls below it while nothing is out.

    Where the utility goes out the harm clock tells it, with its hour (``harm_frozen``).
    """
    site, scenario = ready.site, ready.scenario
    if any(w.start < scenario.end for w in scenario.outages):
        return ()
    boxes = {a.id: a for c in site.circuits for a in c.appliances}
    found: list[Finding] = []
    for row, one in enumerate(watched(site)):
        appliance = boxes[one.appliance_id]
        box = appliance.behaviour
        if not isinstance(box, ColdBox) or box.kept_f - box.deadband_f / 2.0 <= FREEZES_FOOD_F:
            continue
        coldest_f = float(marched.level[row].min())
        if coldest_f < FREEZES_FOOD_F:
            found.append(_note(appliance, coldest_f))
    return tuple(found)


def _note(appliance: Appliance, coldest_f: float) -> Finding:
    return Finding(
        code="cold-box-freezes",
        severity="note",
        element_id=appliance.id,
        text=(
            f"{appliance.name} falls to {coldest_f:.0f} °F in this run, with power on: the air "
            "around it is colder than what it keeps, and it can only cool."
        ),
        mend=(
            "Say in its form where it stands. In a room that freezes, take out what must not "
            "freeze, or warm the room."
        ),
        source=(
            "Heat balance of the box in this run; no produce freezes above 32 °F and some close to "
            "it: USDA Marketing Research Report 196."
        ),
        value=coldest_f,
        limit=FREEZES_FOOD_F,
        unit="°F",
    )
