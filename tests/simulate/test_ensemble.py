"""Many draws: the same whatever the order and the number of threads, and joined without loss."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.domain.behaviour import Cycle, DailyStart, RoomUnit, Stage, Tank, Timed, Zone
from server.domain.errors import InputError
from server.domain.scenario import Delivery, Scenario
from server.domain.site import Site
from server.domain.supply import FuelTank
from server.simulate.ensemble import Draws, run_draws
from server.simulate.run import simulate
from tests.builders import (
    START,
    appliance,
    backed_up_site,
    circuit,
    double_throw_site,
    generator,
    scenario,
    with_parts,
)

NIGHT = scenario("night", span_h=8, outage_h=(1, 7), step_s=60)


def lively_site() -> Site:
    """One load of each kind that chance has a say in, on both panels."""
    kettle = Timed(
        stages=(Stage(minutes=9, share=1),), starts=(DailyStart(hour=15, spread_min=90),)
    )
    loads = (
        ("fridge", 400, Cycle(on_min=14, off_min=22)),
        ("kettle", 1500, kettle),
        ("tank", 1500, Tank(gallons=40, draws_gal_by_hour=(3.0,) * 24)),
        ("heat", 900, RoomUnit(zone_id="house", mode="heat", cop=2.5, min_off_min=4)),
    )
    made = tuple(
        circuit(name, panel, space, appliances=(appliance(name, watts, behaviour=how),))
        for space, (name, watts, how) in enumerate(loads, start=8)
        for panel in ("backed",)
    )
    base = double_throw_site(solar=True)
    return with_parts(
        base,
        circuits=(*base.circuits, *made),
        zones=(Zone(id="house", name="House", loss_btuh_per_f=300),),
    )


SITE = lively_site()
WHOLE = run_draws(SITE, NIGHT, draws=range(24), threads=1)


def assert_same(one: Draws, two: Draws) -> None:
    for name in ("number", "peaks_a", "unserved_s", "gap_s", "dry_s", "starts"):
        assert np.array_equal(getattr(one, name), getattr(two, name)), name


@pytest.mark.parametrize("threads", [2, 3, 7])
def test_any_number_of_threads_gives_the_same_bits(threads: int) -> None:
    assert_same(run_draws(SITE, NIGHT, draws=range(24), threads=threads), WHOLE)


def test_draws_made_backwards_are_the_same() -> None:
    assert_same(run_draws(SITE, NIGHT, draws=range(23, -1, -1), threads=2), WHOLE)


@settings(max_examples=15, deadline=None)
@given(cuts=st.sets(st.integers(1, 23), max_size=4), data=st.data())
def test_parts_in_any_order_join_into_the_whole(cuts: set[int], data: st.DataObject) -> None:
    edges = [0, *sorted(cuts), 24]
    parts = [range(a, b) for a, b in pairwise(edges)]
    made = [run_draws(SITE, NIGHT, draws=p, threads=2) for p in data.draw(st.permutations(parts))]
    joined = made[0]
    for part in made[1:]:
        joined = joined.merge(part)
    assert_same(joined, WHOLE)


def test_a_draw_is_the_run_of_that_draw() -> None:
    for draw in (0, 7):
        run = simulate(SITE, NIGHT, draw=draw)
        for i, result in enumerate(run.limits):
            peaks = [leg.peak_a for leg in result.legs]
            assert WHOLE.peaks_a[draw, i, :2].tolist() == pytest.approx(peaks, rel=1e-6)
        for i, service in enumerate(run.service):
            assert WHOLE.unserved_s[draw, i] == pytest.approx(service.unserved_min * 60, rel=1e-5)
            assert WHOLE.gap_s[draw, i] == pytest.approx(service.longest_gap_min * 60)


def test_draws_differ_and_another_seed_gives_others() -> None:
    assert len(np.unique(WHOLE.peaks_a[:, :, 0].sum(axis=1))) >= 4
    assert len(np.unique(WHOLE.unserved_s.sum(axis=1))) >= 4
    other = run_draws(SITE, NIGHT, draws=range(24), seed=2)
    assert not np.array_equal(other.peaks_a, WHOLE.peaks_a)


def test_short_steps_give_peaks_of_whole_minutes() -> None:
    quick = scenario("quick", span_h=2, outage_h=(1, 2), step_s=10)
    found = run_draws(SITE, quick, draws=range(2))
    run = simulate(SITE, quick, draw=1)
    peaks = [[leg.peak_a for leg in r.legs] for r in run.limits]
    assert found.peaks_a[1, :, :2] == pytest.approx(np.array(peaks), rel=1e-6)


def test_a_draw_is_never_counted_twice_and_none_is_no_answer() -> None:
    with pytest.raises(InputError, match="twice"):
        WHOLE.merge(run_draws(SITE, NIGHT, draws=range(3, 4)))
    with pytest.raises(InputError, match="At least one"):
        run_draws(SITE, NIGHT, draws=range(0))


def test_a_fault_in_a_thread_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("no more")

    monkeypatch.setattr("server.simulate.ensemble.minute_peaks", broken)
    with pytest.raises(RuntimeError, match="no more"):
        run_draws(SITE, NIGHT, draws=range(8), threads=3)


def fuelled(capacity_gal: float, **day: object) -> tuple[Site, Scenario]:
    """A set of 10 kW that burns 1 gal/h and 0.1 gal/kWh, at 4.8 kW: 1.48 gal/h from noon on."""
    points = ({"load_kw": 0, "rate_per_h": 1.0}, {"load_kw": 10, "rate_per_h": 2.0})
    tank = FuelTank(capacity_gal=capacity_gal, fill_share=1.0)
    site = backed_up_site(
        generators=(generator(fuel_points=points, tank=tank, start_delay_s=0, cool_down_min=0),)
    )
    return site, scenario("dry", span_h=10, outage_h=(0, 10), **day)


def test_fuel_ends_when_it_is_burnt() -> None:
    site, day = fuelled(7.4)
    run = simulate(site, day)
    (used,) = (s for s in run.sources if s.kind == "generator")
    assert used.in_kwh == pytest.approx(4.8 * 5, rel=1e-3)
    found = run_draws(site, day, draws=range(1))
    # Six seconds of transfer at idle; then 7.4 gal at 1.48 gal/h is five hours.
    assert found.dry_s[0, 0] == pytest.approx(5 * 3600, abs=6)


def test_a_delivery_in_time_puts_it_off_and_a_full_tank_takes_no_more() -> None:
    at = START + timedelta(hours=4)
    site, day = fuelled(7.4, deliveries=(Delivery(at=at, gallons=100),))
    # At four hours the tank is filled to 7.4 gal and no further: dry at nine.
    assert run_draws(site, day, draws=range(1)).dry_s[0, 0] == pytest.approx(9 * 3600, abs=6)
    site, day = fuelled(7.4, deliveries=(Delivery(at=at, gallons=1.48),))
    assert run_draws(site, day, draws=range(1)).dry_s[0, 0] == pytest.approx(6 * 3600, abs=6)
    site, day = fuelled(20)
    assert run_draws(site, day, draws=range(1)).dry_s[0, 0] == np.inf
