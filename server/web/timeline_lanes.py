"""The lanes of the timeline editor: what can be dragged over the hours of a scenario."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from server.domain.site import Site

LaneKind = Literal["window", "move", "event"]


@dataclass(frozen=True)
class Lane:
    """One lane. Its rows are those of the form's ``list`` that name ``part_id``, where one is.

    ``resting`` is where a double-throw stands before its first move.
    """

    kind: LaneKind
    list: str
    name: str
    part_id: str = ""
    resting: str = ""


def lanes(site: Site, values: Mapping[str, str]) -> tuple[Lane, ...]:
    """Every lane that a scenario on this site can have.

    Appliances have one where the form starts them at a set time; the others are added by the form.
    """
    found = [Lane("window", "outages", "Utility out")]
    if site.generators:
        found.append(Lane("window", "generator_stops", "Set stopped for service or rest"))
        found.append(Lane("window", "generator_exercise", "Set exercised without load"))
    found += [
        Lane("move", "switch_moves", f"{d.name} on BACKED-UP", d.id, d.resting)
        for d in site.double_throws
    ]
    found += [
        Lane("window", "hand_windows", f"{c.name}, by hand", c.id)
        for c in site.circuits
        if c.outage_role == "by_hand"
    ]
    started = {text for name, text in values.items() if name.endswith(".appliance_id")}
    found += [
        Lane("event", "events", f"{a.name} starts", a.id)
        for c in site.circuits
        for a in c.appliances
        if a.id in started
    ]
    return tuple(found)
