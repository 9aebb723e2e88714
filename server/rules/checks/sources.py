"""Services, generators and transfer equipment."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.edits import free_spaces, pairs_of_spaces
from server.domain.finding import Advised, Finding
from server.domain.panel import Panel
from server.domain.site import Site
from server.domain.supply import Generator, TransferSwitch
from server.rules.checks.made import made
from server.rules.checks.signs import emergency_disconnect_sign, inlet_sign, standby_sign
from server.rules.demand.outlets import outside_area
from server.rules.demand.ratings import feeder_device_a, portable_set_of
from server.rules.demand.units import one_family, serves_no_dwelling
from server.rules.demand.worksheet import service_least
from server.rules.editions import Rulebook
from server.rules.neutral_bonds import derives_its_own, house_bonds
from server.rules.ocpd import next_standard_a, standard_at_most_a
from server.rules.reach import above
from server.rules.wiring.service import figure_of, of_service
from server.rules.wiring.set_wire import set_ahead
from server.rules.words import a_rating, listed


def source_checks(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """Findings about where power comes from and what chooses between sources."""
    yield from _services(site, rules)
    for generator in site.generators:
        yield from _generator(site, generator, rules)
    yield from _switches(site, rules)
    yield from _feeders(site, rules)
    yield from _surge_at_feeders(site, rules)


def _feeders(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """A feeder's device against its stated ampacity: the next standard size up is permitted.

    Conductors from a service may stand on the 83 % rule; those of a set are a hazard of their own.
    """
    up_to = rules.value("next_size_up_to_a")
    sets, services = {g.id for g in site.generators}, {s.id for s in site.services}
    for feeder in site.feeders:
        carried, device = feeder.ampacity_a, feeder_device_a(site, feeder)
        if carried is None or device is None or (feeder.from_id in sets and not feeder.breaker_a):
            continue
        if feeder.from_id in services and _by_dwelling_share(carried, device, rules):
            continue
        most = next_standard_a(carried)
        if most > up_to:
            most = standard_at_most_a(carried)
        if device > most:
            portable = portable_set_of(site, feeder)
            at_set = f" at {portable.name}" if portable else ""
            yield made(
                "device-above-ampacity",
                "blocking",
                feeder.id,
                text=f"{feeder.name} is entered as carrying {carried:g} A, behind "
                f"{a_rating(device)} device; {most:g} A is the most that protects it.",
                mend=f"Use a device of {Advised('breaker', amps=most)} or less{at_set}, or larger "
                "wire.",
                figure=figure_of(
                    "next_size_up_to_a", service=of_service(site, feeder), rules=rules
                ),
                value=device,
                limit=most,
                unit="A",
                advised=Advised("breaker", amps=most),
            )


def _by_dwelling_share(carried_a: float, device_a: float, rules: Rulebook) -> bool:
    least, most = rules.value("dwelling_least_a"), rules.value("dwelling_most_a")
    return least <= device_a <= most and carried_a >= rules.value("dwelling_share") * device_a


def _services(site: Site, rules: Rulebook) -> Iterator[Finding]:
    for service in site.services:
        in_building = service.building_feeder
        dwelling = not in_building and not serves_no_dwelling(site, service.id)
        for name, code, text, mend, sign in (
            (
                "emergency_disconnect",
                "emergency-disconnect",
                f"{service.name}: a dwelling’s service needs an emergency disconnect outdoors, "
                "marked as such, when the service is new or replaced.",
                "Show it on the one-line, or ask whether this work triggers it.",
                emergency_disconnect_sign(rules),
            ),
            (
                "surge_protection",
                "surge-protection",
                f"{service.name}: a dwelling’s service needs surge protection when the service is "
                "new or replaced.",
                "Allow for a type 1 or 2 device, or ask whether this work triggers it.",
                None,
            ),
        ):
            if rules.on(name) and dwelling:
                yield made(
                    code,
                    "note",
                    service.id,
                    text=text,
                    mend=mend,
                    figure=rules.figure(name),
                    sign=sign,
                )
        alone = one_family(site) and dwelling
        least = rules.figure(service_least(one_family=alone))
        whose = "one dwelling" if alone else "a service of other than a one-family dwelling"
        if service.main_a < least.value and not in_building:
            yield made(
                "service-under-100",
                "warning",
                service.id,
                text=f"{service.name} has {a_rating(service.main_a)} main; {whose} needs "
                f"{least.value:g} A or more.",
                mend=f"Plan {a_rating(least.value)} service, or ask whether the old one may stay.",
                figure=least,
                value=service.main_a,
                limit=least.value,
                unit="A",
            )
        if service.fault_current_a is None:
            yield made(
                "fault-current-asked",
                "note",
                service.id,
                text=f"The fault current {service.name} can deliver is not entered.",
                mend=f"Ask {'whoever has charge of the building' if in_building else 'the utility'}"
                "; every breaker and switch ahead must be rated for it.",
                figure=rules.figure("interrupting_rating"),
            )
        if _signed(site, rules):
            at_disconnect = rules.on("emergency_disconnect") and dwelling
            yield made(
                "standby-sign",
                "note",
                service.id,
                text=_sign_words(site, service.name, at_disconnect=at_disconnect),
                mend="Fix the sign durably at that disconnect."
                if at_disconnect
                else f"Fix the sign durably at the {'building’s ' if in_building else ''}service.",
                figure=rules.figure("standby_sign"),
                sign=standby_sign(_signed(site, rules), rules),
            )


def _sign_words(site: Site, service: str, *, at_disconnect: bool) -> str:
    """Where the sign stands and what it says: since 2020 at a dwelling's emergency disconnect."""
    if not at_disconnect:
        return f"{service} needs a sign that names each standby source and where it is."
    names = listed([g.name for g in site.generators if not g.portable])
    return (
        f"The emergency disconnect of {service} outdoors (230.85) needs a sign that tells where "
        f"the disconnect, or the means to stop the engine, of each permanently installed standby "
        f"source is: {names}. Without such a disconnect it stands at the service equipment."
    )


