"""Feeders without a neutral, and what stands behind them that cannot work without one."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.circuit import Circuit
from server.domain.finding import Finding
from server.domain.site import Site
from server.domain.supply import Feeder
from server.domain.topology import sources_above
from server.rules.demand.reach import carried_by, distinct_positions
from server.rules.hazard_table import hazard
from server.rules.leg import LEG_V
from server.rules.wiring.service import of_service
from server.rules.words import listed


def no_neutral_hazards(site: Site) -> Iterator[Finding]:
    """What takes 120 V behind a feeder of two hots and a ground; service conductors without it."""
    for feeder in site.feeders:
        if not feeder.no_neutral:
            continue
        if of_service(site, feeder):
            yield _of_service(feeder)
            continue
        behind = circuits_to_neutral(site, feeder)
        sets = _sets_of_one_leg(site, feeder)
        if behind or sets:
            yield _of_loads(feeder, behind, sets)


def takes_neutral(circuit: Circuit) -> bool:
    """Whether a circuit needs a neutral: one pole, or an appliance with a part at 120 V.

    The case of an old three-wire range or dryer is grounded by it too (250.140).
    """
    return (
        circuit.poles == 1
        or circuit.multiwire_partner_id is not None
        or circuit.grounding == "three_wire_old"
        or any(a.volts == LEG_V or a.part_120_w > 0.0 for a in circuit.appliances)
    )


def circuits_to_neutral(site: Site, feeder: Feeder) -> tuple[Circuit, ...]:
    """Circuits behind a feeder that need a neutral, in any position of the switches behind it."""
    found = {
        one.circuit.id: one.circuit
        for _, positions in distinct_positions(site, feeder.id)
        for one in carried_by(site, feeder.id, positions)
        if takes_neutral(one.circuit)
    }
    return tuple(found.values())


def _sets_of_one_leg(site: Site, feeder: Feeder) -> list[str]:
    sources = sources_above(site, feeder.from_id)
    return [g.name for g in site.generators if g.id in sources and g.system == "120"]


def _of_loads(feeder: Feeder, behind: tuple[Circuit, ...], sets: list[str]) -> Finding:
    name, why = feeder.name, []
    if behind:
        why.append(
            f"{listed([c.name for c in behind])} behind it {'need' if len(behind) > 1 else 'needs'}"
            " one: 120 V has no way back there but the ground wire and the bare metal joined to it"
        )
    if sets:
        gives = "give" if len(sets) > 1 else "gives"
        why.append(f"{listed(sets)} {gives} 120 V only, between one hot and the neutral")
    return hazard(
        "loads-without-neutral",
        feeder.id,
        f"{name} is entered without a neutral. {'; and '.join(why)}. Runs take it as if a neutral "
        "were there.",
        "If a neutral lies there, say so. Else have one run, as large as the hots, or feed from "
        "elsewhere what needs it; never use the ground wire for it.",
        ("loads",),
    )


def _of_service(feeder: Feeder) -> Finding:
    return hazard(
        "loads-without-neutral",
        feeder.id,
        f"{feeder.name} is entered without a neutral. It lies ahead of the service disconnect, "
        "where no ground wire runs: a fault to metal behind it comes back by the neutral alone, "
        "so one is brought there even for 240 V loads.",
        "If a neutral lies there, say so. Else have the utility or an electrician bring one, as "
        "large as the hots.",
        ("service",),
    )
