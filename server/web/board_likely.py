"""Beside the board: the same hours drawn many times, which follows a change by itself."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from server.advise.odds_gas import with_gas
from server.simulate.background import State, background
from server.simulate.chance import draws_words, out_of
from server.simulate.odds import Odds
from server.simulate.odds_words import odds_sentence
from server.simulate.placing import placing_words
from server.simulate.results import Status
from server.store.cards import StoredSite
from server.web.board_look import Look, board_path
from server.web.odds_view import nearest_limit

DRAWS = 200


@dataclass(frozen=True)
class BoardLikely:
    """How far the draws of the board are, and what they say once they are made.

    ``address`` asks for them; ``more`` leads to everything they say, empty for moves that are only
    tried. ``before`` is what the draws said before the change, where that is known.
    """

    state: State | None
    made: int
    asked: int
    going_on: bool
    known: bool
    status: Status
    sentence: str
    before: str
    placing: str
    address: str
    cancel: str
    more: str

    @property
    def may_start(self) -> bool:
        """Whether a board that is opened starts them by itself; a person's stop is heeded."""
        return self.state in (None, "left")

    @property
    def said(self) -> str:
        """What a screen reader is told when the draws arrive."""
        return f"{draws_words(self.made)} made. {self.sentence}" if self.known else ""


def likely_of(look: Look, stored: StoredSite, query: Mapping[str, str]) -> BoardLikely | None:
    """What is known of many draws of what is looked at; None where nothing can be run."""
    if look.run is None or look.chosen is None:
        return None
    progress = background.look(look.site, look.chosen)
    made, before = (progress.odds if progress else None), look.odds_before
    odds = with_gas(made, look.run) if made else None
    root = f"/sites/{stored.id}/scenarios/{look.chosen.id}"
    return BoardLikely(
        state=progress.state if progress else None,
        made=progress.made if progress else 0,
        asked=progress.asked if progress else DRAWS,
        going_on=bool(progress and progress.going_on),
        known=odds is not None,
        status="over" if odds and odds.fails else "within",
        sentence=odds_sentence(odds) if odds else "",
        before=f"Before the change: {out_of(before.any_over)}." if odds and before else "",
        placing=_placing(odds) if odds else "",
        address=board_path(stored, query, part="/likely"),
        cancel=board_path(stored, query, part="/likely/cancel"),
        more="" if look.trying else f"{root}#odds",
    )


def _placing(odds: Odds) -> str:
    nearest = nearest_limit(odds)
    if nearest is None or nearest.placing is None:
        return ""
    return placing_words(nearest.placing, nearest.point.name)
