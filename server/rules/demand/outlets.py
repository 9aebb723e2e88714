"""Lights and plugs that no dwelling's floor area carries: outbuildings and common areas.

A shed, a barn or a shared stair is no part of a dwelling unit, so the figure by area does not reach
it: its lights count at what they draw (220.14(D)), its outlets for plugs at 180 VA each yoke
(220.14(I)), or at what is entered on them where that is more (220.14(A)).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from server.domain.appliance import Appliance
from server.domain.base import Leg
from server.domain.circuit import Circuit
from server.domain.site import Site
from server.rules.demand.inputs import Category, Load
from server.rules.editions import Rulebook
from server.rules.tables import read_toml


def outside_area(site: Site, circuit: Circuit, told_ft2: Mapping[str, float]) -> bool:
    """Whether the lights and plugs of a circuit lie outside every dwelling's floor area.

    A panel in a detached building for which floor area is told feeds a dwelling's rooms there.
    """
    if circuit.place != "dwelling":
        return True
    panel = site.panel(circuit.panel_id)
    return panel.detached_building and not told_ft2.get(panel.id, panel.floor_area_ft2)


def outlet_loads(
    circuit: Circuit,
    general: Iterable[Appliance],
    *,
    leg: Leg,
    rules: Rulebook,
    group: str = "",
    new: bool = False,
) -> list[Load]:
    """Lights, wired things and outlets for plugs of one circuit, each a line of its own.

    Parameters
    ----------
    general : iterable of Appliance   Lights and plugs on it that floor area would else carry.
    """
    rows = read_toml("appliance_kinds")["kinds"]
    found: list[Load] = []
    plugged_va = 0.0
    plugs = False

    def load(name: str, category: Category, va: float, quantity: int, note: str) -> Load:
        return Load(
            name,
            category,
            va,
            quantity,
            volts=120.0,
            leg=leg,
            continuous=circuit.continuous,
            new=new,
            group=group,
            note=note,
        )

    for appliance in general:
        category = rows[appliance.kind].get("outside", "outlet")
        va = appliance.load_w / appliance.power_factor
        if category == "outlet":
            plugged_va += va
            plugs = True
        else:
            found.append(load(f"{circuit.name}: {appliance.name}", category, va, 1, ""))
    count = circuit.plug_outlets
    if not plugs and not count:
        return found
    if count is None:
        note = "outlets not counted: what is entered, one outlet at least"
    elif plugged_va > count * rules.value("receptacle_va"):
        note = "what is entered on them is more"
    else:
        note = ""
    quantity = max(count or 0, 1)
    each = max(rules.value("receptacle_va"), plugged_va / quantity)
    return [*found, load(f"{circuit.name}, outlets for plugs", "outlet", each, quantity, note)]


def outlet_questions(
    site: Site, circuits: Iterable[Circuit], told: Mapping[str, float]
) -> list[str]:
    """What is still to be counted on the circuits of outbuildings and common areas."""
    rows = read_toml("appliance_kinds")["kinds"]
    unknown = [
        c.name
        for c in circuits
        if outside_area(site, c, told)
        and c.plug_outlets is None
        and any(
            rows.get(a.kind, {}).get("category") == "general"
            and rows[a.kind].get("outside", "outlet") == "outlet"
            for a in c.appliances
        )
    ]
    if not unknown:
        return []
    return [f"How many outlets for plugs these have, outside a dwelling: {', '.join(unknown)}."]
