"""What the conductors of an element carry: the optional method asks for 100 A or more of them."""

from __future__ import annotations

from server.domain.site import Site
from server.domain.supply import Feeder
from server.rules.demand.ratings import feeder_device_a
from server.rules.editions import Rulebook
from server.rules.wiring.segment import feeder_wire_a


def conductors_a(site: Site, element_id: str, rules: Rulebook) -> float | None:
    """The wire of a feeder, or of what brings power to a panel or switch from the utility. [A]

    Of a service, the one run behind it without a device. Where the wire is not told, the device on
    it, else what is ahead; None where nothing is told.
    """
    feeder = next((f for f in site.feeders if f.id == element_id), None)
    if feeder is not None:
        return _feeder_a(site, feeder, rules)
    if any(s.id == element_id for s in site.services):
        behind = [f for f in site.feeders if f.from_id == element_id]
        alone = len(behind) == 1 and behind[0].breaker_a is None
        return feeder_wire_a(behind[0], None, rules) if alone else None
    return _into_a(site, element_id, rules)


def _feeder_a(site: Site, feeder: Feeder, rules: Rulebook) -> float | None:
    wire_a = feeder_wire_a(feeder, feeder_device_a(site, feeder), rules)
    if wire_a is not None:
        return wire_a
    return feeder.breaker_a or _into_a(site, feeder.from_id, rules)


def _into_a(site: Site, element_id: str, rules: Rulebook) -> float | None:
    """The least of the feeders that can feed it, generator inputs left out where others are."""
    into = site.feeders_into.get(element_id, ())
    found = [_feeder_a(site, f, rules) for f in into if f.to_input != "generator"]
    told = [a for a in found if a is not None]
    return min(told, default=None)
