"""Plays one draw to its end, with the sets stopping where their fuel ends.

What a set burns follows from the march, and the march from which set runs. Until the fuel first
ends nothing depends on it, so a draw is marched as if it never did, stopped there until fuel comes,
and marched again; what went before comes out the same.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from server.simulate.prepared import Marched, Prepared, Room
from server.simulate.timeline import Interval

_MOST_TIMES = 60


@dataclass(frozen=True)
class Played:
    """One draw. ``ready`` has the stops that fuel made in its timeline.

    ``dry_s`` is when the fuel of each set first ends, infinite where it never does [s];
    ``needed`` what each would burn if it never ended, None without a tank that can run dry [gal];
    ``poured`` what of the deliveries found room in its tank [gal]; ``dry_between_s`` when the fuel
    of a set whose burn is a guess ends by the high and by the low one, None where it is none [s];
    ``least`` the least there was in each tank [gal]; ``ends_s`` every end of the fuel of each [s];
    ``lacking`` the most by which what comes in time falls short of what it needs [gal].
    """

    ready: Prepared
    marched: Marched
    dry_s: tuple[float, ...]
    needed: tuple[float | None, ...]
    poured: tuple[float, ...]
    dry_between_s: tuple[tuple[float, float] | None, ...]
    least: tuple[float, ...]
    ends_s: tuple[tuple[float, ...], ...] = ()
    lacking: tuple[float, ...] = ()


def _same(known: Interval, at_s: float, step_s: float) -> bool:
    """Whether an end is a known one again: its step, cut there, burns a trifle more or less."""
    return known[0] - step_s <= at_s <= known[0] + 1e-6


def play(ready: Prepared, seed: int, draw: int, room: Room | None = None) -> Played:
    """March one draw, with every set stopped from where its fuel ends until more comes."""
    ready = ready.begun(seed, draw)
    marched = ready.march(seed, draw, room)
    count, services = len(ready.site.generators), len(ready.site.services)
    first_s = [np.inf] * count
    needed = tuple(
        None if stock is None else stock.burnt(ready.supply.cells, marched.source_w[services + g])
        for g, stock in enumerate(ready.stocks)
    )
    between = tuple(
        None
        if stock is None or not stock.curve.guess
        else stock.dry_between_s(ready.supply.cells, marched.source_w[services + g])
        for g, stock in enumerate(ready.stocks)
    )
    lacking = [0.0] * count
    empty: dict[str, tuple[Interval, ...]] = {}
    step_s = float(ready.scenario.step_s)
    for _ in range(_MOST_TIMES):
        ends = [
            np.inf if stock is None else stock.dry_at_s(ready.supply.cells, watts)
            for stock, watts in zip(ready.stocks, marched.source_w[services:], strict=True)
        ]
        if not ends or min(ends) == np.inf:
            break
        g = int(np.argmin(ends))
        stock, at_s = ready.stocks[g], float(ends[g])
        assert stock is not None  # noqa: S101 - only a stock ends
        first_s[g] = min(first_s[g], at_s)
        if not empty:
            lacking = [
                0.0 if one is None else one.lacking(ready.supply.cells, watts)
                for one, watts in zip(ready.stocks, marched.source_w[services:], strict=True)
            ]
        generator_id = ready.site.generators[g].id
        more_s = stock.next_delivery_s(at_s)
        known = tuple(one for one in empty.get(generator_id, ()) if not _same(one, at_s, step_s))
        empty[generator_id] = (*known, (at_s, more_s))
        ready = ready.without_fuel(empty)
        marched = ready.march(seed, draw)
    filled = tuple(
        (0.0, 0.0) if stock is None else stock.poured_and_least(ready.supply.cells, watts)
        for stock, watts in zip(ready.stocks, marched.source_w[services:], strict=True)
    )
    poured, least = (tuple(one[k] for one in filled) for k in (0, 1))
    least = tuple(0.0 if at_s < np.inf else gal for at_s, gal in zip(first_s, least, strict=True))
    ends_s = tuple(tuple(a for a, _ in empty.get(g.id, ())) for g in ready.site.generators)
    return Played(
        ready, marched, tuple(first_s), needed, poured, between, least, ends_s, tuple(lacking)
    )
