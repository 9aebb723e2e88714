"""How much of the heat of lamps and appliances in the rooms is left while some of them are dark."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from server.domain.appliance import Appliance
from server.domain.behaviour import Backed, ColdBox, Constant, Cycle, Hourly, Lighting, Timed
from server.domain.site import Site
from server.simulate.supply import Supply

Floats = NDArray[np.float64]


def usual_w(appliance: Appliance) -> float:
    """Mean watts of a usual day that end as heat in the rooms. [W]

    Nothing of what heats or cools the rooms itself, warms water, pumps or charges a car; lamps as
    on a day of twelve hours. Our own choice.

    >>> usual_w(Appliance(id="lamp", name="Lamp", load_w=60, behaviour=Constant(share=0.5)))
    30.0
    """
    one = appliance.behaviour
    if isinstance(one, Constant | Backed):
        share = one.share
    elif isinstance(one, Hourly):
        share = sum(one.shares) / 24.0
    elif isinstance(one, Lighting):
        share = one.up_h / 24.0 * (one.dark_share + one.day_share) / 2.0
    elif isinstance(one, Cycle):
        share = one.on_min / (one.on_min + one.off_min)
    elif isinstance(one, ColdBox):
        share = min(1.0, one.duty(appliance.load_w))
    elif isinstance(one, Timed):
        on_min = 0.0
        for stage in one.stages:
            turn_s = stage.cycle_on_s + stage.cycle_off_s
            turns = stage.cycle_on_s > 0.0 and stage.cycle_off_s > 0.0
            on_min += stage.minutes * stage.share * (stage.cycle_on_s / turn_s if turns else 1.0)
        share = on_min / 1440.0 * sum(start.chance for start in one.starts)
    else:
        share = 0.0
    return appliance.load_w * share


def powered_share(site: Site, supply: Supply) -> Floats:
    """Share of the usual watts of lamps and appliances that has power, (segments,).

    One where none is entered: what gives the heat is not known then.
    """
    watts = np.array([usual_w(a) for c in site.circuits for a in c.appliances])
    total_w = float(watts.sum())
    if total_w <= 0.0:
        return np.ones(len(supply.segment_s))
    shares: Floats = np.minimum(supply.available[:, : len(watts)], 1.0) @ watts / total_w
    return shares
