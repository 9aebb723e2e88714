"""What Article 547 asks in the buildings of a farm: how they are wired, bonded and cut off.

Notes for a person to look at: what is kept and washed in a building is not told to a planner.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from server.domain.circuit import Circuit
from server.domain.finding import Finding
from server.domain.panel import Panel
from server.domain.site import Site
from server.domain.supply import Segment
from server.rules.checks.made import made
from server.rules.demand.farm_buildings import farm_circuits, water_alone
from server.rules.editions import Rulebook
from server.rules.reach import below
from server.rules.tables import read_toml
from server.rules.words import listed

LEAST_BUILDINGS = 2
"""From two on, the place that feeds them is a distribution point."""


def farm_wiring_checks(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """Notes for each panel that feeds farm buildings, and for the service they hang on."""
    buildings = farm_circuits(site, site.circuits, {})
    for panel in site.panels:
        here = _of_panels(buildings, {panel.id})
        here = {name: circuits for name, circuits in here.items() if not water_alone(circuits)}
        if not here:
            yield from _asked_by_name(site, panel, rules)
            continue
        alone = list(here) == [panel.name]
        where = "stands in a building of a farm" if alone else f"feeds {_as_farm(here)}"
        yield made(
            "farm-building-wiring",
            "note",
            panel.id,
            text=f"{panel.name} {where}. Where feed or litter dust gathers, or dung "
            "or washing makes it damp, wire and boxes are of kinds that stand dust, damp and "
            "corrosion; NM-B is none. The ground is copper, and insulated where it is buried.",
            mend="Tell the electrician what is kept and washed there, and have plain cable, open "
            "boxes and bare buried grounds looked for.",
            figure=rules.figure("farm_wiring"),
        )
        yield from _aluminum_grounds(site, panel.id, panel.name, rules)
        kept = [name for name, circuits in here.items() if _keeps_livestock(name, circuits)]
        if kept:
            yield made(
                "livestock-bonding",
                "note",
                panel.id,
                text=f"Livestock seems to be kept at {listed(kept)}. Where it stands on concrete "
                "within reach of metal that can become live, the concrete has a bonded mesh, an "
                "equipotential plane, joined to the ground with 8 copper or larger.",
                mend="Ask whether there is one, and have it looked for before new metal or "
                "equipment is set there: a few volts between floor and metal hurt animals.",
                figure=rules.figure("equipotential_plane"),
            )
    yield from _isolating(site, buildings, rules)


def _asked_by_name(site: Site, panel: Panel, rules: Rulebook) -> Iterator[Finding]:
    """A panel of another building that is called a barn or the like, with nothing of a farm told.

    547.1 goes by the dust and what corrodes in the air, which neither a name nor a kind tells.
    """
    if not panel.detached_building:
        return
    words = "|".join(read_toml("appliance_kinds")["farm_names"]["words"])
    areas = [c.area for c in site.circuits if c.panel_id == panel.id]
    texts = (panel.name, panel.location, *areas)
    called = next((t.strip() for t in texts if re.search(rf"\b({words})\b", t, re.I)), None)
    if called is None:
        return
    whose = "" if called == panel.name else f" is in or feeds {called}"
    yield made(
        "farm-building-asked",
        "note",
        panel.id,
        text=f"{panel.name}{whose or ' seems to be in a building for animals or feed'}. Where dust "
        "of feed or litter gathers there, or dung or washing makes the air damp and corrosive, "
        "Article 547 holds: wire and boxes of kinds that stand it, no NM-B, a ground of copper, "
        "and for livestock a bonded floor.",
        mend="Say what is kept there: enter what is of a farm by its kind, such as barn lights. A "
        "barn that is only a garage or a shop is let be.",
        figure=rules.figure("farm_wiring"),
    )


def _aluminum_grounds(site: Site, panel_id: str, name: str, rules: Rulebook) -> Iterator[Finding]:
    """Each feeder of a farm building that has a ground of aluminum on any of its length."""
    for feeder in site.feeders_into.get(panel_id, ()):
        sizes = [s.ground_size for s in feeder.segments if _of_aluminum(s)]
        if not sizes:
            continue
        buried = any(_of_aluminum(s) and s.wet for s in feeder.segments)
        covered = ", insulated or covered where it is buried" if buried else ""
        yield made(
            "farm-ground-aluminum",
            "warning",
            feeder.id,
            text=f"{feeder.name} feeds {name} in a building of a farm, and its ground is "
            f"{listed(list(dict.fromkeys(filter(None, sizes))))} aluminum. Where dust or what "
            f"corrodes is in the air there, the ground is copper{covered}.",
            mend=f"Lay a ground of copper{covered}: no smaller than the aluminum one is enough.",
            figure=rules.figure("farm_ground"),
        )


def _of_aluminum(segment: Segment) -> bool:
    return bool(segment.ground_size) and segment.ground_metal == "aluminum"


def _isolating(
    site: Site, buildings: Mapping[str, tuple[Circuit, ...]], rules: Rulebook
) -> Iterator[Finding]:
    for service in site.services:
        reached = below(site, service.id)
        here = _of_panels(buildings, reached)
        of_farm = {c.id for circuits in buildings.values() for c in circuits}
        rest = [c for c in site.circuits if c.panel_id in reached and c.id not in of_farm]
        if not here or len(here) + bool(rest) < LEAST_BUILDINGS:
            continue
        also = " and what else is on it" if rest else ""
        yield made(
            "site-isolating-device",
            "note",
            service.id,
            text=f"{service.name} feeds {_as_farm(here)}{also}. Where a pole or meter feeds two or "
            "more buildings of a farm, a device that cuts them all off stands at that place.",
            mend="Ask the utility or an electrician whether this is such a place, and where its "
            "device stands.",
            figure=rules.figure("site_isolating_device"),
        )


def _of_panels(
    buildings: Mapping[str, tuple[Circuit, ...]], panel_ids: set[str] | frozenset[str]
) -> dict[str, tuple[Circuit, ...]]:
    """The buildings with a circuit in one of these panels."""
    return {n: cs for n, cs in buildings.items() if any(c.panel_id in panel_ids for c in cs)}


def _as_farm(buildings: Mapping[str, tuple[Circuit, ...]]) -> str:
    names = listed(list(buildings))
    several = len(buildings) > 1
    return f"{names}, {'buildings' if several else 'a building'} of a farm"


def _keeps_livestock(name: str, circuits: tuple[Circuit, ...]) -> bool:
    """Whether what is in a building or its name says that animals other than poultry are kept."""
    row = read_toml("appliance_kinds")["livestock"]
    text = " ".join([name, *(c.area for c in circuits)])
    if _begins(row["words"], text):
        return True
    watered = any(a.kind in row["kinds"] for c in circuits for a in c.appliances)
    return watered and not _begins(row["poultry"], text)


def _begins(words: list[str], text: str) -> bool:
    """Whether one of these begins a word of a text."""
    return bool(re.search(rf"\b({'|'.join(words)})", text, re.I))
