"""What solar and batteries may push into a panel’s busbar beside its main (705.12(B))."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from server.domain.finding import Finding
from server.domain.panel import Panel
from server.domain.site import Site
from server.rules.checks.made import made
from server.rules.demand.ratings import devices_ahead, system_volts
from server.rules.demand.report import demand_of
from server.rules.editions import Rulebook
from server.rules.ocpd import next_standard_a, standard_at_most_a, standard_ratings_a
from server.rules.reach import below
from server.rules.wiring.feeder import governing
from server.rules.words import percent

SLACK_A = 0.5
"""Amps that a sheet rounds off (220.5(B))."""


@dataclass(frozen=True)
class Busbar:
    """Sources on one busbar: amps at 125 %, the device ahead of it, and the three sums.

    ``at_far_end`` is None where a breaker's place was not read and none is known to be elsewhere.
    A battery has no place of its own in a site.
    """

    solar_a: float
    battery_a: float
    main_a: float
    bus_a: float
    breakers_a: float
    at_far_end: bool | None
    plain_share: float
    far_end_share: float

    @property
    def sources_a(self) -> float:
        """125 % of the output of all sources but the utility. [A]"""
        return self.solar_a + self.battery_a

    @property
    def total_a(self) -> float:
        """What sources and main can push into it. [A]"""
        return self.sources_a + self.main_a

    @property
    def plain(self) -> bool:
        """125 % of the sources and the main are within the bus rating."""
        return self.total_a <= self.plain_share * self.bus_a

    @property
    def far_end(self) -> bool:
        """They are within 120 % of it, with the sources at the far end."""
        return self.within_far_share and self.at_far_end is True

    @property
    def within_far_share(self) -> bool:
        """The sum alone is within 120 %."""
        return self.total_a <= self.far_end_share * self.bus_a

    @property
    def by_sum(self) -> bool:
        """All breakers but the main add up to no more than the bus rating."""
        return self.breakers_a <= self.bus_a

    @property
    def passes(self) -> bool:
        """Any of the three ways."""
        return self.plain or self.far_end or self.by_sum

    def largest_main_a(self, *, far_end: bool, needed_a: float = 0.0) -> float | None:
        """Largest standard main that it stands, None where none is small enough. [A]

        Nor where that is under ``needed_a``, what the panel's own load asks for.

        >>> bus = Busbar(50.0, 0.0, 225, 200, 900, True, 1.0, 1.2)
        >>> bus.largest_main_a(far_end=True), bus.largest_main_a(far_end=False)
        (175.0, 150.0)
        """
        share = self.far_end_share if far_end else self.plain_share
        left = share * self.bus_a - self.sources_a
        if left < standard_ratings_a()[0]:
            return None
        most = standard_at_most_a(left)
        return most if most >= needed_a - SLACK_A else None


def busbar(site: Site, panel: Panel, rules: Rulebook) -> Busbar | None:
    """The source sums of a panel, None without a source or without a known device on its bus.

    Sources of every panel it feeds count, as their amps come in by the breaker of that feeder. A
    battery's breaker, of which a site tells nothing, counts at the next size for its output.
    """
    reached = below(site, panel.id)
    arrays = [a for a in site.solar if a.panel_id in reached]
    batteries = [b for b in site.batteries if b.panel_id in reached]
    own = [a for a in arrays if a.panel_id == panel.id]
    ahead = (panel.main_a,) if panel.main_a is not None else devices_ahead(site, panel.id)
    if not (arrays or batteries) or not ahead:
        return None
    at_panels = {a.panel_id for a in arrays} | {b.panel_id for b in batteries}
    carrying = [
        f
        for f in site.feeders
        if f.from_id == panel.id and not below(site, f.to_id).isdisjoint(at_panels)
    ]
    volts = system_volts(site, panel.id)
    factor = rules.value("solar_factor")
    here_a = [factor * b.inverter_kw * 1000 / volts for b in batteries if b.panel_id == panel.id]
    loads = sum(c.breaker_a for c in site.circuits if c.panel_id == panel.id)
    loads += sum(f.breaker_a or 0.0 for f in site.feeders if f.from_id == panel.id)
    loads += sum(a.breaker_a for a in own) + sum(next_standard_a(round(a, 6)) for a in here_a)
    places = [a.spaces for a in own] + [f.spaces for f in carrying] + [() for _ in here_a]
    last = {panel.spaces, panel.spaces - 1}
    elsewhere = any(spaces and not set(spaces) & last for spaces in places)
    return Busbar(
        solar_a=factor * sum(a.ac_kw * 1000 / volts for a in arrays),
        battery_a=factor * sum(b.inverter_kw * 1000 / volts for b in batteries),
        main_a=max(ahead),
        bus_a=panel.rating_a,
        breakers_a=loads,
        at_far_end=False if elsewhere else None if not all(places) else True,
        plain_share=rules.value("busbar_plain"),
        far_end_share=rules.value("busbar_opposite_share"),
    )


def busbar_checks(site: Site, panel: Panel, rules: Rulebook) -> Iterator[Finding]:
    """A panel whose bus solar, batteries and the utility can push too much through.

    Where only the place of a breaker is not read it is a note: the sum may stand.
    """
    bus = busbar(site, panel, rules)
    if bus is None or bus.passes:
        return
    plain, most = bus.plain_share * bus.bus_a, bus.far_end_share * bus.bus_a
    unread = bus.within_far_share and bus.at_far_end is None
    figure = rules.figure("busbar_plain" if bus.within_far_share else "busbar_opposite_share")
    apart = {True: "", False: ", where it is not", None: "; its place was not read"}[bus.at_far_end]
    yield made(
        "solar-busbar",
        "note" if unread else "warning",
        panel.id,
        text=f"{_sources(bus, rules)} and the {bus.main_a:g} A main can push {bus.total_a:.1f} A "
        f"into {panel.name}. Its bus allows {plain:g} A, or {most:g} A with {_name(bus).lower()} "
        f"at the far end{apart}. Its other breakers add up to {bus.breakers_a:g} A, more than the "
        "bus, so that way is closed too.",
        mend=_mend(bus, panel, main_needed_a(site, panel, rules)),
        figure=figure,
        value=bus.total_a,
        limit=plain if bus.within_far_share else most,
        unit="A",
    )


def main_needed_a(site: Site, panel: Panel, rules: Rulebook) -> float:
    """What the panel's own sheet asks of a main. [A]"""
    demand = demand_of(site, panel.id, rules=rules, held_only=True)
    return governing(demand).needed_a if demand.sheets else 0.0


