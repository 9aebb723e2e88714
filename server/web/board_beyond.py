"""What the run beside the board cannot tell of a change: loads it never asks for, and the code."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.circuit import Circuit
from server.domain.site import Site
from server.domain.topology import bus_of_circuit, generator_can_energise
from server.rules.checks.loads import demand_checks
from server.rules.demand.report import demand_of
from server.rules.demand.worksheet import round_half_up
from server.rules.editions import site_rules
from server.rules.reach import below
from server.simulate.results import Run
from server.web.format import listed


def asks_for_nothing(run: Run, circuit_id: str) -> bool:
    """Whether nothing on a circuit asks for power in a run, so that it proves nothing of it."""
    return not run.wanted_w[_row(run, circuit_id)].any()


def unshown_words(run: Run, circuit_ids: tuple[str, ...]) -> str:
    """That circuits which were changed ask for nothing in this run, or not while a set runs.

    Empty where each of them asks when it matters. One that a set cannot feed, or that is off in an
    outage, is not looked for then.
    """
    known = [c for c in dict.fromkeys(circuit_ids) if c in run.site.circuit_by_id]
    idle = [c for c in known if asks_for_nothing(run, c)]
    waits = [c for c in known if c not in idle and _waits_for_the_utility(run, c)]
    return " ".join([*_idle_words(run.site, idle), *_waiting_words(run.site, waits)])


def newly_past(before: Site, after: Site) -> tuple[str, ...]:
    """Parts that a change takes past what the code calculation holds them to, with the amps.

    The same as the sheets of Demand load and Findings say, by the edition of the site.
    """
    rewired = before.transfer_switches != after.transfer_switches
    touched = [
        e for e in _elements(after) if rewired or _circuits(before, e) != _circuits(after, e)
    ]
    was, now = _over_a(before, touched), _over_a(after, touched)
    return tuple(
        f"{after.name_of[e]}, {round_half_up(load_a)} A of {limit_a:.0f} A"
        for e, (load_a, limit_a) in now.items()
        if e not in was
    )


def _row(run: Run, circuit_id: str) -> int:
    return [c.id for c in run.site.circuits].index(circuit_id)


def _waits_for_the_utility(run: Run, circuit_id: str) -> bool:
    """Whether a set may feed it and it asks for power only while none need to."""
    circuit = run.site.circuit(circuit_id)
    bus = bus_of_circuit(run.site)[circuit_id]
    fed = not bus.panel_ids or generator_can_energise(run.site, bus.panel_ids[0])
    if not fed or circuit.outage_role == "off" or not run.scenario.outages:
        return False
    asks = run.wanted_w[_row(run, circuit_id)]
    return not any(
        asks[run.step_of(w.start) : run.step_of(w.end)].any() for w in run.scenario.outages
    )


def _idle_words(site: Site, ids: list[str]) -> Iterator[str]:
    if ids:
        names = listed([site.circuit(c).name for c in ids])
        asks, it = ("asks", "it") if len(ids) == 1 else ("ask", "them")
        yield (
            f"{names} {asks} for no power on this day, so it shows nothing of {it}: look at the "
            "other days too."
        )


def _waiting_words(site: Site, ids: list[str]) -> Iterator[str]:
    if ids:
        names = listed([site.circuit(c).name for c in ids])
        asks, it = ("asks", "it") if len(ids) == 1 else ("ask", "them")
        yield (
            f"{names} {asks} for no power while the utility is out on this day, so it does not "
            f"show whether the generator carries {it}."
        )


def _elements(site: Site) -> Iterator[str]:
    for parts in (
        site.services,
        site.transfer_switches,
        site.double_throws,
        site.feeders,
        site.panels,
        site.generators,
    ):
        yield from (part.id for part in parts)


def _circuits(site: Site, element_id: str) -> tuple[Circuit, ...]:
    """Whatever circuits hang on an element, as they are."""
    if element_id not in site.name_of:
        return ()
    ends = {f.id: f.to_id for f in site.feeders}
    own = below(site, ends.get(element_id, element_id))
    return tuple(c for c in site.circuits if c.panel_id in own)


def _over_a(site: Site, element_ids: list[str]) -> dict[str, tuple[float, float]]:
    """Elements over what they are held to, with the amps of the worst position. [A]"""
    rules, _ = site_rules(site, site.code_edition)
    found: dict[str, tuple[float, float]] = {}
    demand = [demand_of(site, e, rules=rules) for e in element_ids if e in site.name_of]
    for finding in demand_checks(site, [d for d in demand if d.sheets], (), rules):
        load_a, limit_a = finding.value or 0.0, finding.limit or 0.0
        if finding.element_id not in found or load_a > found[finding.element_id][0]:
            found[finding.element_id] = (load_a, limit_a)
    return found
