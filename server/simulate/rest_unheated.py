"""Heaters with rooms of their own that leave the rest of a zone without any."""

from __future__ import annotations

from server.domain.behaviour import RoomUnit, Zone
from server.domain.finding import Finding
from server.simulate.prepared import Marched, Prepared
from server.simulate.room_rows import room_plan


def rest_findings(ready: Prepared, marched: Marched) -> tuple[Finding, ...]:
    """A note for each zone of which a part has no heat and turns cold in this run.

    Only of a zone in which single heaters have rooms of their own: there the rest is easily
    forgotten, or is heated by what is not entered.
    """
    site = ready.site
    plan = room_plan(site)
    units = [
        (a.id, a.behaviour)
        for c in site.circuits
        for a in c.appliances
        if isinstance(a.behaviour, RoomUnit) and a.behaviour.mode == "heat"
    ]
    heated = {plan.room_of[unit_id] for unit_id, _ in units}
    found: list[Finding] = []
    for row, zone in enumerate(site.zones):
        share = sum(unit.own_room_share for _, unit in units if unit.zone_id == zone.id)
        lowest_f = float(marched.zone_f[row].min())
        if share > 0.0 and row not in heated and lowest_f < zone.cold_f:
            found.append(_note(zone, share, lowest_f))
    return tuple(found)


def _note(zone: Zone, share: float, lowest_f: float) -> Finding:
    return Finding(
        code="rest-unheated",
        severity="note",
        element_id=zone.id,
        text=(
            f"Heaters with rooms of their own make {100 * share:.0f} % of {zone.name}; nothing "
            f"that is entered heats the rest, which falls to {lowest_f:.0f} °F in this run."
        ),
        mend=(
            "Enter what heats the rest, or in the forms of the heaters raise the shares of their "
            "rooms until they make the whole."
        ),
        source="Heat balance of the rest in this run.",
        value=lowest_f,
        unit="°F",
    )
