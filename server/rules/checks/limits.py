"""The limit a part is itself held to, without what stands ahead of it."""

from __future__ import annotations

from dataclasses import dataclass

from server.domain.site import Site
from server.domain.supply import Feeder
from server.rules.demand.ratings import binding_part
from server.rules.demand.report import ElementDemand
from server.rules.demand.worksheet import Worksheet


@dataclass(frozen=True)
class OwnLimit:
    """Amps of a limit, and the sentence that says whose it is, without its full stop.

    ``part`` is the receptacle, cord or inlet of a set that limits it, empty where none does.
    """

    limit_a: float
    words: str
    part: str = ""


def own_limit(site: Site, element: ElementDemand, sheet: Worksheet) -> OwnLimit | None:
    """What a part is held to, None where nothing of its own is told.

    Service: its main. Switch: its rating. Panel: its bus or its main, whichever is less. Feeder:
    the breaker at its start, that of the set where it starts there. Generator: the limit of a leg,
    or its receptacle, cord or inlet where that is less.
    """
    found = min(_told(site, element, sheet), default=None)
    part = binding_part(site, element.element_id)
    return None if found is None else OwnLimit(*found, part[0] if part else "")


def _told(site: Site, element: ElementDemand, sheet: Worksheet) -> list[tuple[float, str]]:
    here = element.element_id
    if element.kind == "feeder":
        return _of_feeder(site, next(f for f in site.feeders if f.id == here))
    if element.kind == "panel":
        panel = site.panel(here)
        found = [(panel.rating_a, f"Its bus is rated {panel.rating_a:g} A")]
        if panel.main_a is not None:
            found.append((panel.main_a, f"Its main is {panel.main_a:g} A"))
        return found
    switches = {t.id: t.rating_a for t in site.transfer_switches}
    switches |= {d.id: d.rating_a for d in site.double_throws}
    if here in switches:
        return [(switches[here], f"It is rated {switches[here]:g} A")]
    limit = sheet.existing_a
    if limit is None:
        return []
    part = binding_part(site, here)
    if part is not None:
        return [(part[1], f"Its {part[0]} is rated {part[1]:g} A")]
    words = "Its main is" if element.kind == "service" else "Its limit is"
    return [(limit, f"{words} {limit:.0f} A")]


def _of_feeder(site: Site, feeder: Feeder) -> list[tuple[float, str]]:
    sets = {g.id: g.breaker_a for g in site.generators}
    breaker_a = feeder.breaker_a if feeder.breaker_a is not None else sets.get(feeder.from_id)
    return [] if breaker_a is None else [(breaker_a, f"Its breaker is {breaker_a:g} A")]
