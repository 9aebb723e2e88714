"""Several services of one site where no panel says whose dwelling it supplies."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from server.domain.finding import Finding
from server.domain.site import Site
from server.rules.checks.made import made
from server.rules.demand.held import held_a, holds
from server.rules.demand.report import ElementDemand
from server.rules.demand.units import taken_for_several
from server.rules.demand.worksheet import Worksheet, round_half_up
from server.rules.editions import Rulebook
from server.rules.words import listed


def dwelling_checks(
    site: Site, report: Iterable[ElementDemand], rules: Rulebook
) -> Iterator[Finding]:
    """A finding where several services are taken for as many dwellings and none of them is named.

    The optional methods are for conductors that carry a whole dwelling (220.82(A)); one house on
    two services may not use them. Both figures are told, and it is a warning where the standard
    method alone passes a rating that the optional method keeps.
    """
    if not taken_for_several(site):
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
    past = [h for h in halves if holds(site, h[0], h[1]) is False and holds(site, h[0], h[2])]
    text = (
        f"{listed([s.name for s in site.services])} feed this site, and no panel says which "
        "dwelling it supplies, so each counts as that of a dwelling of its own, by the optional "
        "method too, and ratings are held to the lesser. If it is one house, the standard method "
        "alone stands, and a second service needs one of the grounds of 230.2. "
        f"{'; '.join(shown)}."
    )
    element, standard, _ = past[0] if past else (None, None, None)
    if element is not None and standard is not None:
        text += f" By the standard method {element.name} is above its {standard.existing_a:g} A."
    yield made(
        "dwellings-not-told",
        "warning" if past else "note",
        element.element_id if element is not None else halves[0][0].element_id,
        text=text,
        mend="Enter on each panel the dwelling it supplies: the same name on all of them for one "
        "house, a name for each for several. Until then go by the larger figure.",
        figure=rules.figure("optional_least_a"),
    )


def _both(site: Site, element: ElementDemand, standard: Worksheet, optional: Worksheet) -> str:
    by_standard, by_optional = (
        round_half_up(held_a(site, element, s)) for s in (standard, optional)
    )
    return (
        f"{element.name}: {by_standard} A by the standard, {by_optional} A by the optional method"
    )
