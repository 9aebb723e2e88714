"""One-appliance houses for the tests of behaviours."""

from __future__ import annotations

from typing import Any

import numpy as np

from server.domain.behaviour import Behaviour, Zone
from server.domain.site import Site
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import appliance, circuit, normal_only_site, scenario


def one_load_site(behaviour: Behaviour, *, load_w: float = 1000, **changes: Any) -> Site:
    """One appliance of this behaviour on a grid-fed panel."""
    load = appliance("load", load_w, behaviour=behaviour, **changes)
    zones = (Zone(id="house", name="House", loss_btuh_per_f=400),)
    return normal_only_site(circuits=(circuit("c", "main", 1, appliances=(load,)),), zones=zones)


def run_of(behaviour: Behaviour, *, load_w: float = 1000, span_h: float = 24, **day: Any) -> Run:
    """A run of that house. Anything else goes to the scenario."""
    return simulate(one_load_site(behaviour, load_w=load_w), scenario(span_h=span_h, **day))


def taken_w(run: Run) -> np.ndarray:
    """Watts of the one circuit, step by step."""
    return run.circuit_w[0].astype(float)


def asked_w(run: Run) -> np.ndarray:
    """Watts the one circuit asked for, step by step."""
    return run.wanted_w[0].astype(float)


def kwh(run: Run) -> float:
    """Energy the one circuit took."""
    return float(taken_w(run).sum()) * run.scenario.step_s / 3.6e6
