"""Panels: spare spaces, solar on the busbar, detached buildings, what their label must say."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from server.domain.backfed import backfed_in
from server.domain.edits import free_spaces
from server.domain.finding import Finding
from server.domain.panel import Panel
from server.domain.site import Site
from server.rules.checks.made import made
from server.rules.demand.ratings import devices_ahead, system_volts
from server.rules.editions import Rulebook
from server.rules.neutral_bonds import on_old_three_wire_feeder
from server.rules.ocpd import next_standard_a, standard_ratings_a
from server.rules.reach import below
from server.rules.words import a_rating, listed, percent

BACKFED_SPACES = 2


def panel_checks(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """Findings about panels."""
    for panel in site.panels:
        yield from _spare(site, panel, rules)
        yield from _detached(site, panel, rules)
        yield from _solar(site, panel, rules)
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


def _detached(site: Site, panel: Panel, rules: Rulebook) -> Iterator[Finding]:
    if not panel.detached_building:
        return
    if on_old_three_wire_feeder(site, panel):
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
        return
    figure = rules.figure("detached_building")
    from_service = any(
        f.from_id in {s.id for s in site.services} for f in site.feeders_into.get(panel.id, ())
    )
    if panel.neutral_bonded and not from_service:
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
    yield made(
        "detached-building",
        "note",
        panel.id,
        text=f"{panel.name} stands in another building: it needs a four-wire feeder, its own "
        "grounding electrode and a disconnect where the feeder comes in.",
        mend="Show all three on the one-line.",
        figure=figure,
    )


@dataclass(frozen=True)
class Busbar:
    """Solar on one busbar: amps at 125 %, the device on the bus, and the three sums."""

    solar_a: float
    main_a: float
    bus_a: float
    breakers_a: float
    at_far_end: bool
    plain_share: float
    far_end_share: float

    @property
    def plain(self) -> bool:
        """125 % of solar and the main are within the bus rating."""
        return self.solar_a + self.main_a <= self.plain_share * self.bus_a

    @property
    def far_end(self) -> bool:
        """They are within 120 % of it, with solar at the far end."""
        return self.within_far_share and self.at_far_end

    @property
    def within_far_share(self) -> bool:
        """The sum alone is within 120 %."""
        return self.solar_a + self.main_a <= self.far_end_share * self.bus_a

    @property
    def by_sum(self) -> bool:
        """All breakers but the main add up to no more than the bus rating."""
        return self.breakers_a <= self.bus_a

    @property
    def passes(self) -> bool:
        """Any of the three ways."""
        return self.plain or self.far_end or self.by_sum


def busbar(site: Site, panel: Panel, rules: Rulebook) -> Busbar | None:
    """The solar sums of a panel, None without solar or without a known device on its bus.

    Solar of every panel it feeds counts, as its amps come in by the breaker of that feeder.
    """
    reached = below(site, panel.id)
    arrays = [a for a in site.solar if a.panel_id in reached]
    own = [a for a in arrays if a.panel_id == panel.id]
    carrying = [
        f
        for f in site.feeders
        if f.from_id == panel.id and not below(site, f.to_id).isdisjoint(a.panel_id for a in arrays)
    ]
    ahead = (panel.main_a,) if panel.main_a is not None else devices_ahead(site, panel.id)
    if not arrays or not ahead:
        return None
    volts = system_volts(site, panel.id)
    amps = sum(a.ac_kw * 1000 / volts for a in arrays)
    loads = sum(c.breaker_a for c in site.circuits if c.panel_id == panel.id)
    loads += sum(f.breaker_a or 0.0 for f in site.feeders if f.from_id == panel.id)
    loads += sum(a.breaker_a for a in own)
    last = {panel.spaces, panel.spaces - 1}
    return Busbar(
        solar_a=rules.value("solar_factor") * amps,
        main_a=max(ahead),
        bus_a=panel.rating_a,
        breakers_a=loads,
        at_far_end=all(
            set(spaces) & last
            for spaces in (*(a.spaces for a in own), *(f.spaces for f in carrying))
        ),
        plain_share=rules.value("busbar_plain"),
        far_end_share=rules.value("busbar_opposite_share"),
    )


def _solar(site: Site, panel: Panel, rules: Rulebook) -> Iterator[Finding]:
    for array in site.solar:
        if array.panel_id != panel.id:
            continue
        factor = rules.figure("solar_factor")
        needed = factor.value * array.ac_kw * 1000 / system_volts(site, panel.id)
        if array.breaker_a < needed - 0.5:
            yield made(
                "solar-breaker-small",
                "warning",
                array.id,
                text=f"{array.name} asks for a breaker of {needed:.1f} A or more, "
                f"{percent(factor.value)} of its output; {array.breaker_a:g} A is entered.",
                mend=f"Use {a_rating(next_standard_a(round(needed, 6)))} breaker with wire for it.",
                figure=factor,
                value=array.breaker_a,
                limit=needed,
                unit="A",
            )
        large = rules.figure("solar_breaker_most")
        most = max(next_standard_a(round(needed * large.value, 6)), standard_ratings_a()[0])
        if array.breaker_a > most:
            yield made(
                "solar-breaker-large",
                "warning",
                array.id,
                text=f"The {array.breaker_a:g} A breaker of {array.name} is far above the "
                f"{needed:.1f} A it asks for; its wire and inverter are seldom made for that.",
                mend="Read the largest breaker on the inverter’s label; "
                f"{next_standard_a(round(needed, 6)):g} A carries its output.",
                figure=large,
                value=array.breaker_a,
                limit=most,
                unit="A",
            )
    bus = busbar(site, panel, rules)
    if bus is None or bus.passes:
        return
    plain, most = bus.plain_share * bus.bus_a, bus.far_end_share * bus.bus_a
    total = bus.solar_a + bus.main_a
    if bus.within_far_share:
        figure, limit = rules.figure("busbar_plain"), plain
        mend = (
            f"Move the breaker that solar comes in by to the last spaces ({panel.spaces - 1} or "
            f"{panel.spaces}), "
            "at the far end from the main, with its label."
        )
    else:
        figure, limit = rules.figure("busbar_opposite_share"), most
        mend = (
            f"A main of {limit - bus.solar_a:.0f} A or less, a bus of "
            f"{total / bus.far_end_share:.0f} A or more, a connection ahead of the main, or a "
            "listed power-control system."
        )
    apart = "" if bus.at_far_end else ", where it is not"
    yield made(
        "solar-busbar",
        "warning",
        panel.id,
        text=f"Solar at {percent(rules.value('solar_factor'))}, {bus.solar_a:.1f} A, and the "
        f"{bus.main_a:g} A main can push {total:.1f} A into {panel.name}. Its bus allows "
        f"{plain:g} A, or {most:g} A with solar at the far end{apart}. Its other breakers add up "
        f"to {bus.breakers_a:g} A, more than the bus, so that way is closed too.",
        mend=mend,
        figure=figure,
        value=total,
        limit=limit,
        unit="A",
    )
