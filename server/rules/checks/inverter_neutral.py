"""Solar and batteries at a panel that no neutral reaches."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.finding import Finding
from server.domain.panel import Panel
from server.domain.site import Site
from server.domain.topology import without_neutral
from server.rules.checks.made import made
from server.rules.editions import Rulebook
from server.rules.words import listed


def inverter_neutral_checks(site: Site, panel: Panel, rules: Rulebook) -> Iterator[Finding]:
    """Inverters at a panel on two hots and a ground.

    What follows the utility may be made for that, as its manual says. A battery that carries the
    house by itself gives 120 V to nothing beyond, for nothing brings it back.
    """
    if panel.id not in without_neutral(site):
        return
    figure = rules.figure("inverter_neutral")
    following: list[tuple[str, str]] = [
        (s.id, s.name) for s in site.solar if s.panel_id == panel.id
    ]
    here = [b for b in site.batteries if b.panel_id == panel.id]
    following += [(b.id, b.name) for b in here if not b.grid_forming]
    if following:
        names = [name for _, name in following]
        yield made(
            "inverter-without-neutral",
            "note",
            following[0][0],
            text=f"{listed(names)} {'are' if len(names) > 1 else 'is'} at {panel.name}, which no "
            "neutral reaches. Many inverters of 240 V ask for one, to see the volts of each leg.",
            mend="Read the manual for a wiring without a neutral; else have one run there, or "
            "bring them to a panel that has one.",
            figure=figure,
        )
    forming = [b for b in here if b.grid_forming]
    if forming:
        yield made(
            "inverter-without-neutral",
            "warning",
            forming[0].id,
            text=f"{listed([b.name for b in forming])} at {panel.name} can carry the house without "
            "the utility, and no neutral reaches it: 120 V from it has no way back from whatever "
            "is beyond its feeder.",
            mend="Have a neutral run there, as large as the hots, or bring it to a panel that has "
            "one.",
            figure=figure,
        )
