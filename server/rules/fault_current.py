"""The utility's fault current against what every panel and switch can interrupt or withstand."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.finding import Finding
from server.domain.site import Site
from server.rules.hazard_table import hazard
from server.rules.reach import below


def fault_hazards(site: Site) -> Iterator[Finding]:
    """Panels and switches rated below the fault current of a service above them.

    The length of the wire on the way lowers it; that is not reckoned, and the finding says so.
    """
    rated = {p.id: p.interrupting_a for p in site.panels}
    rated |= {t.id: t.withstand_a for t in site.transfer_switches}
    for service in site.services:
        if service.fault_current_a is None:
            continue
        first = {f.to_id for f in site.feeders if f.from_id == service.id}
        reached = below(site, service.id)
        for element_id, amps in rated.items():
            if element_id not in reached or amps is None or amps >= service.fault_current_a:
                continue
            further = (
                ""
                if element_id in first
                else " The wire between them lowers that by an amount not reckoned here."
            )
            yield hazard(
                "fault-current-above-rating",
                element_id,
                f"{service.name} can deliver {service.fault_current_a:,.0f} A into a fault; "
                f"{site.name_of[element_id]} is rated for {amps:,.0f} A.{further}",
                "Ask the electrician for the fault current where it stands, and for equipment "
                "rated for it or a listed series rating.",
            )
