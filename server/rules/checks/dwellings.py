"""Several services of one site: whose dwelling each of them supplies, and why there are two."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from server.domain.finding import Finding
from server.domain.site import Site
from server.rules.checks.made import made
from server.rules.demand.held import held_a, holds
from server.rules.demand.outlets import outside_area
from server.rules.demand.report import ElementDemand
from server.rules.demand.units import taken_for_several, unit_circuits
from server.rules.demand.worksheet import Worksheet, round_half_up
from server.rules.editions import Rulebook
from server.rules.reach import below
from server.rules.words import listed


def dwelling_checks(
    site: Site, report: Iterable[ElementDemand], rules: Rulebook
) -> Iterator[Finding]:
    """A note where several services feed one house, or nobody told whose each of them is.

    The optional methods are for conductors that carry a whole dwelling (220.82(A)); one house on
    two services may not use them. Until it is told, the standard method counts, and both figures
    stand here. A building has one service but on the grounds of 230.2.
    """
    if not taken_for_several(site):
        yield from _second_services(site, rules)
        return
    halves = [
        (element, standard, optional)
        for element in report
        if element.kind == "service"
        and (standard := element.sheet("standard")) is not None
        and (optional := element.sheet("optional")) is not None
    ]
    if not halves:
        return
    shown = [_both(site, element, *sheets) for element, *sheets in halves]
    would = [
        element.name
        for element, standard, optional in halves
        if holds(site, element, standard) is False and holds(site, element, optional)
    ]
    text = (
        f"{listed([s.name for s in site.services])} feed this site, and no panel says which "
        "dwelling it supplies. Until that is told, ratings are held to the standard method: one "
        "house on two services may not go by the optional one, and needs one of the grounds of "
        f"230.2 for the second. {'; '.join(shown)}."
    )
    if would:
        text += f" As that of a dwelling of its own {listed(would)} would fit by the optional."
    yield made(
        "dwellings-not-told",
        "note",
        halves[0][0].element_id,
        text=text,
        mend="Enter on each panel the dwelling it supplies: the same name on all of them for one "
        "house, a name for each for several.",
        figure=rules.figure("optional_least_a"),
    )


def _both(site: Site, element: ElementDemand, standard: Worksheet, optional: Worksheet) -> str:
    by_standard, by_optional = (
        round_half_up(held_a(site, element, s)) for s in (standard, optional)
    )
    return (
        f"{element.name}: {by_standard} A by the standard, {by_optional} A by the optional method"
    )


def _second_services(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """A dwelling named on the panels of two services; a building apart may have one of its own."""
    for unit, own in unit_circuits(site).items():
        inside = {
            c.panel_id for c in site.circuits if c.id in own and not outside_area(site, c, {})
        }
        feeding = [s for s in site.services if not s.building_feeder and below(site, s.id) & inside]
        if len(feeding) < 2:
            continue
        yield made(
            "second-service",
            "note",
            feeding[1].id,
            text=f"{listed([s.name for s in feeding])} supply {unit}. A building has one service "
            "but on a ground of 230.2: more than the utility gives by one, other volts or another "
            "rate, a building too large for one, or special permission. By each of them a plaque "
            "names the others and what each supplies.",
            mend="Ask the authority which ground stands for the second, and put up the plaques.",
            figure=rules.figure("second_service"),
        )
