"""Breakers that let more through than what stands behind them is made for."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator

from server.domain.finding import Finding
from server.domain.site import Site
from server.domain.supply import DoubleThrow, TransferSwitch
from server.domain.topology import root_of
from server.rules.hazard_table import hazard
from server.rules.reach import panel_interlocked
from server.rules.tables import read_toml


def overcurrent_hazards(site: Site) -> Iterator[Finding]:
    """Circuits, panels, switches and cords behind a breaker too large for them."""
    yield from _circuits(site)
    yield from _panels(site)
    yield from _switches(site)
    yield from _cords(site)
    yield from _meter_sockets(site)
    yield from _branch_breakers(site)


def devices_above(site: Site, element_id: str) -> Iterator[tuple[str, float]]:
    """Nearest overcurrent device ahead of an element on each of its feeds: its name and amps.

    Each element above is looked at once, however many ways lead to it.
    """
    seen, queue = {element_id}, deque([element_id])
    while queue:
        here = queue.popleft()
        for feeder in site.feeders_into.get(here, ()):
            panel = site.panel_by_id.get(feeder.from_id)
            held = _main_it_holds(site, here) if feeder.to_input == "utility" else None
            if feeder.breaker_a is not None:
                yield f"the breaker of {feeder.name}", feeder.breaker_a
            elif held is not None:
                yield held
            elif panel is not None and panel.main_a is not None:
                yield f"the main of {panel.name}", panel.main_a
            elif feeder.from_id not in seen:
                seen.add(feeder.from_id)
                queue.append(feeder.from_id)
        yield from _device_of_source(site, here)


def _main_it_holds(site: Site, element_id: str) -> tuple[str, float] | None:
    """The main of the panel whose breakers an interlock ties: what it lets through passes there."""
    panel = panel_interlocked(site, element_id)
    if panel is None or panel.main_a is None:
        return None
    return f"the main of {panel.name}", panel.main_a


def _device_of_source(site: Site, element_id: str) -> Iterator[tuple[str, float]]:
    for service in site.services:
        if service.id == element_id:
            yield f"the main of {service.name}", service.main_a
    for generator in site.generators:
        if generator.id == element_id and generator.breaker_a is not None:
            yield f"the breaker on {generator.name}", generator.breaker_a


def _circuits(site: Site) -> Iterator[Finding]:
    for circuit in site.circuits:
        panel = site.panel(circuit.panel_id)
        if circuit.breaker_a > panel.rating_a:
            yield hazard(
                "breaker-above-panel",
                circuit.id,
                f"The {circuit.breaker_a:g} A breaker of {circuit.name} is larger than "
                f"{panel.name} is rated for ({panel.rating_a:g} A).",
                f"Check the figures, or feed {circuit.name} from a larger panel.",
            )


def _panels(site: Site) -> Iterator[Finding]:
    for panel in site.panels:
        if panel.main_a is not None:
            ahead = [("its own main", panel.main_a)]
        else:
            ahead = list(devices_above(site, panel.id))
        for name, amps in ahead:
            if amps > panel.rating_a:
                yield hazard(
                    "panel-above-rating",
                    panel.id,
                    f"{panel.name} is rated {panel.rating_a:g} A but protected at {amps:g} A by "
                    f"{name}.",
                    f"Protect it at {panel.rating_a:g} A or less, at its feeder or by a main.",
                )
                break


def _switches(site: Site) -> Iterator[Finding]:
    switches: tuple[TransferSwitch | DoubleThrow, ...] = (
        *site.transfer_switches,
        *site.double_throws,
    )
    for switch in switches:
        for name, amps in devices_above(site, switch.id):
            if amps > switch.rating_a:
                yield hazard(
                    "breaker-above-switch",
                    switch.id,
                    f"{switch.name} is rated {switch.rating_a:g} A but stands behind {name} of "
                    f"{amps:g} A.",
                    _as_read(site, switch, name, amps)
                    or f"Use a switch rated {amps:g} A or more, or a breaker of "
                    f"{switch.rating_a:g} A or less.",
                )
                break


def _as_read(site: Site, switch: TransferSwitch | DoubleThrow, device: str, amps: float) -> str:
    """What to write of an interlock held back by a device: its plate carries none of the amps."""
    panel = panel_interlocked(site, switch.id)
    if panel is None:
        return ""
    feeder = site.feeder_into(switch.id, "generator")
    where = f"the breaker of {feeder.name}" if feeder is not None else "the breaker of its inlet"
    return (
        f"An interlock is a plate that carries no amps: on Supply, enter {amps:g} A for it, what "
        f"{device} lets through, and if {switch.rating_a:g} A is the back-fed "
        f"breaker or the inlet, enter that as {where}. Where it has a label that says less than "
        f"{amps:g} A, use one made for this panel."
    )


def _cords(site: Site) -> Iterator[Finding]:
    """What all of a portable passes, against its breaker, or the outlet where that is not told.

    An outlet lets its own amps through whether or not its breaker was read.
    """
    for generator in site.generators:
        known = generator.outlet_parts_a
        told = generator.breaker_a is not None
        through_a = generator.breaker_a if told else generator.receptacle_a
        if through_a is None or not known:
            continue
        word, amps = min(known.items(), key=lambda item: item[1])
        if amps >= through_a:
            continue
        by = "its breaker lets" if told else "its outlet lets"
        untold = "" if told else " The breaker of that outlet is not told: read it."
        yield hazard(
            "breaker-above-cord",
            generator.id,
            f"The {word} of {generator.name} is rated {amps:g} A, but {by} {through_a:g} A "
            f"through.{untold}",
            f"Use {'an' if word == 'inlet' else 'a'} {word} rated {through_a:g} A, or an outlet "
            "of the set with a smaller breaker.",
        )


def _meter_sockets(site: Site) -> Iterator[Finding]:
    listed = {r["rated_a"]: r["most_main_a"] for r in read_toml("meter_sockets")["rows"]}
    for service in site.services:
        socket_a = service.meter_socket_a
        if socket_a is not None and service.main_a > listed.get(socket_a, socket_a):
            yield hazard(
                "meter-socket-below-main",
                service.id,
                f"The meter socket of {service.name} is rated {socket_a:g} A, but its main lets "
                f"{service.main_a:g} A through.",
                f"Read the socket’s label; else a socket rated {service.main_a:g} A, or a main of "
                f"{socket_a:g} A or less.",
            )


def _branch_breakers(site: Site) -> Iterator[Finding]:
    """Circuits whose own breaker is above the switch that feeds them, or their transfer handle."""
    switches = {t.id: t for t in site.transfer_switches} | {d.id: d for d in site.double_throws}
    handled = {h.circuit_id: t for t in site.transfer_switches for h in t.handles}
    for circuit in site.circuits:
        switch = handled.get(circuit.id) or switches.get(root_of(site, circuit.panel_id))
        if switch is not None and circuit.breaker_a > switch.rating_a:
            yield hazard(
                "breaker-above-transfer",
                circuit.id,
                f"The {circuit.breaker_a:g} A breaker of {circuit.name} is larger than "
                f"{switch.name}, which feeds it, is rated for ({switch.rating_a:g} A).",
                f"Check the figures, or feed {circuit.name} past {switch.name}.",
            )
