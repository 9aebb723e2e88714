"""Hazards of a real house that can be entered and must be seen.

Each is a finding. While a blocking one stands, no advice and no permit packet is given. Severity,
section and source of every rule are in ``tables/hazards.toml``.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from server.domain.circuit import Circuit
from server.domain.finding import Finding
from server.domain.managers import ENTER_ONE, HAVE_IT_FITTED, not_fitted, unmanaged, unmanaged_words
from server.domain.panel import Panel, leg_of_space
from server.domain.site import CodeEdition, Site
from server.domain.supply import DoubleThrow, Feeder, Generator, TransferSwitch
from server.domain.topology import bus_of_circuit, generator_can_energise, sources_above
from server.rules.battery_hazards import battery_hazards
from server.rules.fault_current import fault_hazards
from server.rules.hazard_table import SEVERITIES, as_cited, hazard
from server.rules.neutral_bonds import bond_counts, bond_places, opens_neutral
from server.rules.no_neutral import no_neutral_hazards
from server.rules.old_cables import old_cable_hazards
from server.rules.overcurrent import overcurrent_hazards
from server.rules.pit_waits import pit_waits
from server.rules.reach import above
from server.rules.switch_hazards import switch_hazards
from server.rules.words import listed


def hazards(site: Site, edition: CodeEdition | None = None) -> tuple[Finding, ...]:
    """Every hazard of a site, blocking ones first.

    Parameters
    ----------
    site : Site               Any site that can be computed.
    edition : str, optional   The edition whose sections they cite instead of the site's.

    Returns
    -------
    tuple of Finding   In order of severity; each names its element, its mend and its source.
    """
    found = [
        *_multiwire(site),
        *_solar(site),
        *overcurrent_hazards(site),
        *switch_hazards(site),
        *_neutral_poles(site),
        *no_neutral_hazards(site),
        *_bonds(site),
        *old_cable_hazards(site),
        *_tandems(site),
        *_double_throws(site),
        *_must_serve(site),
        *pit_waits(site),
        *_managers(site),
        *fault_hazards(site),
        *_systems(site),
        *battery_hazards(site),
        *_not_modelled(site),
    ]
    cited = [as_cited(f, edition or site.code_edition) for f in found]
    return tuple(sorted(cited, key=lambda f: SEVERITIES.index(f.severity)))


def _listed(names: Iterable[str]) -> str:
    return listed(sorted(names))


def _sets_above(site: Site, element_id: str) -> tuple[Generator, ...]:
    sources = sources_above(site, element_id)
    return tuple(g for g in site.generators if g.id in sources)


def _sets_of_circuit(site: Site, circuit: Circuit) -> tuple[Generator, ...]:
    """Generators that can feed a circuit, through its panel or its transfer handle."""
    found = list(_sets_above(site, circuit.panel_id))
    for switch in site.transfer_switches:
        if any(h.circuit_id == circuit.id for h in switch.handles):
            found += [g for g in _sets_above(site, switch.id) if g not in found]
    return tuple(found)


def _pairs(site: Site) -> Iterator[tuple[Circuit, Circuit]]:
    for circuit in site.circuits:
        partner_id = circuit.multiwire_partner_id
        if partner_id is not None and circuit.id < partner_id:
            yield circuit, site.circuit(partner_id)


def _multiwire(site: Site) -> Iterator[Finding]:
    bus = bus_of_circuit(site)
    handle_leg = {h.circuit_id: h.leg for t in site.transfer_switches for h in t.handles}
    handle_set = {h.circuit_id: t.id for t in site.transfer_switches for h in t.handles}
    for one, other in _pairs(site):
        names = f"{one.name} and {other.name}"
        both_handled = one.id in handle_set and handle_set[one.id] == handle_set.get(other.id)
        same_bus = bus[one.id].id == bus[other.id].id or both_handled
        if one.panel_id != other.panel_id or not same_bus:
            yield hazard(
                "multiwire-split",
                one.id,
                f"{names} share a neutral but do not share a feed. The shared neutral can carry "
                "the sum of both with no breaker to protect it.",
                f"Move them to one panel together, on opposite legs and with one handle: {names}.",
            )
            continue
        same_leg = leg_of_space(one.spaces[0]) == leg_of_space(other.spaces[0])
        same_handle_leg = both_handled and handle_leg[one.id] == handle_leg[other.id]
        if same_leg or same_handle_leg:
            where = "on the generator side of their handles" if not same_leg else "in their panel"
            yield hazard(
                "multiwire-same-leg",
                one.id,
                f"{names} share a neutral and stand on the same leg {where}. Their amps add up "
                "in the neutral instead of cancelling.",
                "Move one of them so that they stand on opposite legs, with one handle.",
            )
        for generator in _sets_of_circuit(site, one):
            if generator.system == "120":
                yield hazard(
                    "multiwire-on-120v-set",
                    one.id,
                    f"{names} share a neutral. {generator.name} gives 120 V only, so both hots "
                    "are in phase and their amps add up in the neutral.",
                    "Keep this pair off the generator, rewire it with two neutrals, or use a "
                    "120/240 V set.",
                )


def _solar(site: Site) -> Iterator[Finding]:
    for array in site.solar:
        if generator_can_energise(site, array.panel_id):
            sets = _listed(g.name for g in _sets_above(site, array.panel_id))
            yield hazard(
                "solar-on-generator",
                array.id,
                f"{array.name} ties to {site.name_of[array.panel_id]}, which {sets} can "
                "energise. An inverter that pushes into a generator can overspeed and destroy "
                "it. In runs this solar is held off.",
                "Move the solar breaker to a panel on the normal bus, or have it positively "
                "locked out while the generator runs.",
            )


def _neutral_poles(site: Site) -> Iterator[Finding]:
    switches: tuple[TransferSwitch | DoubleThrow, ...] = (
        *site.transfer_switches,
        *site.double_throws,
    )
    for switch in switches:
        if switch.switches_neutral and not opens_neutral(switch):
            count = "one pole" if switch.poles == 1 else "two poles"
            yield hazard(
                "neutral-without-a-pole",
                switch.id,
                f"{switch.name} says it switches the neutral but has {count}, and each leg takes "
                "one. Its neutral is taken as joined straight through.",
                "Read its label: enter three poles, or say that it does not switch the neutral.",
            )


def _bonds(site: Site) -> Iterator[Finding]:
    ask = (
        "Neutral and ground join at exactly one intended point for the source in use. Have an "
        "electrician find it; do not remove or add a strap on our advice."
    )
    for count in bond_counts(site):
        source = site.name_of[count.source_id]
        if len(count.bonded_ids) > 1:
            where = _listed(_bond_place(site, e) for e in count.bonded_ids)
            yield hazard(
                "two-neutral-bonds",
                count.element_id,
                f"While {source} is in use, neutral and ground are joined in "
                f"{len(count.bonded_ids)} places: {where}. Neutral current runs on the ground "
                f"wires, and ground-fault devices trip.{_bond_guess(site, count.bonded_ids)}",
                ask,
                bond_places(site, count),
            )
        elif not count.bonded_ids:
            yield hazard(
                "no-neutral-bond",
                count.element_id,
                f"No place is entered where neutral and ground join while {source} is in use. "
                "Without one, a fault to a metal case may never trip a breaker.",
                ask,
            )


def _bond_guess(site: Site, bonded_ids: Iterable[str]) -> str:
    """Which of the bonds counted nobody has looked at, in a sentence; empty where none is so."""
    at = set(bonded_ids)
    parts: tuple[Panel | TransferSwitch | Generator | Feeder, ...] = (
        *site.panels,
        *site.transfer_switches,
        *site.generators,
        *site.feeders,
    )
    guessed = [p for p in parts if p.id in at and p.figure_source == "guess"]
    if not guessed:
        return ""
    names = _listed(_bond_place(site, p.id) for p in guessed)
    return (
        f" That they are joined at {names} is a guess: nobody has looked there yet. Where only one "
        "place joins them, nothing is wrong; once it is known, enter it on Supply."
    )


def _bond_place(site: Site, element_id: str) -> str:
    name = site.name_of[element_id]
    at_feeder = any(f.id == element_id for f in site.feeders)
    if any(s.id == element_id for s in site.services):
        return f"the building’s service, ahead of {name}"
    return f"the service disconnect of {name}" if at_feeder else name


def _tandems(site: Site) -> Iterator[Finding]:
    for circuit in site.circuits:
        panel = site.panel(circuit.panel_id)
        is_tandem = circuit.half is not None or circuit.breaker_type == "tandem"
        if is_tandem and not set(circuit.spaces) <= set(panel.tandem_spaces):
            yield hazard(
                "tandem-not-permitted",
                circuit.id,
                f"{circuit.name} uses a tandem breaker in space {circuit.spaces[0]} of "
                f"{panel.name}, which is not listed as made for tandems.",
                "Read the panel’s label and enter the spaces it permits, or use a full space.",
            )


def _automatic_above(site: Site, element_id: str) -> bool:
    return not above(site, element_id).isdisjoint(
        t.id for t in site.transfer_switches if t.automatic
    )


def _double_throws(site: Site) -> Iterator[Finding]:
    for throw in site.double_throws:
        feeder = site.feeder_into(throw.id, "backed_up")
        automatic = feeder is not None and _automatic_above(site, feeder.from_id)
        if throw.resting == "backed_up" and automatic:
            yield hazard(
                "rests-on-backed-up",
                throw.id,
                f"{throw.name} rests on BACKED-UP behind an automatic transfer switch, so all it "
                "feeds lands on the generator with nobody there. Both positions are shown; the "
                "local authority decides which one governs.",
                "Let it rest on NORMAL, or size the generator for all that transfers, or use "
                "listed load management.",
            )
        if not opens_neutral(throw) and not any(
            f.no_neutral for f in site.feeders_into.get(throw.id, ())
        ):
            yield hazard(
                "parallel-neutral",
                throw.id,
                f"{throw.name} does not switch the neutral, so its two feeds join their neutrals "
                "and current returns by both. No neutral amps are shown for it.",
                "Ask the electrician about a switch that opens the neutral too.",
            )


def _managers(site: Site) -> Iterator[Finding]:
    """Load management that is relied on but not entered, or that sheds what must be served."""
    without = tuple(c for c in unmanaged(site) if _sets_of_circuit(site, c))
    if without:
        yield hazard("no-load-manager", without[0].id, unmanaged_words(without), ENTER_ONE)
    for group in not_fitted(site):
        under = [c for c in site.circuits if c.energy_group_id == group.id]
        count, it = ("counts", "it") if len(under) == 1 else ("count", "them")
        yield hazard(
            "manager-not-fitted",
            group.id,
            f"{_listed(c.name for c in under)} {count} on a load manager that is not fitted: "
            f"{group.name} is only planned, so nothing holds {it} off yet.",
            HAVE_IT_FITTED,
        )
    name_of = {g.id: g.name for g in site.energy_groups}
    for circuit in site.circuits:
        if circuit.load_class == "must_serve" and circuit.energy_group_id is not None:
            yield hazard(
                "must-serve-shed",
                circuit.id,
                f"{circuit.name} must be served, but {name_of[circuit.energy_group_id]} can hold "
                "it off.",
                "Take it out of the load manager.",
            )


def _must_serve(site: Site) -> Iterator[Finding]:
    bus = bus_of_circuit(site)
    resting = {d.id: d.resting for d in site.double_throws}
    backed = any(generator_can_energise(site, panel.id) for panel in site.panels)
    for circuit in site.circuits:
        if circuit.load_class != "must_serve":
            continue
        own = bus[circuit.id]
        at_rest = resting.get(own.root_id)
        if own.kind == "normal" or at_rest == "normal":
            hand = "until somebody throws its switch" if at_rest else "for the whole outage"
            yield hazard(
                "must-serve-goes-dead",
                circuit.id,
                f"{circuit.name} must be served, but goes dead with the grid {hand}.",
                ("Move it to a backed-up bus, or give" if backed else "Give")
                + " it a battery that outlasts the outage"
                + (
                    "." if backed else ", or add a source and a panel that it carries in an outage."
                ),
            )
        elif own.kind == "switchable" and at_rest is None:
            yield hazard(
                "must-serve-goes-dead",
                circuit.id,
                f"{circuit.name} must be served, but stays dead until somebody turns its "
                "transfer handle.",
                "Feed it from an automatic switch, or give it a battery for that gap.",
            )
        elif circuit.outage_role != "on":
            yield hazard(
                "must-serve-not-always-on",
                circuit.id,
                f"{circuit.name} must be served, but its role in an outage is not “on”.",
                "Set its outage role to on.",
            )


def _systems(site: Site) -> Iterator[Finding]:
    services = {s.id: s for s in site.services}
    for generator in site.generators:
        fed = [c for c in site.circuits if generator in _sets_of_circuit(site, c)]
        if generator.system == "120":
            dead = [c for c in fed if any(a.volts == 240 for a in c.appliances)]
            if dead:
                yield hazard(
                    "dead-on-120v-set",
                    generator.id,
                    f"{generator.name} gives 120 V only, so these stay dead on it: "
                    f"{_listed(c.name for c in dead)}.",
                    "Plan without them, or use a 120/240 V set.",
                )
            continue
        sources = frozenset().union(*(sources_above(site, c.panel_id) for c in fed))
        for source_id in sorted(sources & services.keys()):
            if services[source_id].system != generator.system:
                yield hazard(
                    "system-mismatch",
                    generator.id,
                    f"{generator.name} gives {generator.system} V, {services[source_id].name} "
                    f"gives {services[source_id].system} V. Motors and heaters at the higher "
                    "voltage will not see what they are made for.",
                    "Check both nameplates; use a set of the same system.",
                )


def _not_modelled(site: Site) -> Iterator[Finding]:
    for array in site.solar:
        if not array.grid_following:
            yield hazard(
                "grid-forming-not-modelled",
                array.id,
                f"{array.name} can form its own grid. That is not modelled: ask the installer "
                "what it carries in an outage. Runs hold it off while the grid is out.",
                "Read outages as if this solar were off.",
            )
