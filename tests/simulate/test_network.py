"""Who feeds whom, and on which leg."""

from __future__ import annotations

import numpy as np
import pytest

from server.simulate.limits import limit_points
from server.simulate.network import Network, SwitchState, site_loads
from tests.builders import (
    appliance,
    backed_up_site,
    circuit,
    double_throw_site,
    feeder,
    handle_set_site,
    normal_only_site,
    panel,
    set_120_only_site,
    two_services_site,
    with_parts,
)


def network_of(site):  # type: ignore[no-untyped-def]
    return Network(site, limit_points(site, outdoor_high_f=70))


def state(*live: str, on=(), moving=(), thrown=()) -> SwitchState:  # type: ignore[no-untyped-def]
    return SwitchState(frozenset(live), frozenset(on), frozenset(moving), frozenset(thrown))


class TestPaths:
    def test_a_panel_hangs_from_the_grid_through_an_unmoved_switch(self) -> None:
        path = network_of(backed_up_site()).path("backed", state("grid", "set"))
        assert path.source_id == "grid"
        assert list(path.flipped) == [
            "backed", "ats-backed", "ats", "main-ats-utility", "main", "grid-main", "grid"
        ]  # fmt: skip

    def test_a_thrown_switch_leads_to_the_set(self) -> None:
        path = network_of(backed_up_site()).path("backed", state("set", on=["ats"]))
        assert path.source_id == "set"
        assert "main" not in path.flipped

    @pytest.mark.parametrize(
        "dead",
        [
            state("set"),
            state("grid", on=["ats"]),
            state("grid", "set", moving=["ats"]),
        ],
    )
    def test_no_source_or_a_switch_in_motion_is_dead(self, dead: SwitchState) -> None:
        assert network_of(backed_up_site()).path("backed", dead).source_id is None

    def test_a_throw_in_motion_leaves_its_upstream_alone(self) -> None:
        net = network_of(double_throw_site())
        moving = state("grid", moving=["throw"])
        assert net.path("swing", moving).source_id is None
        assert net.path("backed", moving).source_id == "grid"

    def test_a_throw_on_backed_up_follows_that_bus(self) -> None:
        net = network_of(double_throw_site())
        assert net.path("swing", state("set", on=["ats"], thrown=["throw"])).source_id == "set"
        assert net.path("swing", state("set", on=["ats"])).source_id is None

    def test_each_house_has_its_own_service_and_they_share_a_set(self) -> None:
        net = network_of(two_services_site())
        up = state("east", "west")
        assert [net.path(p, up).source_id for p in ("p-east", "p-west")] == ["east", "west"]
        both = state("set", on=["ats-east", "ats-west"])
        assert {net.path(p, both).source_id for p in ("p-east", "p-west")} == {"set"}


