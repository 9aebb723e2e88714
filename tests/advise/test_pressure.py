"""What keeps cold and is asked to start against its own pressure, power being back soon."""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.advise.pressure import against_pressure
from server.domain.behaviour import ColdBox
from server.domain.scenario import Window
from server.domain.site import Site
from server.simulate.run import simulate
from tests.builders import (
    START,
    appliance,
    backed_up_site,
    circuit,
    generator,
    scenario,
    with_parts,
)


def house(*, start: str = "automatic") -> Site:
    """Two that run all the time, too weak for the heat they take in, one with a delay of 4 min."""
    weak = {"volts": 120, "load_type": "motor", "behaviour": ColdBox(loss_btuh_per_f=50.0, cop=0.3)}
    return with_parts(
        backed_up_site(),
        generators=(generator(start=start),),
        circuits=tuple(
            circuit(n, "backed", i, appliances=(appliance(n, 150, restart_delay_s=d, **weak),))
            for i, (n, d) in enumerate((("fridge", 0.0), ("waits", 240.0)), start=1)
        ),
    )


def out(seconds: float) -> Window:
    return Window(start=START + timedelta(hours=2), end=START + timedelta(hours=2, seconds=seconds))


@pytest.mark.parametrize(
    ("start", "out_s", "told"),
    [
        ("automatic", 3600.0, True),  # on the set after 16 s
        ("by_hand", 30.0, True),  # the utility itself is back after 30 s
        ("by_hand", 170.0, True),
        ("by_hand", 190.0, False),
    ],
)
def test_only_what_is_back_within_three_minutes_is_named(
    start: str, out_s: float, *, told: bool
) -> None:
    run = simulate(house(start=start), scenario(outages=(out(out_s),)))
    assert against_pressure(run) == (("fridge",) if told else ())


def test_a_set_started_by_hand_gives_after_the_pressure_has_gone() -> None:
    """15 min dark; then back on the utility with no gap but the throw of a second."""
    run = simulate(house(start="by_hand"), scenario(span_h=3, outages=(out(7200.0),)))
    assert not against_pressure(run)
