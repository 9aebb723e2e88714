"""What a request to the board looks at: the site as saved or tried, and how it ran before."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urlencode

from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.background import kept_odds
from server.simulate.odds import Odds
from server.simulate.results import Run
from server.simulate.run import cached_run
from server.store.cards import StoredSite
from server.web.board import Board, board
from server.web.board_edits import site_before
from server.web.board_try import Tried, tried
from server.web.scenario_choice import chosen_scenario


@dataclass(frozen=True)
class Look:
    """A site with every tried move made, its run, and the site before the change last made.

    ``before`` also names the circuit that was changed; ``odds`` and ``odds_before`` are of draws
    that were made already.
    """

    site: Site
    chosen: Scenario | None
    trying: Tried | None
    run: Run | None
    before: tuple[Site, str] | None

    @property
    def odds(self) -> Odds | None:
        """Of the draws of the site looked at."""
        return kept_odds(self.site, self.chosen) if self.chosen else None

    @property
    def odds_before(self) -> Odds | None:
        """Of the draws of the site before the change."""
        return kept_odds(self.before[0], self.chosen) if self.before and self.chosen else None


def look_at(stored: StoredSite, query: Mapping[str, str], *, came_from: Site | None = None) -> Look:
    """What an address of the board tells of.

    ``came_from`` is the site before the change that ``query`` tells of, where it is at hand.
    """
    trying = tried(stored.site, query.get("try", ""))
    site = trying.site if trying else stored.site
    chosen = chosen_scenario(site, query.get("scenario", ""))
    ready = chosen is not None and bool(site.panels)
    before = (came_from, query.get("moved", "")) if came_from else site_before(site, query)
    if trying:
        last = trying.circuit_ids[-1] if trying.circuit_ids else ""
        before = (stored.site, last) if trying.moves else None
    return Look(
        site=site,
        chosen=chosen,
        trying=trying,
        run=cached_run(site, chosen) if ready and chosen else None,
        before=before,
    )


def board_of(look: Look) -> Board:
    """The board of what is looked at, against how it ran before the change."""
    before = None
    if look.run and look.before and look.chosen:
        before = cached_run(look.before[0], look.chosen)
    return board(
        look.site,
        look.run,
        before,
        look.before[1] if look.before else "",
        moved_ids=look.trying.circuit_ids if look.trying else (),
        odds=look.odds,
    )


def board_path(stored: StoredSite, query: Mapping[str, str], *, part: str = "") -> str:
    """The address of the board or a part of it, with the scenario and what was changed last."""
    kept = {k: v for k, v in query.items() if v}
    return f"/sites/{stored.id}/buses{part}" + (f"?{urlencode(kept)}" if kept else "")
