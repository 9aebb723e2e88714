"""The guesses of a site as the overview lists them, each with the page that mends it."""

from __future__ import annotations

from dataclasses import dataclass

from server.advise.confirm import to_confirm
from server.domain.site import Site


@dataclass(frozen=True)
class Guess:
    """One guess. ``href`` is where it is mended, empty where no page does."""

    name: str
    value: float
    unit: str
    where: str
    href: str


def guesses(site_id: str, site: Site) -> tuple[Guess, ...]:
    """What to confirm, the first first."""
    root = f"/sites/{site_id}"
    zones = {zone.id for zone in site.zones}
    found = []
    for guess in to_confirm(site):
        if guess.circuit_id is not None:
            href = f"{root}/circuits/{guess.circuit_id}/appliances/{guess.part_id}"
        else:
            href = "" if guess.part_id in zones else f"{root}/supply/{guess.part_id}"
        found.append(Guess(guess.name, guess.value, guess.unit, guess.where, href))
    return tuple(found)
