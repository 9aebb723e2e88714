"""The utility's fault current against what every panel and switch can interrupt or withstand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from server.domain.errors import InputError
from server.domain.finding import Finding
from server.domain.site import Site
from server.domain.supply import Feeder
from server.rules.hazard_table import hazard
from server.rules.leg import LEG_V
from server.rules.reach import below
from server.rules.wiring.drop import dc_per_kft

COLDEST_C = -40.0
"""Under this the resistance of the table is not taken further. [°C]"""


@dataclass(frozen=True)
class WireAhead:
    """One wire of the way from a service, and the lengths it is added up of, in words."""

    ohm: float = 0.0
    words: tuple[str, ...] = ()

    @property
    def most_a(self) -> float:
        """The most any fault behind it can draw: a leg's volts over this wire alone. [A]

        Whatever returns to the source adds to it: between the legs twice the volts over two of
        these wires, to neutral or ground the volts over this one and the way back.

        >>> round(WireAhead(0.03795).most_a)
        3162
        """
        return LEG_V / self.ohm if self.ohm else float("inf")


def fault_hazards(site: Site) -> Iterator[Finding]:
    """Panels and switches rated below the fault current of a service above them.

    What the wire alone lets through bounds it: where a rating holds that, a note shows the sum.
    What motors there add for an instant is not reckoned.
    """
    rated = {p.id: p.interrupting_a for p in site.panels}
    rated |= {t.id: t.withstand_a for t in site.transfer_switches}
    for service in site.services:
        if service.fault_current_a is None:
            continue
        first = {f.to_id for f in site.feeders if f.from_id == service.id}
        reached = below(site, service.id)
        wires = wires_from(site, service.id)
        for element_id, amps in rated.items():
            if element_id not in reached or amps is None or amps >= service.fault_current_a:
                continue
            name = site.name_of[element_id]
            wire = wires[element_id]
            can = f"{service.name} can deliver {service.fault_current_a:,.0f} A into a fault; "
            if wire.most_a <= amps:
                yield hazard(
                    "fault-current-lowered",
                    element_id,
                    f"{can}at most {wire.most_a:,.0f} A of it reach {name}, which is rated for "
                    f"{amps:,.0f} A: {_sum(site, wire)}.",
                    "Nothing, while that wire lies there as entered.",
                )
                continue
            if wire.most_a < service.fault_current_a:
                further = (
                    f" At most {wire.most_a:,.0f} A of that come through the wire ahead of it: "
                    f"{_sum(site, wire)}."
                )
            elif element_id in first:
                further = ""
            else:
                further = (
                    " The wire between them lowers that; its length and size, where they are "
                    "told, bring it no lower here."
                )
            yield hazard(
                "fault-current-above-rating",
                element_id,
                f"{can}{name} is rated for {amps:,.0f} A.{further}",
                "Ask the electrician for the fault current where it stands, and for equipment "
                "rated for it or a listed series rating.",
            )


def wires_from(site: Site, source_id: str) -> dict[str, WireAhead]:
    """One wire from a source to all it can feed, by the way of the least resistance.

    Lengths that are not told count nothing, so none is higher than it is.
    """
    found = {source_id: WireAhead()}
    queue = [source_id]
    while queue:
        here = queue.pop(0)
        for feeder in site.feeders_from.get(here, ()):
            wire = _longer(site, found[here], feeder)
            known = found.get(feeder.to_id)
            if known is None or wire.ohm < known.ohm:
                found[feeder.to_id] = wire
                queue.append(feeder.to_id)
    return found


def _longer(site: Site, wire: WireAhead, feeder: Feeder) -> WireAhead:
    """A wire with the lengths of one feeder added."""
    cold_c = max(COLDEST_C, (site.design_low_f - 32.0) / 1.8)
    ohm, words = wire.ohm, list(wire.words)
    for part in feeder.segments:
        try:
            per_kft = dc_per_kft(size=part.size, metal=part.metal, temperature_c=cold_c)
        except InputError:
            continue
        ohm += part.run_ft * per_kft / 1000.0 / part.sets
        sets = f" / {part.sets} sets" if part.sets > 1 else ""
        words.append(
            f"{part.run_ft:g} ft of {part.size} {part.metal} × {per_kft:.3g} Ω/1000 ft{sets}"
        )
    return WireAhead(ohm, tuple(words))


def _sum(site: Site, wire: WireAhead) -> str:
    """The sum of a bound, its lengths and where the resistance is from."""
    cold = f"{site.design_low_f:g}".replace("-", "−")
    return (
        f"{LEG_V:g} V over one wire’s {wire.ohm:.4f} Ω ({' + '.join(wire.words)}, dc of Chapter 9 "
        f"Table 8 at {cold} °F), the way back left out"
    )
