"""Every double-throw position held throughout."""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.domain.scenario import SwitchMove
from server.domain.supply import DoubleThrow
from server.simulate.positions import either_position
from tests.builders import (
    START,
    backed_up_site,
    circuit,
    double_throw_site,
    feeder,
    panel,
    scenario,
    with_parts,
)


def many_throws(count: int):  # type: ignore[no-untyped-def]
    base = backed_up_site()
    throws, panels, feeders, circuits = [], [], [], []
    for i in range(count):
        throws.append(DoubleThrow(id=f"t{i}", name=f"Throw {i}", rating_a=60))
        panels.append(panel(f"s{i}"))
        feeders += [
            feeder("main", f"t{i}", "normal"),
            feeder("backed", f"t{i}", "backed_up"),
            feeder(f"t{i}", f"s{i}"),
        ]
        circuits.append(circuit(f"s{i}-load", f"s{i}", 1, load_w=600))
    return with_parts(
        base,
        double_throws=tuple(throws),
        panels=(*base.panels, *panels),
        feeders=(*base.feeders, *feeders),
        circuits=(*base.circuits, *circuits),
    )


def test_a_site_without_throws_has_none() -> None:
    assert either_position(backed_up_site(), scenario()) == ()


def test_both_positions_are_held_whatever_the_scenario_moves() -> None:
    moves = (SwitchMove(switch_id="throw", at=START + timedelta(hours=3), position="backed_up"),)
    day = scenario(outage_h=(2, 5), switch_moves=moves)
    normal, backed = either_position(double_throw_site(), day)
    assert normal.name == "Double-throw on NORMAL"
    assert backed.name == "Double-throw on BACKED-UP"
    assert normal.positions == {"throw": "normal"}
    set_a = [r.run.limit("generator:set").worst.peak_a for r in (normal, backed)]
    # 25 A on L2 alone; with the switchable panel 43.75 A there
    assert set_a == pytest.approx([25.0, 43.75], abs=1e-3)


def test_the_switchable_load_counts_once_at_the_service_in_either_position() -> None:
    amps = [
        [leg.peak_a for leg in r.run.limit("service_main:grid").legs]
        for r in either_position(double_throw_site(), scenario())
    ]
    assert amps[0] == pytest.approx(amps[1], abs=1e-3)


@pytest.mark.parametrize(("throws", "runs"), [(1, 2), (2, 4), (3, 8), (4, 2)])
def test_all_sets_of_positions_up_to_three_switches(throws: int, runs: int) -> None:
    found = either_position(many_throws(throws), scenario(span_h=1))
    assert len(found) == runs
    assert len({r.name for r in found}) == runs


def test_the_site_itself_is_left_as_it_was() -> None:
    site = double_throw_site(resting="backed_up")
    kept = site.model_dump_json()
    found = either_position(site, scenario(span_h=1))
    assert site.model_dump_json() == kept
    assert {r.run.site.double_throws[0].resting for r in found} == {"normal", "backed_up"}
    assert len({hash(r.run.site) for r in found}) == 2