def _signed(site: Site, rules: Rulebook) -> list[Generator]:
    """The sets a sign tells of: since 2020, of a dwelling, those permanently installed only."""
    old = rules.edition < "2020"
    return [g for g in site.generators if old or not g.portable]


def _generator(site: Site, generator: Generator, rules: Rulebook) -> Iterator[Finding]:
    if not generator.portable:
        if any(set_ahead(site, f) for f in site.feeders if f.from_id == generator.id):
            yield made(
                "generator-overload",
                "note",
                generator.id,
                text=f"No breaker is entered for {generator.name} or for the wire that leaves it. "
                "A set must be protected against overload, by its own design or by a device.",
                mend="Read on its plate what protects it, and enter the breaker, or put one at "
                "the set.",
                figure=rules.figure("generator_overload"),
            )
        if derives_its_own(site, generator) and any(
            f.from_id == generator.id for f in site.feeders
        ):
            yield made(
                "derived-system",
                "note",
                generator.id,
                text=f"What {generator.name} feeds opens the neutral too, so the set is a system "
                "of its own: beside one joint of neutral and ground it needs its own grounding "
                "electrode conductor to an electrode, of which nothing is entered.",
                mend="Show bond and electrode on the one-line. The electrode may be that of the "
                "building, where it is reached.",
                figure=rules.figure("derived_system"),
            )
        if rules.on("generator_shutdown"):
            yield made(
                "generator-shutdown",
                "note",
                generator.id,
                text=f"{generator.name} needs an emergency shutdown outside the dwelling, marked.",
                mend="Show where it is on the site sketch.",
                figure=rules.figure("generator_shutdown"),
            )
    else:
        yield _inlet_sign(site, generator, rules)


def _inlet_sign(site: Site, generator: Generator, rules: Rulebook) -> Finding:
    """The sign of an inlet tells what it is wired for, whatever set is plugged in now."""
    derived = derives_its_own(site, generator)
    joined = house_bonds(site, generator)
    asked = "bonded" if derived and not joined else "floating"
    bond = "bonded" if generator.neutral_bonded else "floating"
    wired = "opens the neutral too" if derived else "leaves the neutral joined to the utility’s"
    if derived and joined:
        wired += f", and {listed([site.name_of[i] for i in joined])} joins it to ground behind that"
    return made(
        "inlet-sign",
        "note",
        generator.id,
        text="The inlet needs a sign that says which neutral it is wired for. What it feeds by "
        f"{wired}, so a set with a {asked} neutral belongs here; {generator.name} is {bond}.",
        mend=f"Label the inlet for a {asked}-neutral generator only."
        + ("" if bond == asked else f" A {bond} one is not to be plugged in."),
        figure=rules.figure("inlet_sign"),
        sign=inlet_sign(bonded=asked == "bonded"),
    )


