"""Panels: spare spaces, solar and its breaker, detached buildings, what their label must say."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.backfed import backfed_in
from server.domain.edits import free_spaces
from server.domain.finding import Advised, Finding
from server.domain.panel import Panel
from server.domain.site import Site
from server.domain.topology import without_neutral
from server.rules.checks.building_disconnect import building_disconnect_checks
from server.rules.checks.busbar import busbar_checks
from server.rules.checks.inverter_neutral import inverter_neutral_checks
from server.rules.checks.made import made
from server.rules.checks.placed import placed_checks
from server.rules.demand.ratings import system_volts
from server.rules.editions import Rulebook
from server.rules.neutral_bonds import on_old_three_wire_feeder
from server.rules.ocpd import next_standard_a, standard_ratings_a
from server.rules.raceway_metal import all_in_metal
from server.rules.tables import conductors, insulations
from server.rules.wiring.electrodes import Hot, copper_words
from server.rules.wiring.service import of_service
from server.rules.words import a_rating, listed, percent

BACKFED_SPACES = 2


def panel_checks(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """Findings about panels."""
    for panel in site.panels:
        yield from _spare(site, panel, rules)
        yield from _detached(site, panel, rules)
        yield from placed_checks(panel, rules)
        yield from _solar(site, panel, rules)
        yield from busbar_checks(site, panel, rules)
        yield from inverter_neutral_checks(site, panel, rules)
        if panel.interrupting_a is None:
            yield made(
                "interrupting-rating-asked",
                "note",
                panel.id,
                text=f"No interrupting rating is entered for {panel.name}; it must not be under "
                "the fault current where it stands.",
                mend="Ask the utility for the available fault current and read the breakers’ "
                "rating.",
                figure=rules.figure("interrupting_rating"),
            )


def _spare(site: Site, panel: Panel, rules: Rulebook) -> Iterator[Finding]:
    figure = rules.figure("spare_spaces")
    # A back-fed breaker whose place was not read still takes two spaces of the panel.
    unread = [s for s in backfed_in(site, panel.id) if not s.spaces]
    free = max(0, len(free_spaces(site, panel)) - BACKFED_SPACES * len(unread))
    beside = (
        f", with two kept for the back-fed breaker of {listed([s.name for s in unread])}"
        if unread
        else ""
    )
    if free < figure.value:
        yield made(
            "few-spare-spaces",
            "note",
            panel.id,
            text=f"{panel.name} has {free} of {panel.spaces} spaces free{beside}. Spaces and amps "
            "are separate limits: a full panel may still have amps to spare.",
            mend="Leave two spaces free for what is forgotten, or plan a larger panel.",
            figure=figure,
            value=free,
            limit=figure.value,
            unit="spaces",
        )


def _dry_wire(site: Site, panel: Panel, rules: Rulebook) -> Iterator[Finding]:
    """A feeder to another building of which no length may lie outdoors or in the ground."""
    known = insulations()
    for feeder in site.feeders_into.get(panel.id, ()):
        letters = {s.insulation.strip().upper() for s in feeder.segments}
        kinds = [known[one] for one in sorted(letters) if one in known]
        if kinds and len(kinds) == len(letters) and not any(kind.wet_c for kind in kinds):
            yield made(
                "dry-wire-outdoors",
                "warning",
                feeder.id,
                text=f"{feeder.name} goes to another building, and its wire is entered as "
                f"{listed([kind.id for kind in kinds])}, for dry and damp places alone. In the "
                "ground and outdoors the inside of a raceway is wet.",
                mend=f"Read the print on the wire. Use {kinds[0].instead}.",
                figure=rules.figure("wet_inside_a_raceway"),
            )
        elif kinds and len(kinds) == len(letters) and not any(kind.underground for kind in kinds):
            buried = [kind.id for kind in kinds if kind.wet_c]
            yield made(
                "service-cable-underground",
                "note",
                feeder.id,
                text=f"{feeder.name} goes to another building, and its wire is entered as "
                f"{listed(buried)}. That cable may run outdoors above the ground; it may not lie "
                "in the ground, with or without a raceway.",
                mend="Does any of the run lie in the ground? There, use THWN-2 or XHHW-2 in a "
                "raceway, or cable made to be buried, and enter that length.",
                figure=rules.figure("service_cable_underground"),
            )


def _detached(site: Site, panel: Panel, rules: Rulebook) -> Iterator[Finding]:
    if not panel.detached_building:
        return
    yield from _dry_wire(site, panel, rules)
    if any(of_service(site, f) for f in site.feeders_into.get(panel.id, ())):
        yield made(
            "detached-building",
            "note",
            panel.id,
            text=f"{panel.name} stands in another building on a service of its own: that has no "
            "ground wire, so neutral and ground are joined there, at the service disconnect, and "
            "it has a grounding electrode of its own.",
            mend="Show the disconnect, the bond and the electrode on the one-line.",
            figure=rules.figure("own_service_bond"),
        )
        return
    three_wire = on_old_three_wire_feeder(site, panel)
    if three_wire:
        yield made(
            "detached-three-wire",
            "warning",
            panel.id,
            text=f"{panel.name} is in a detached building on a feeder entered without a ground "
            "wire, and its neutral is joined to ground there. That can stand only on an old "
            "feeder with no metal path between the buildings.",
            mend="Does any pipe, conduit, cable shield or phone line of metal run between the "
            "buildings? Is the feeder as it was built? Have an electrician answer both; else run "
            "four wires and keep neutral and ground apart.",
            figure=rules.figure("detached_three_wire"),
        )
    figure = rules.figure("detached_building")
    bare = panel.id in without_neutral(site)
    in_metal = [f for f in site.feeders_into.get(panel.id, ()) if all_in_metal(f)]
    in_metal = [f for f in in_metal if not any(s.ground_size for s in f.segments)]
    joined = panel.neutral_bonded and not (bare or three_wire)
    if joined and in_metal:
        raceways = dict.fromkeys(s.raceway for f in in_metal for s in f.segments)
        yield made(
            "detached-neutral-bonded",
            "warning",
            panel.id,
            text=f"{panel.name} is in a detached building on a feeder in metal all the way "
            f"({listed(list(raceways))}), and its neutral is joined to ground there. That raceway "
            "is a metal path between the buildings and the feeder’s ground: neutral current runs "
            "on it, and what is allowed an old three-wire feeder is closed.",
            mend="Have an electrician keep neutral and ground apart there, with the raceway or a "
            "wire for the ground. If a length of it is plastic, enter that length.",
            figure=rules.figure("detached_metal_path"),
        )
    elif joined:
        yield made(
            "detached-neutral-bonded",
            "warning",
            panel.id,
            text=f"{panel.name} is in a detached building on a feeder, and its neutral is joined "
            "to ground there.",
            mend="A feeder to another building has four wires and keeps neutral and ground apart; "
            "have an electrician see to it. If it is an old three-wire feeder, enter its run "
            "without a ground wire.",
            figure=figure,
        )
    here = [c for c in site.circuits if c.panel_id == panel.id]
    # Two that share a neutral are opened by one throw (210.4(B)).
    handles = len(here) - sum(c.multiwire_partner_id is not None for c in here) // 2
    most = rules.figure("building_disconnects_most")
    if panel.main_a is None and handles > most.value:
        yield made(
            "detached-many-disconnects",
            "warning",
            panel.id,
            text=f"{panel.name} stands in another building with {handles} breakers and no main "
            f"is entered: that takes more than {most.value:g} throws of the hand to make it dead.",
            mend="Enter its main where it has one; else a main breaker, or a disconnect where the "
            "feeder comes in.",
            figure=most,
            value=float(handles),
            limit=most.value,
        )
    yield from building_disconnect_checks(site, panel, rules)
    feeder = "a ground wire in its feeder, " if bare else "a four-wire feeder, "
    feeder = "" if three_wire else feeder
    yield made(
        "detached-building",
        "note",
        panel.id,
        text=f"{panel.name} stands in another building: it needs {feeder}its own grounding "
        f"electrode and a disconnect where the feeder comes in.{_no_joint(panel) if bare else ''}"
        f"{_to_electrodes(site, panel, rules)}",
        mend=f"Show {'all three' if feeder else 'both'} on the one-line.",
        figure=figure,
    )


def _to_electrodes(site: Site, panel: Panel, rules: Rulebook) -> str:
    """The conductor to the electrodes of a building, by the wire that is told of its feeders."""
    hots: list[Hot] = [
        (s.size, s.metal, s.sets)
        for f in site.feeders_into.get(panel.id, ())
        for s in f.segments
        if s.size in {c.size for c in conductors()}
    ]
    if not hots:
        return ""
    cite = rules.figure("building_electrode").cite
    return (
        f" By its wire what joins the electrodes is {copper_words(hots, rules)} or larger "
        f"({cite.section})."
    )


def _no_joint(panel: Panel) -> str:
    """That the ground wire is needed where no neutral comes, and joins none."""
    entered = " It is entered as joining them: take that out." if panel.neutral_bonded else ""
    return (
        " No neutral comes there: the electrode is joined to the ground wire, and there are no "
        f"neutral and ground to join.{entered}"
    )


def _solar(site: Site, panel: Panel, rules: Rulebook) -> Iterator[Finding]:
    for array in site.solar:
        if array.panel_id != panel.id:
            continue
        factor = rules.figure("solar_factor")
        needed = factor.value * array.ac_kw * 1000 / system_volts(site, panel.id)
        smallest, largest = standard_ratings_a()[0], standard_ratings_a()[-1]
        standard = next_standard_a(min(round(needed, 6), largest))
        advised = Advised("breaker", amps=standard)
        if array.breaker_a < needed - 0.5:
            yield made(
                "solar-breaker-small",
                "warning",
                array.id,
                text=f"{array.name} asks for a breaker of {needed:.1f} A or more, "
                f"{percent(factor.value)} of its output; {array.breaker_a:g} A is entered.",
                mend=f"Use {a_rating(standard)} breaker with wire for it.",
                figure=factor,
                advised=advised,
                value=array.breaker_a,
                limit=needed,
                unit="A",
            )
        large = rules.figure("solar_breaker_most")
        most = next_standard_a(max(min(round(needed * large.value, 6), largest), smallest))
        if array.breaker_a > most:
            yield made(
                "solar-breaker-large",
                "warning",
                array.id,
                text=f"The {array.breaker_a:g} A breaker of {array.name} is far above the "
                f"{needed:.1f} A it asks for; its wire and inverter are seldom made for that.",
                mend="Read the largest breaker on the inverter’s label; "
                f"{standard:g} A carries its output.",
                figure=large,
                advised=advised,
                value=array.breaker_a,
                limit=most,
                unit="A",
            )
