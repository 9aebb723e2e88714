"""Circuits of areas that several dwellings share, on equipment of one of them."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.circuit import Circuit
from server.domain.finding import Finding
from server.domain.panel import Panel
from server.domain.site import Site
from server.rules.checks.made import made
from server.rules.editions import Rulebook
from server.rules.reach import above
from server.rules.words import listed


def common_area_checks(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """A finding for each panel whose common circuits come from the panel of one dwelling.

    A panel that holds circuits of a dwelling supplies that dwelling; so does one that feeds the
    common panel. A house with one dwelling has no common area and enters none.
    """
    for panel in site.panels:
        common = common_circuits(site, panel)
        tenants = dwelling_panels(site, panel)
        if not common or not tenants:
            continue
        count = f"{len(common)} circuit{'' if len(common) == 1 else 's'}"
        if panel in tenants:
            text = f"{panel.name} supplies a dwelling"
        else:
            names = listed([p.name for p in tenants])
            text = f"{panel.name} comes by way of {names}, equipment of a dwelling"
        yield made(
            "common-area-on-a-dwelling",
            "warning",
            panel.id,
            text=f"{text}, and feeds what several dwellings share, on {count}: "
            f"{'; '.join(c.name for c in common)}. None may come from one dwelling’s equipment.",
            mend="Feed them from a panel of the house, ahead of every dwelling’s own panel.",
            figure=rules.figure("common_area"),
            value=float(len(common)),
            limit=0.0,
            unit="circuits",
        )


def common_circuits(site: Site, panel: Panel) -> tuple[Circuit, ...]:
    """Circuits of a panel that serve a common area."""
    return tuple(c for c in site.circuits if c.panel_id == panel.id and c.place == "common_area")


def dwelling_panels(site: Site, panel: Panel) -> tuple[Panel, ...]:
    """Panels that supply a dwelling and hold or feed this one, in some switch position."""
    reached = above(site, panel.id)
    holding = {c.panel_id for c in site.circuits if c.place != "common_area"}
    return tuple(p for p in site.panels if p.id in reached and p.id in holding)