def _switches(site: Site, rules: Rulebook) -> Iterator[Finding]:
    services = {s.id: s for s in site.services if not s.building_feeder}
    for switch in site.transfer_switches:
        if switch.kind == "interlock":
            yield from _interlock_place(site, switch, rules)
            yield made(
                "backfed-fastened",
                "note",
                switch.id,
                text=f"{switch.name}: the breaker fed from the inlet must be fastened down, and "
                "stand exactly where the interlock blocks it.",
                mend="Check the kit’s listing for this panel, its breaker space and its retainer.",
                figure=rules.figure("backfed_fastened"),
            )
            continue
        if switch.kind == "handles":
            continue
        feeder = site.feeder_into(switch.id, "utility")
        from_service = feeder is not None and feeder.from_id in services
        if feeder and from_service and feeder.breaker_a is None and not switch.service_rated:
            yield made(
                "switch-not-service-rated",
                "warning",
                switch.id,
                text=f"{switch.name} is fed straight from {services[feeder.from_id].name} and "
                "is not service-rated.",
                mend="Use a switch listed as service equipment, or put a service disconnect "
                "ahead of it and enter its breaker on the feeder. Neutral and ground then join "
                "there alone: an electrician keeps them apart, on four wires, in the panel behind.",
                figure=rules.figure("service_rated_switch"),
            )
        if switch.withstand_a is None:
            yield made(
                "withstand-asked",
                "note",
                switch.id,
                text=f"No withstand rating is entered for {switch.name}.",
                mend="Read it from the switch’s label, with the breaker it is good for.",
                figure=rules.figure("interrupting_rating"),
            )


def _interlock_place(site: Site, switch: TransferSwitch, rules: Rulebook) -> Iterator[Finding]:
    """The back-fed breaker of an interlock takes two spaces, where its kit puts it."""
    for feeder in site.feeders:
        panel = site.panel_by_id.get(feeder.to_id)
        if feeder.from_id != switch.id or panel is None or switch.spaces:
            continue
        pairs = set(pairs_of_spaces(free_spaces(site, panel)))
        if pairs & {(1, 3), (2, 4)} or feeder.breaker_a is not None:
            continue
        where = (
            "No two spaces under each other are" if not pairs else "Spaces 1 and 3, 2 and 4 are not"
        )
        yield made(
            "interlock-place-taken",
            "note" if pairs else "warning",
            panel.id,
            text=f"{where} free in {panel.name} for the breaker that {switch.name} holds. A kit "
            "fits one place only, in most panels the two spaces next to the main.",
            mend="Read the kit’s sheet for the place it takes, move what stands there, and enter "
            "the space on the interlock.",
            figure=rules.figure("backfed_fastened"),
        )


def _of_a_dwelling(site: Site, panel: Panel) -> bool:
    """Whether a panel feeds rooms of a dwelling; one of a shed or a shared stair does not."""
    mine = [c for c in site.circuits if c.panel_id == panel.id]
    if not mine:
        return not panel.detached_building
    return any(not outside_area(site, c, {}) for c in mine)


def _surge_at_feeders(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """Panels on a feeder of a dwelling, once for the site."""
    if not rules.on("surge_feeders"):
        return
    ahead = {p.id for p in site.panels} | {s.id for s in site.services if s.building_feeder}
    fed = [
        p.name
        for p in site.panels
        if _of_a_dwelling(site, p)
        and any(
            not ahead.isdisjoint(above(site, f.from_id)) for f in site.feeders_into.get(p.id, ())
        )
    ]
    if fed:
        yield made(
            "surge-protection-feeders",
            "note",
            "",
            text="A dwelling’s panels that a feeder supplies need surge protection in or next to "
            f"them when they are new or replaced: {listed(fed)}.",
            mend="Allow for a type 1 or 2 device at each, or ask whether this work triggers it.",
            figure=rules.figure("surge_feeders"),
        )
