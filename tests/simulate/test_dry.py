"""A set stops where its fuel ends, and starts again when more comes. Figures worked by hand.

The set burns 1 gal/h and 0.1 gal/kWh and feeds 4.8 kW: 1.48 gal/h once the switch has moved.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

import numpy as np
import pytest

from server.advise.fuel_words import short_gal
from server.domain.scenario import Delivery, Scenario, Window
from server.domain.site import Site
from server.domain.supply import FuelPoint, FuelTank
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.simulate.burn import tank_lasts
from server.simulate.ensemble import run_draws
from server.simulate.harms import harms
from server.simulate.levels import levels
from server.simulate.must_serve import must_serve
from server.simulate.results import Run
from server.simulate.run import simulate
from server.simulate.templates import TEMPLATES
from tests.builders import START, backed_up_site, generator, scenario, with_parts

POINTS = (FuelPoint(load_kw=0, rate_per_h=1.0), FuelPoint(load_kw=10, rate_per_h=2.0))


def house(gallons: float, **changes: Any) -> Site:
    tank = FuelTank(capacity_gal=gallons, fill_share=1.0)
    plain = {"start_delay_s": 30, "cool_down_min": 0}
    made = generator(fuel_points=POINTS, tank=tank, **(plain | changes))
    return backed_up_site(generators=(made,))


def day(**changes: Any) -> Scenario:
    return scenario("dry", span_h=10, outage_h=(0, 10), **changes)


def at(hours: float) -> datetime:
    return START + timedelta(hours=hours)


def ended(run: Run) -> datetime:
    (need,) = run.fuel
    assert need.dry_at is not None
    return need.dry_at


def live_h(run: Run, bus_name: str = "Backed-up") -> float:
    row = next(i for i, bus in enumerate(run.buses) if bus.name == bus_name)
    return float(run.bus_live[row].sum()) * run.scenario.step_s / 3600


def test_the_set_stops_its_bus_goes_dead_and_its_circuits_go_without() -> None:
    run = simulate(house(7.4), day())
    # 30 s to start, 6 s to transfer at idle, then 7.4 gal at 1.48 gal/h: five hours.
    assert abs((ended(run) - at(5 + 30 / 3600)).total_seconds()) < 10
    assert live_h(run) == pytest.approx(5, abs=0.01)
    (set_,) = (s for s in run.sources if s.kind == "generator")
    assert set_.run_h == pytest.approx(5, abs=0.01)
    assert set_.in_kwh == pytest.approx(4.8 * 5, rel=0.002)
    assert set_.fuel_used is not None
    assert set_.fuel_used.value == pytest.approx(7.4, abs=0.01)
    service = {s.circuit_id: s for s in run.service}
    assert service["b"].unserved_min == pytest.approx(300, abs=1)
    assert [e.text for e in run.events if "fuel" in e.text] == ["Generator set runs out of fuel"]
    assert run.balance.electric_in_kwh == pytest.approx(run.balance.electric_used_kwh, rel=1e-4)


def test_the_verdict_says_when_and_how_much_would_be_needed() -> None:
    run = simulate(house(7.4), day())
    (need,) = run.fuel
    # Ten hours less 36 s of start and transfer: 9.99 h x 1.48 gal/h.
    assert need.used_gal == pytest.approx(9.99 * 1.48, abs=0.02)
    assert not run.verdict.fits
    assert run.verdict.sentence == (
        "Does not hold. Generator set runs out of fuel 5.0 h into the outage, Thu 26 Nov 17:00, "
        "and stops: it needs about 15 gal in this scenario; 7.4 gal are there."
    )


@pytest.mark.parametrize("gallons", [7.0, 7.1, 7.2, 7.3, 7.4])
def test_the_end_of_fuel_is_the_cause_of_the_dark_after_it(gallons: float) -> None:
    site = house(gallons)
    fed = next(c for c in site.circuits if c.panel_id == "backed")
    first = fed.model_copy(update={"load_class": "must_serve"})
    others = tuple(c for c in site.circuits if c.id != fed.id)
    (dark,) = must_serve(simulate(with_parts(site, circuits=(first, *others)), day())).dark
    assert dark.why == "Generator set runs out of fuel"


def test_fuel_that_ends_while_a_set_only_cools_down_fails_nothing() -> None:
    """Idle for 15 min at 1 gal/h, 0.25 gal: short of that nothing is dark, short of more it is."""
    hours = scenario("dry", span_h=10, outage_h=(0, 4))
    (full,) = simulate(house(50.0, cool_down_min=15.0), hours).fuel
    run = simulate(house(full.used_gal - 0.2, cool_down_min=15.0), hours)
    assert run.verdict.fits
    assert run.fuel[0].dry_at is None
    assert not any("runs out of fuel" in e.text for e in run.events)
    short = simulate(house(full.used_gal - 0.3, cool_down_min=15.0), hours)
    assert short.fuel[0].dry_at is not None


def test_a_delivery_starts_it_again_after_its_start_delay() -> None:
    came = Delivery(at=at(7), gallons=2.96)
    run = simulate(house(7.4), day(deliveries=(came,)))
    texts = [(e.at, e.text) for e in run.events]
    assert (at(7) + timedelta(seconds=30), "Generator set starts again") in texts
    # Dead from 5 h to 7 h and its start; then 2.96 gal last another two hours.
    assert live_h(run) == pytest.approx(7, abs=0.02)
    assert [e.text for e in run.events].count("Generator set runs out of fuel") == 2
    (set_,) = (s for s in run.sources if s.kind == "generator")
    assert set_.starts == 2
    first, again = (h for h in harms(run) if h.kind == "fuel")
    assert (first.what, again.what) == (
        "Generator set out of fuel",
        "Generator set out of fuel again",
    )
    (need,) = run.fuel
    (dry_again,) = need.again_at
    assert abs((first.at - ended(run)).total_seconds()) < 1
    assert abs((again.at - dry_again).total_seconds()) < 1
    assert "runs out of fuel 2 times, first 5.0 h into the outage" in run.verdict.sentence
    # 2.96 gal at 1.48 gal/h from 7 h on, its start included.
    assert abs((again.at - at(9)).total_seconds()) < 31


def test_enough_fuel_changes_nothing() -> None:
    plenty, none = (
        simulate(house(100), day()),
        simulate(backed_up_site(generators=(generator(start_delay_s=30, cool_down_min=0),)), day()),
    )
    assert np.array_equal(plenty.amps, none.amps)
    assert plenty.fuel[0].dry_at is None
    assert plenty.verdict.fits


def test_an_empty_tank_never_starts() -> None:
    run = simulate(house(50), day(fuel_at_start_share=0.0))
    assert live_h(run) == pytest.approx(0, abs=0.02)
    assert ended(run) - at(0) < timedelta(minutes=1)


def test_what_goes_before_is_as_if_the_fuel_never_ended() -> None:
    short, long = simulate(house(7.4), day()), simulate(house(100), day())
    assert np.array_equal(short.amps[:, :, :299], long.amps[:, :, :299])


def test_one_end_is_told_once_though_its_step_burns_a_trifle_more_when_cut_there() -> None:
    site = read_site_file((DEMOS / "bungalow.json").read_bytes())
    gale = next(t for t in TEMPLATES if t.id == "three-night-gale")
    run = simulate(site, gale.build(site, start=date(2026, 11, 26)))
    assert [need.again_at for need in run.fuel] == [()]
    assert sum(harm.kind == "fuel" for harm in harms(run)) == 1


def test_a_set_stopped_for_service_that_finds_no_fuel_names_both_causes() -> None:
    """7.388 gal last to a second past 5 h; stopped then, what is left is gone as it starts."""
    site = house(7.388)
    fed = next(c for c in site.circuits if c.panel_id == "backed")
    first = fed.model_copy(update={"load_class": "must_serve"})
    others = tuple(c for c in site.circuits if c.id != fed.id)
    stop = Window(start=at(5), end=at(6))
    scene = day(generator_stops=(stop,))
    (dark,) = must_serve(simulate(with_parts(site, circuits=(first, *others)), scene)).dark
    assert dark.why == "Generator set is stopped for service, then runs out of fuel"


def test_a_service_stop_spares_fuel() -> None:
    stop = Window(start=at(2), end=at(3))
    run = simulate(house(7.4), day(generator_stops=(stop,)))
    assert abs((ended(run) - at(6)).total_seconds()) < 120


def test_the_utility_back_before_the_end_and_its_cool_down_count() -> None:
    run = simulate(house(7.4), scenario("short", span_h=10, outage_h=(0, 4)))
    assert run.fuel[0].dry_at is None
    assert run.verdict.fits


@pytest.mark.parametrize("fuel", ["natural_gas"])
def test_gas_from_a_pipe_does_not_end(fuel: str) -> None:
    run = simulate(house(1, fuel=fuel), day())
    assert run.fuel == ()
    assert run.verdict.fits


def test_draws_stop_too_and_tell_the_gap() -> None:
    site = house(7.4)
    alarm = site.circuits[1].model_copy(update={"load_class": "must_serve"})
    site = with_parts(site, circuits=(site.circuits[0], alarm, *site.circuits[2:]))
    found = run_draws(site, day(), draws=range(2), threads=2)
    assert found.dry_s[:, 0] == pytest.approx([5 * 3600 + 36, 5 * 3600 + 36], abs=10)
    assert found.gap_s[0, 1] == pytest.approx(5 * 3600, abs=60)
    run = simulate(site, day(), draw=1)
    assert found.unserved_s[1, 1] == pytest.approx(run.service[1].unserved_min * 60, rel=1e-5)


class TestOtherAppliancesOnTheTank:
    def with_others(self, gallons: float, gal_per_h: float) -> Site:
        site = house(gallons, fuel="propane")
        made = site.generators[0]
        assert made.tank is not None
        tank = made.tank.model_copy(update={"other_btu_h": gal_per_h * 91_333})
        return with_parts(site, generators=(made.model_copy(update={"tank": tank}),))

    def test_they_shorten_what_lasts_and_count_in_what_is_needed(self) -> None:
        """They take 0.52 gal/h: 2 gal/h in all, after 30 s of 0.52 and 6 s of 1.52 (0.0069 gal)."""
        run = simulate(self.with_others(7.4, 0.52), day())
        assert abs((ended(run) - at((7.4 - 0.0069) / 2 + 36 / 3600)).total_seconds()) < 5
        (need,) = run.fuel
        assert need.other_gal == pytest.approx(5.2)
        assert need.used_gal == pytest.approx(9.99 * 1.48 + 5.2, abs=0.02)
        assert "about 20 gal, 5 of them in other appliances in this scenario" in (
            run.verdict.sentence
        )

    def test_a_tank_they_emptied_before_the_outage_starts_no_set_until_more_comes(self) -> None:
        """2 gal at 1 gal/h are out 2 h in; 4.96 gal at 7 h carry both for 2 h, at 2.48 gal/h."""
        came = Delivery(at=at(7), gallons=4.96)
        base = scenario("dry", span_h=10, outage_h=(5, 10), deliveries=(came,))
        site = self.with_others(2.0, 1.0)
        made = site.generators[0]
        assert made.tank is not None
        roomy = made.tank.model_copy(update={"capacity_gal": 20.0})
        site = with_parts(site, generators=(made.model_copy(update={"tank": roomy}),))
        run = simulate(site, base.model_copy(update={"fuel_at_start_share": 0.1}))
        assert abs((ended(run) - at(5 + 30 / 3600)).total_seconds()) < 61
        (set_,) = (s for s in run.sources if s.kind == "generator")
        assert set_.run_h == pytest.approx(2, abs=0.02)
        assert live_h(run) == pytest.approx(5 + 2, abs=0.05)

    def test_fuel_left_falls_by_them_though_the_set_never_runs(self) -> None:
        run = simulate(self.with_others(20.0, 0.5), scenario("calm", span_h=10))
        assert run.fuel == ()
        (left,) = (one for one in levels(run) if one.unit == "gal")
        assert left.values[-1] == pytest.approx(15.0)

    def test_a_filled_tank_lasts_so_much_less(self) -> None:
        made = self.with_others(100.0, 0.52).generators[0]
        lasts = tank_lasts(made, 4.8)
        assert lasts is not None
        assert lasts.value == pytest.approx(80 / 2.0)


def test_what_is_missing_before_a_delivery_is_asked_for_though_more_is_missing_in_all() -> None:
    """1.48 gal/h through ten hours less a start; 7.4 gal, and 7.4 more only after eight.

    By then 11.8 gal are wanted, 4.4 more than are there; in all 14.8 of 14.8 less what has no room.
    With so much more at the start it lasts.
    """
    came = Delivery(at=at(8), gallons=5.0)
    run = simulate(house(7.4), day(deliveries=(came,)))
    (need,) = run.fuel
    assert need.lacking_gal == pytest.approx(1.48 * 8 - 7.4, abs=0.05)
    assert short_gal(need) == pytest.approx(need.lacking_gal + need.reserve_gal, abs=0.05)
    assert "gal are there, with what comes after that." in run.verdict.sentence
    more = house(7.4 + need.lacking_gal + 0.05)
    assert simulate(more, day(deliveries=(came,))).verdict.fits
