"""What to confirm first: the guesses of a site in the order the answer leans on them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from server.advise.leaning import Leaning, leanings
from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.panel import Panel
from server.domain.site import Site
from server.domain.supply import DoubleThrow, Generator, SolarArray, TransferSwitch
from server.domain.told import guessed_of, source_of, told_of
from server.simulate.results import Run

_FIRST_APPLIANCES = 3
_PLATE = "Its nameplate; or clamp it while it runs."
_LABEL = "The label inside its door or on its case."


@dataclass(frozen=True)
class ToConfirm:
    """One guess: what it is of, its figure with unit, and where the true one can be read.

    ``circuit_id`` is set for an appliance, whose id ``part_id`` then is. ``why`` says what of the
    run hangs on it; ``value`` is None where there is no figure to show.
    """

    part_id: str
    name: str
    value: float | None
    unit: str
    where: str
    circuit_id: str | None = None
    why: str = ""
    field: str = ""


def to_confirm(site: Site, run: Run | None = None) -> tuple[ToConfirm, ...]:
    """The guesses of a site, those first that a run's answer leans on most.

    Solar that may be on the generator's side comes before all. With a run, next come the guesses
    it leans on, each with how (see :mod:`server.advise.leaning`); then what it does not lean on.
    Without one: sources, the largest loads by their amps at full power, switches and panels, then
    the rest; common practice, no source.
    """
    if run is None:
        return _usual(site)
    hazards = [g for g in _sources(site) if g.where.startswith("Which panel")]
    leant, seen = [], {g.part_id for g in hazards}
    by_id = {g.part_id: g for g in _usual(site) if g.part_id not in seen}
    for leaning in leanings(run):
        guess = by_id.get(leaning.part_id)
        if leaning.name:
            leant.append(_of_its_own(leaning))
        elif guess is not None and guess.part_id not in seen and not guess.field:
            leant.append(replace(guess, why=leaning.why))
            seen.add(guess.part_id)
    on = {c.id for c in run.site.circuits if c.outage_role != "off"}
    rest = [
        g
        for g in by_id.values()
        if g.part_id not in seen and (g.circuit_id in on or not run.scenario.outages)
    ]
    return (*hazards, *leant, *rest)


def _of_its_own(leaning: Leaning) -> ToConfirm:
    return ToConfirm(
        part_id=leaning.part_id,
        name=leaning.name,
        value=leaning.value,
        unit=leaning.unit,
        where=leaning.where,
        field=leaning.field,
        circuit_id=leaning.circuit_id,
        why=leaning.why,
    )


def _usual(site: Site) -> tuple[ToConfirm, ...]:
    loads = list(_appliances(site))
    return (
        *_sources(site),
        *loads[:_FIRST_APPLIANCES],
        *_switches_and_panels(site),
        *_rooms(site),
        *loads[_FIRST_APPLIANCES:],
    )


def ahead_of_the_switch(site: Site, array: SolarArray) -> bool:
    """Whether an array is drawn on a guessed panel of its own that a service feeds directly."""
    panel = site.panel(array.panel_id)
    services = {s.id for s in site.services}
    fed = {f.from_id for f in site.feeders_into.get(panel.id, ())}
    alone = not any(c.panel_id == panel.id for c in site.circuits)
    switched = {f.from_id for f in site.feeders if f.to_input == "utility"} & services
    return panel.figure_source == "guess" and alone and fed <= services and bool(switched & fed)


def _sources(site: Site) -> Iterator[ToConfirm]:
    for array in site.solar:
        if ahead_of_the_switch(site, array):
            where = (
                "Which panel its breaker is in. It is drawn ahead of the switch; in a panel that "
                "the generator feeds it is a hazard."
            )
            yield ToConfirm(array.id, array.name, array.breaker_a, "A", where)
    for service in site.services:
        if service.figure_source == "guess":
            where = "The handle of the main breaker."
            yield ToConfirm(service.id, service.name, service.main_a, "A", where)
    for generator in site.generators:
        if generator.figure_source == "guess":
            yield _set(generator)
    for array in site.solar:
        if array.figure_source == "guess" and not ahead_of_the_switch(site, array):
            yield _array(array)


def _set(generator: Generator) -> ToConfirm:
    """What is not read of a set: its size, or else its fuel and tank."""
    tank, fuel = generator.tank, generator.fuel.replace("_", " ")
    told, taken = told_of(generator), guessed_of(generator)
    known = f" Told: its {', its '.join(told)}." if told else ""
    if known:
        known += f" Taken, for nobody told: its {', its '.join(taken)}."
    if source_of(generator, "rated_kw") == "guess":
        where = "Its plate: running kilowatts for the fuel in use, not surge."
        if tank is not None:
            where += f" And its fuel: {tank.capacity_gal:g} gal of {fuel}."
        where += known
        return ToConfirm(generator.id, generator.name, generator.rated_kw, "kW", where)
    name = f"{' and '.join(taken).capitalize()} of {generator.name}"
    where = f"What it burns, and the label of its tank or the cans there.{known}"
    if tank is None:
        return ToConfirm(generator.id, name, None, "", f"{where} {fuel.capitalize()} is taken.")
    return ToConfirm(
        generator.id, name, tank.capacity_gal, f"gal of {fuel}", where, field="tank.capacity_gal"
    )


def _array(array: SolarArray) -> ToConfirm:
    """What is not read of solar: all of it, or its inverter where the modules were told."""
    if source_of(array, "dc_kw") == "guess":
        where = "The label of the inverter, and the number of modules."
        return ToConfirm(array.id, array.name, array.ac_kw, "kW", where)
    where = (
        f"The label of the inverter, and its breaker’s handle: {array.breaker_a:g} A is taken. "
        f"Told: modules of {array.dc_kw:g} kW dc."
    )
    return ToConfirm(
        array.id, f"Inverter of {array.name}", array.ac_kw, "kW ac", where, field="ac_kw"
    )


def _switches_and_panels(site: Site) -> Iterator[ToConfirm]:
    parts: tuple[TransferSwitch | DoubleThrow | Panel, ...] = (
        *site.transfer_switches,
        *site.double_throws,
        *site.panels,
    )
    for part in parts:
        if part.figure_source == "guess":
            yield ToConfirm(part.id, part.name, part.rating_a, "A", _LABEL)


def _rooms(site: Site) -> Iterator[ToConfirm]:
    served = {
        a.behaviour.zone_id
        for c in site.circuits
        for a in c.appliances
        if a.behaviour.model == "room"
    }
    for zone in site.zones:
        if zone.figure_source == "guess" and zone.id in served:
            where = "How fast it cools down with the heat off on a cold night."
            name = f"Heat loss of {zone.name.lower()}"
            yield ToConfirm(zone.id, name, zone.loss_btuh_per_f, "Btu/h °F", where)


def _appliances(site: Site) -> Iterator[ToConfirm]:
    guessed = [
        (circuit, appliance)
        for circuit in site.circuits
        for appliance in circuit.appliances
        if appliance.figure_source == "guess"
    ]
    for circuit, appliance in sorted(guessed, key=_amps, reverse=True):
        yield ToConfirm(appliance.id, appliance.name, appliance.load_w, "W", _PLATE, circuit.id)


def _amps(of: tuple[Circuit, Appliance]) -> float:
    appliance = of[1]
    return appliance.load_w / appliance.power_factor / appliance.volts
