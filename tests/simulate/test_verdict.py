"""The answer in one sentence."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest

from server.domain.scenario import Weather, Window
from server.domain.site import Site
from server.domain.supply import EnergyGroup
from server.simulate.run import simulate
from server.simulate.verdict import moment
from tests.builders import (
    START,
    appliance,
    backed_up_site,
    circuit,
    double_throw_site,
    normal_only_site,
    scenario,
    service,
    with_parts,
)


def test_fitting_names_the_nearest_limit() -> None:
    verdict = simulate(normal_only_site(), scenario()).verdict
    assert verdict.fits
    assert verdict.sentence == (
        "Holds. The nearest limit is Service grid, main: 20.0 A of 200.0 A on L1, Thu 26 Nov 12:00."
    )
    assert verdict.over == ()
    assert verdict.worst is not None
    assert verdict.worst.point.id == "service_main:grid"


def test_the_sun_on_its_own_breaker_is_not_the_nearest_limit() -> None:
    """At noon in June its breaker is the fullest; what the house draws is what is planned."""
    site = double_throw_site(solar=True)
    array = site.solar[0].model_copy(update={"dc_kw": 9.0, "breaker_a": 25.0})
    site = with_parts(site, solar=(array,))
    clear = Weather(low_f=70, high_f=70, sun_share=1.0)
    start = datetime(2026, 6, 21, 10)
    day = site.scenario("day").model_copy(update={"start": start, "weather": clear})
    run = simulate(site, day)
    shared = [r for r in run.limits if r.point.kind != "circuit_breaker"]
    assert max(shared, key=lambda r: r.worst.percent).point.kind == "solar_breaker"
    worst = run.verdict.worst
    assert worst is not None
    assert worst.point.kind != "solar_breaker"
    assert f"The nearest limit is {worst.point.name}: " in run.verdict.sentence


def test_an_overloaded_service_comes_before_an_overloaded_circuit() -> None:
    site = normal_only_site(
        services=(service(main_a=15),),
        circuits=(circuit("a", "main", 1, load_w=2160, breaker_a=10),),
    )
    verdict = simulate(site, scenario(span_h=1)).verdict
    assert not verdict.fits
    assert verdict.over[0].point.id == "service_main:grid"
    assert verdict.sentence == (
        "Does not hold. Service grid, main must carry 18.0 A on L1 at Thu 26 Nov 12:00; "
        "its limit is 15.0 A. Over for 1 h in all. 1 other limit is passed too."
    )
    assert {r.point.id for r in verdict.over} == {"service_main:grid", "circuit_breaker:a"}


def test_a_circuit_alone_over_is_told() -> None:
    site = normal_only_site(circuits=(circuit("a", "main", 1, load_w=2160, breaker_a=10),))
    verdict = simulate(site, scenario(span_h=1)).verdict
    assert "Circuit a must carry 18.0 A on L1" in verdict.sentence


def test_a_gap_a_must_serve_circuit_cannot_bear_does_not_hold() -> None:
    site = backed_up_site()
    a = site.circuit("a").model_copy(update={"load_class": "must_serve"})
    site = with_parts(site, circuits=(a, *site.circuits[1:]))
    verdict = simulate(site, scenario(outage_h=(2, 5))).verdict
    assert not verdict.fits
    assert verdict.sentence == (
        "Does not hold. Circuit a is without power for 3 h; it can wait 2 min."
    )
    assert [g.circuit_id for g in verdict.gaps] == ["a"]
    nearly = a.model_copy(update={"allowed_gap_min": 180.0 - 10 / 60})
    site = with_parts(site, circuits=(nearly, *site.circuits[1:]))
    verdict = simulate(site, scenario(outage_h=(2, 5))).verdict
    assert "for 3 h; it can wait 3 h, 10 s less than that." in verdict.sentence


def test_over_and_gap_are_both_told() -> None:
    site = backed_up_site(services=(service(main_a=15),))
    a = site.circuit("a").model_copy(update={"load_class": "must_serve"})
    site = with_parts(site, circuits=(a, *site.circuits[1:]))
    verdict = simulate(site, scenario(outage_h=(2, 5))).verdict
    assert verdict.sentence.startswith("Does not hold. Service grid")
    assert "Circuit a is without power for 3 h; it can wait 2 min." in verdict.detail


def _with_device(load_class: str, **changes: Any) -> Site:
    site = backed_up_site(services=(service(main_a=15),))
    device = appliance("air", 350, kind="oxygen-concentrator", name="Oxygen concentrator")
    a = site.circuit("a").model_copy(
        update={"load_class": load_class, "appliances": (device,), **changes}
    )
    return with_parts(site, circuits=(a, *site.circuits[1:]))


@pytest.mark.parametrize("load_class", ["must_serve", "comfort"])
def test_a_medical_device_leads_by_name_and_hours_whatever_its_class(load_class: str) -> None:
    verdict = simulate(_with_device(load_class), scenario(outage_h=(2, 5))).verdict
    assert verdict.over, "a limit is passed too"
    assert verdict.sentence == (
        "Does not hold. Oxygen concentrator is without power for 3 h; it can wait 2 min."
    )
    assert verdict.detail.startswith("Service grid, main must carry")
    assert [g.circuit_id for g in verdict.gaps] == ["a"]


def test_a_medical_device_that_its_battery_carries_does_not_lead() -> None:
    site = _with_device("must_serve", own_battery_min=600)
    assert "Oxygen" not in simulate(site, scenario(outage_h=(2, 5))).verdict.sentence


def test_several_gaps_say_the_longest_and_all() -> None:
    windows = tuple(
        Window(start=START + timedelta(hours=a), end=START + timedelta(hours=b))
        for a, b in ((1, 2), (3, 4.5))
    )
    verdict = simulate(_with_device("must_serve"), scenario(outages=windows)).verdict
    assert "without power for 1 h 30 min at a stretch, 2 h 30 min in all;" in verdict.sentence


def test_an_empty_site_and_an_idle_one_say_so() -> None:
    empty = simulate(Site(name="Empty"), scenario()).verdict
    assert empty.fits
    assert empty.worst is None
    assert "no source and no panel" in empty.sentence
    idle = simulate(normal_only_site(circuits=()), scenario()).verdict
    assert idle.sentence == "Holds, but nothing draws power in this scenario."


def test_moments_are_local_and_short() -> None:
    assert moment(datetime(2026, 1, 5, 9, 5)) == "Mon 5 Jan 09:05"


def test_a_house_that_is_dark_throughout_does_not_fit() -> None:
    outage = Window(start=START, end=START + timedelta(hours=6))
    verdict = simulate(
        normal_only_site(), scenario(start=START, span_h=6, outages=(outage,))
    ).verdict
    assert not verdict.fits
    assert verdict.sentence == "Does not hold. No circuit has power for 6 h."


def _with_manager(setting_a: float) -> Site:
    """Circuit c, 10 A on both legs, held by a manager of the service where that is too much."""
    base = normal_only_site()
    group = EnergyGroup(id="m", name="Manager", setting_a=setting_a, watch_id="grid")
    circuits = tuple(
        c.model_copy(update={"energy_group_id": "m"}) if c.id == "c" else c for c in base.circuits
    )
    return with_parts(base, energy_groups=(group,), circuits=circuits)


def test_it_says_that_a_manager_makes_a_circuit_wait() -> None:
    verdict = simulate(_with_manager(15), scenario()).verdict
    assert verdict.fits
    assert verdict.sentence.startswith("Holds, but a load manager makes some circuits wait. The ")
    assert verdict.answer() == "Holds, but a load manager makes some circuits wait."
    assert simulate(_with_manager(60), scenario()).verdict.answer() == "Holds."


def test_it_says_that_circuits_on_a_dead_bus_get_nothing() -> None:
    verdict = simulate(backed_up_site(), scenario(outage_h=(2, 5))).verdict
    assert verdict.fits
    assert verdict.answer() == "Holds, but some circuits get no power."


def test_a_doubt_of_the_starts_stands_in_the_answer() -> None:
    verdict = simulate(normal_only_site(), scenario()).verdict
    assert verdict.answer("the motors start") == "Holds, if the motors start."
    assert (
        verdict.said("the motors start").partition(". ")[2] == (verdict.sentence.partition(". ")[2])
    )
    failing = simulate(normal_only_site(services=(service(main_a=5),)), scenario()).verdict
    assert failing.said("the motors start") == failing.sentence


def test_a_coarse_step_says_what_it_does_not_see() -> None:
    coarse = simulate(normal_only_site(), scenario(step_s=900)).verdict.detail
    assert "Peaks here are means of 15 min, and shorter ones are not seen" in coarse
    assert "Peaks here" not in simulate(normal_only_site(), scenario()).verdict.detail


@pytest.mark.parametrize(("begun_h", "told"), [(-3.0, True), (0.0, False), (2.0, False)])
def test_a_run_that_begins_inside_an_outage_says_what_it_begins_with(
    begun_h: float, told: bool
) -> None:
    window = Window(
        start=START + timedelta(hours=begun_h), end=START + timedelta(hours=begun_h + 5.0)
    )
    verdict = simulate(backed_up_site(), scenario(span_h=4, outages=(window,))).verdict
    words = "The utility is out for 3 h when this run begins: rooms, pits, tanks, batteries"
    assert (words in verdict.detail) is told


def test_a_circuit_without_power_is_no_manager_s_doing() -> None:
    """Off for the one minute that counts, and held by nobody."""
    day = scenario(span_h=6, outage_h=(1, 1 + 1 / 60))
    verdict = simulate(normal_only_site(), day).verdict
    assert verdict.fits
    assert "load manager" not in verdict.sentence
