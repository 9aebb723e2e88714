"""Every double-throw position held throughout, since a person may leave it in either."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import product

from server.domain.scenario import Scenario
from server.domain.site import Site
from server.domain.supply import ThrowPosition
from server.simulate.results import Run
from server.simulate.run import cached_run

_WORDS: dict[ThrowPosition, str] = {"normal": "NORMAL", "backed_up": "BACKED-UP"}
_MOST_SWITCHES = 3


@dataclass(frozen=True)
class PositionResult:
    """One set of held positions and the run it gives."""

    name: str
    positions: dict[str, ThrowPosition]
    run: Run


def either_position(site: Site, scenario: Scenario) -> tuple[PositionResult, ...]:
    """A run for each set of positions, none of the scenario's own moves made.

    Sites with more than three double-throws are tried all one way and all the other.
    """
    throws = site.double_throws
    if not throws:
        return ()
    sides: tuple[ThrowPosition, ThrowPosition] = ("normal", "backed_up")
    if len(throws) > _MOST_SWITCHES:
        choices = [(side,) * len(throws) for side in sides]
    else:
        choices = list(product(sides, repeat=len(throws)))
    still = scenario.model_copy(update={"switch_moves": ()})
    found = []
    for choice in choices:
        run = cached_run(_held(site, choice), still)
        name = ", ".join(
            f"{throw.name} on {_WORDS[side]}" for throw, side in zip(throws, choice, strict=True)
        )
        found.append(
            PositionResult(name, {t.id: side for t, side in zip(throws, choice, strict=True)}, run)
        )
    return tuple(found)


@lru_cache(maxsize=32)
def _held(site: Site, choice: tuple[ThrowPosition, ...]) -> Site:
    """The site with its double-throws resting so; kept, so that it is hashed once."""
    held = tuple(
        throw.model_copy(update={"resting": side})
        for throw, side in zip(site.double_throws, choice, strict=True)
    )
    return site.model_copy(update={"double_throws": held})