def _name(bus: Busbar) -> str:
    if not bus.battery_a:
        return "Solar"
    return "Solar and battery" if bus.solar_a else "The battery"


def _sources(bus: Busbar, rules: Rulebook) -> str:
    share = percent(rules.value("solar_factor"))
    if not (bus.solar_a and bus.battery_a):
        return f"{_name(bus)} at {share}, {bus.sources_a:.1f} A,"
    return (
        f"Solar and battery at {share}, {bus.solar_a:.1f} A + {bus.battery_a:.1f} A = "
        f"{bus.sources_a:.1f} A,"
    )


def _mend(bus: Busbar, panel: Panel, needed_a: float) -> str:
    if bus.within_far_share:
        what = {"Solar": "solar comes in by"}.get(_name(bus), "solar and battery come in by")
        what = "the battery comes in by" if not bus.solar_a else what
        return (
            f"{'See that' if bus.at_far_end is None else 'Move'} the breaker that {what} "
            f"{'is in' if bus.at_far_end is None else 'to'} the last spaces ({panel.spaces - 1} or "
            f"{panel.spaces}), at the far end from the main, with its label"
            f"{_or_plain(bus, panel, needed_a, use='use ')}."
        )
    left = bus.far_end_share * bus.bus_a - bus.sources_a
    device = bus.largest_main_a(far_end=True, needed_a=needed_a)
    smaller = ""
    if device is not None:
        where = "" if bus.at_far_end else f" with {_name(bus).lower()} at the far end"
        smaller = f"A main of {math.floor(left)} A or less{where} ({device:g} A is a standard size)"
        smaller += _or_plain(bus, panel, needed_a)
    more = (
        f"bus of {math.ceil(bus.total_a / bus.far_end_share)} A or more, a connection ahead of the "
        "main, or a listed power-control system."
    )
    return f"{smaller}, a {more}" if smaller else f"A {more}"


def _or_plain(bus: Busbar, panel: Panel, needed_a: float, *, use: str = "") -> str:
    """The main beside which a breaker may stay where it is; ``use`` is the verb it asks for.

    Empty where there is none, or where the panel's own load asks for a larger one.
    """
    plain = None if bus.at_far_end else bus.largest_main_a(far_end=False, needed_a=needed_a)
    if plain is None or panel.main_a is None:
        return ""
    return f", or {use}a main of {plain:g} A wherever it stands"
