"""The guesses of a site as the overview lists them, each with the page that mends it."""

from __future__ import annotations

from dataclasses import dataclass

from server.advise.confirm import to_confirm
from server.domain.site import Site
from server.simulate.results import Run

FIRST = 6
"""How many are shown."""


@dataclass(frozen=True)
class Guess:
    """One guess. ``href`` is where it is mended, empty where no page does."""

    name: str
    value: float | None
    unit: str
    where: str
    why: str
    href: str


@dataclass(frozen=True)
class Guesses:
    """The guesses to confirm first, how many more there are, and of which scenario they are.

    ``scenario`` is empty where no run was there to rank them by.
    """

    first: tuple[Guess, ...]
    more: int
    scenario: str


def guesses(site_id: str, site: Site, run: Run | None = None) -> Guesses:
    """What to confirm, the first first; with a run, those it leans on."""
    root = f"/sites/{site_id}"
    zones = {zone.id for zone in site.zones}
    found = to_confirm(site, run)
    told = [g for g in found if g.why or run is None or g.where.startswith("Which panel")]
    first = []
    for guess in told[:FIRST]:
        if guess.circuit_id is not None:
            href = f"{root}/circuits/{guess.circuit_id}/appliances/{guess.part_id}"
        else:
            href = "" if guess.part_id in zones else f"{root}/supply/{guess.part_id}"
            href += f"#f-{guess.field}" if href and guess.field else ""
        first.append(Guess(guess.name, guess.value, guess.unit, guess.where, guess.why, href))
    return Guesses(tuple(first), len(found) - len(first), run.scenario.name if run else "")
