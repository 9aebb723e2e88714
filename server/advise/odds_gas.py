"""What the draws of a scenario leave out of what they try: gas, and whether motors start."""

from __future__ import annotations

from dataclasses import replace

from server.advise.advice import advice_on
from server.simulate.odds import Odds
from server.simulate.results import Run


def with_gas(odds: Odds, run: Run) -> Odds:
    """Odds that know the gas that is surely short in a run of the same scenario, and its ifs.

    Also what outages before it left. One draw is judged, not each: what a set burns at most hardly
    moves between draws beside the share by which gas must be short to be surely so.
    """
    advice = advice_on(run)
    left = () if run.before is None else run.before.left
    return replace(odds, short=advice.short, provided=advice.granted, left=left)