class TestLegs:
    def crossed(self, *swaps: bool):  # type: ignore[no-untyped-def]
        names = [f"p{i}" for i in range(len(swaps))]
        feeders = [
            feeder(above, name, breaker_a=100, swap_legs=swap)
            for above, name, swap in zip(["grid", *names], names, swaps, strict=False)
        ]
        return normal_only_site(
            panels=tuple(panel(n) for n in names),
            feeders=tuple(feeders),
            circuits=(circuit("a", names[-1], 1, load_w=1200),),
        )

    @pytest.mark.parametrize(
        ("swaps", "leg"),
        [((False,), 0), ((True,), 1), ((True, True), 0), ((False, True, False), 1)],
    )
    def test_crossed_feeders_move_a_load_to_the_other_leg(self, swaps, leg: int) -> None:  # type: ignore[no-untyped-def]
        arrays = network_of(self.crossed(*swaps)).arrays(state("grid"))
        amps = np.abs(arrays.per_watt[:, 0]) * 1200
        assert amps[leg] == pytest.approx(10.0)
        assert amps[1 - leg] == 0.0

    def test_a_handles_leg_rules_while_the_set_feeds_it(self) -> None:
        net = network_of(handle_set_site())  # b sits on L2 of the panel, its handle on L1
        j = next(i for i, x in enumerate(net.loads) if x.circuit_id == "b")
        on_grid = net.arrays(state("grid"))
        on_set = net.arrays(state("set", on=["handles"]))
        assert np.abs(on_grid.per_watt[:, j]) * 120 == pytest.approx([0, 1])
        assert np.abs(on_set.per_watt[:, j]) * 120 == pytest.approx([1, 0])

    def test_a_handled_circuit_leaves_its_panel_while_the_set_feeds_it(self) -> None:
        net = network_of(handle_set_site())
        bus = next(i for i, p in enumerate(net.points) if p.id == "panel_bus:main")
        for on, seen in (((), True), (("handles",), False)):
            arrays = net.arrays(state("grid", "set", on=on))
            assert (0 in arrays.seen_by(bus)[0]) == seen

    def test_a_pole_of_a_range_carries_its_120_volt_part(self) -> None:
        oven = appliance("oven", 5000, volts=240, part_120_w=500, on_pole=2)
        site = normal_only_site(circuits=(circuit("r", "main", 1, 3, appliances=(oven,)),))
        arrays = network_of(site).arrays(state("grid"))
        amps = np.abs(arrays.per_watt[:, 0]) * 5000
        assert amps == pytest.approx([4500 / 240, 4500 / 240 + 500 / 120])
        assert abs(arrays.per_watt[:, 0].sum()) * 5000 == pytest.approx(500 / 120)

    def test_a_range_on_one_hot_is_dead_as_a_whole(self) -> None:
        arrays = network_of(set_120_only_site()).arrays(state("set", on=["lock"]))
        assert arrays.available[:2] == pytest.approx([1, 1])
        assert arrays.available[2] == 0.0


def test_states_are_worked_out_once() -> None:
    net = network_of(backed_up_site())
    assert net.arrays(state("grid")) is net.arrays(state("grid"))


def test_a_point_sees_the_loads_below_it_and_a_breaker_its_own_alone() -> None:
    net = network_of(double_throw_site(solar=True))
    for now in (state("grid"), state("set", on=["ats"], thrown=["throw"])):
        arrays = net.arrays(now)
        for index, point in enumerate(net.points):
            expected = {}
            for j, load in enumerate(net.loads):
                path = net.path(load.panel_id, now)
                gross = load.sign < 0 and load.panel_id == point.element_id
                if path.source_id is None:
                    continue
                if point.element_id in {load.circuit_id, load.id}:
                    expected[j] = int(path.parity)
                elif point.element_id in path.flipped and (point.counts == "net" or not gross):
                    expected[j] = int(path.flipped[point.element_id])
            loads, swap = arrays.seen_by(index)
            assert dict(zip(loads.tolist(), swap.tolist(), strict=True)) == expected


def test_solar_is_left_out_of_the_gross_amps_of_its_own_panel_only() -> None:
    net = network_of(double_throw_site(solar=True))
    arrays = net.arrays(state("grid"))
    j = len(net.loads) - 1
    seen = {p.id for i, p in enumerate(net.points) if j in arrays.seen_by(i)[0]}
    assert "panel_bus:main" not in seen
    assert {"panel_main:main", "service_main:grid", "solar_breaker:sun"} <= seen


def test_loads_come_in_circuit_order_then_arrays() -> None:
    site = double_throw_site(solar=True)
    names = [load.id for load in site_loads(site)]
    assert names == [*(a.id for c in site.circuits for a in c.appliances), "sun"]


def test_nothing_is_computed_for_a_site_without_loads() -> None:
    site = with_parts(backed_up_site(), circuits=())
    arrays = network_of(site).arrays(state("grid"))
    assert arrays.group.tolist() == arrays.seen_by(0)[0].tolist() == []
    assert arrays.bus_source.tolist() == [0, 0]
