"""Waits typed for a pump that are longer than its pit takes to fill."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.behaviour import SumpPump
from server.domain.finding import Finding
from server.domain.lengths import span_words
from server.domain.site import Site
from server.rules.hazard_table import hazard


def pit_waits(site: Site) -> Iterator[Finding]:
    """Each pump whose circuit may wait, as typed, for longer than from its float to the brim.

    The power may go in the moment the float calls: what then stands above it is the reserve, and
    reserve ÷ inflow how long it lasts.
    """
    for circuit in site.circuits:
        waits_min = circuit.allowed_gap_min
        if waits_min is None:
            continue
        for one in circuit.appliances:
            pit = one.behaviour
            if not isinstance(pit, SumpPump) or pit.inflow_gpm <= 0.0:
                continue
            fills_min = pit.reserve_gal / pit.inflow_gpm
            if waits_min > fills_min + 0.5:
                yield hazard(
                    "wait-past-pit",
                    circuit.id,
                    f"{circuit.name} can wait {span_words(waits_min)} as entered, but from its "
                    f"float the pit of {one.name} takes {span_words(fills_min)} to fill: "
                    f"{pit.reserve_gal:g} gal at {pit.inflow_gpm:g} gal/min.",
                    f"Enter {int(fills_min):d} min or less at the circuit, or measure the pit and "
                    "its inflow and enter them at the pump.",
                )
