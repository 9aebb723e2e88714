"""A typed wait longer than the pit takes to fill is a hazard."""

from __future__ import annotations

import pytest

from server.domain.behaviour import SumpPump
from server.domain.site import Site
from server.rules.hazards import hazards
from tests.builders import appliance, backed_up_site, circuit, with_parts


def waiting(minutes: float | None, *, reserve_gal: float = 10.0, inflow_gpm: float = 0.3) -> Site:
    pit = SumpPump(inflow_gpm=inflow_gpm, pump_gpm=35.0, cycle_gal=8.0, reserve_gal=reserve_gal)
    pump = appliance("pump", 800, kind="sump-pump", name="Sump pump", behaviour=pit)
    own = circuit(
        "pit",
        "backed",
        9,
        appliances=(pump,),
        load_class="must_serve",
        allowed_gap_min=minutes,
    )
    base = backed_up_site()
    return with_parts(base, circuits=(*base.circuits, own))


def codes(site: Site) -> list[str]:
    return [f.code for f in hazards(site)]


def test_a_wait_past_the_reserve_over_the_inflow_is_told_with_both() -> None:
    """10 gal at 0.3 gal/min last 33 min 20 s from the float."""
    (finding,) = [f for f in hazards(waiting(90)) if f.code == "wait-past-pit"]
    assert finding.element_id == "pit"
    assert finding.severity == "warning"
    assert "can wait 1 h 30 min as entered" in finding.text
    assert "takes 33 min to fill: 10 gal at 0.3 gal/min." in finding.text
    assert finding.mend.startswith("Enter 33 min or less")


@pytest.mark.parametrize("minutes", [None, 2.0, 33.0])
def test_a_wait_that_the_pit_bears_is_none(minutes: float | None) -> None:
    assert "wait-past-pit" not in codes(waiting(minutes))


def test_a_larger_or_a_dry_pit_bears_more() -> None:
    assert "wait-past-pit" not in codes(waiting(90, reserve_gal=40.0))
    assert "wait-past-pit" not in codes(waiting(90, inflow_gpm=0.0))
