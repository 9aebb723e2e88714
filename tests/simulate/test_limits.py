"""Every place where current meets a rating."""

from __future__ import annotations

import pytest

from server.domain.site import Place
from server.simulate.limits import generator_leg_limit, limit_points
from tests.builders import (
    backed_up_site,
    circuit,
    double_throw_site,
    feeder,
    generator,
    interlock_site,
    normal_only_site,
    panel,
    service,
    two_services_site,
    with_parts,
)


def points_of(site, outdoor_high_f: float = 70):  # type: ignore[no-untyped-def]
    return {p.id: p for p in limit_points(site, outdoor_high_f=outdoor_high_f)}


def test_a_switchable_house_has_every_kind_of_point_it_needs() -> None:
    base = double_throw_site(solar=True)
    site = with_parts(base, services=(service(meter_socket_a=200),))
    assert set(points_of(site)) == {
        "meter_socket:grid",
        "service_main:grid",
        "generator:set",
        "transfer_switch:ats",
        "double_throw:throw",
        "feeder_breaker:main-ats-utility",
        "feeder_breaker:set-ats-generator",
        "feeder_breaker:main-throw-normal",
        "feeder_breaker:backed-throw-backed-up",
        "panel_bus:main",
        "panel_bus:backed",
        "panel_bus:swing",
        "panel_main:main",
        "solar_breaker:sun",
        *(f"circuit_breaker:{c}" for c in "abcdef"),
    }


def test_a_portable_set_has_its_receptacle_cord_and_inlet() -> None:
    points = points_of(interlock_site())
    for kind in ("generator_breaker", "receptacle", "cord", "inlet"):
        assert points[f"{kind}:set"].leg_rating_a == 30
    assert points["generator_breaker:set"].continuous_rule
    assert not points["cord:set"].continuous_rule


def test_conductors_and_neutral_are_points_where_entered() -> None:
    site = normal_only_site(
        feeders=(feeder("grid", "main", ampacity_a=175, neutral_ampacity_a=120),)
    )
    points = points_of(site)
    assert points["feeder_conductor:grid-main"].leg_rating_a == 175
    assert points["feeder_neutral:grid-main"].leg_rating_a == 120
    assert "feeder_breaker:grid-main" not in points


def test_the_panel_with_solar_counts_branch_amps_alone() -> None:
    points = points_of(double_throw_site(solar=True))
    assert points["panel_bus:main"].counts == "gross"
    assert points["panel_main:main"].counts == "net"
    assert points["panel_bus:backed"].counts == "net"


def test_the_80_percent_rule_spares_sets_and_fully_rated_devices() -> None:
    site = normal_only_site(
        feeders=(feeder("grid", "main", breaker_a=200, full_rated=True),),
        circuits=(
            circuit("a", "main", 1, load_w=100),
            circuit("b", "main", 3, load_w=100, full_rated=True),
        ),
    )
    points = points_of(site)
    assert points["circuit_breaker:a"].continuous_rule
    assert not points["circuit_breaker:b"].continuous_rule
    assert not points["feeder_breaker:grid-main"].continuous_rule
    assert points["service_main:grid"].continuous_rule
    assert not points_of(backed_up_site())["generator:set"].continuous_rule


@pytest.mark.parametrize(
    ("rated", "kva", "system", "amps"),
    [
        (20, None, "120/240", 83.333),
        (16, 20, "120/240", 66.667),  # the engine binds before the windings
        (20, 18, "120/240", 75.0),
        (3.6, None, "120", 30.0),
        (36, None, "120/208", 100.0),
    ],
)
def test_leg_limit_of_a_set(rated: float, kva: float | None, system: str, amps: float) -> None:
    engine = generator(rated_kw=rated, rated_kva=kva, system=system)
    working = generator_leg_limit(backed_up_site(), engine, 70)
    assert working.value == pytest.approx(amps, abs=1e-3)
    assert working.unit == "A"
    assert {"rated", "altitude", "warmest hour", "derated"} <= {t.name for t in working.terms}


def test_altitude_and_the_warmest_hour_derate_a_set() -> None:
    site = with_parts(backed_up_site(), place=Place(altitude_ft=5000))
    point = points_of(site, outdoor_high_f=107)["generator:set"]
    assert point.leg_rating_a == pytest.approx(20 * 0.825 * 0.97 / 0.24)
    assert point.working.value == pytest.approx(point.leg_rating_a)


def test_what_several_buses_share_belongs_to_none() -> None:
    points = points_of(two_services_site())
    assert points["generator:set"].bus_id is None
    assert points["panel_bus:p-east"].bus_id == "ats-east"
    assert points_of(backed_up_site())["generator:set"].bus_id == "ats"


def test_an_empty_site_has_no_points() -> None:
    site = normal_only_site(services=(), panels=(), feeders=(), circuits=())
    assert points_of(site) == {}


def test_ratings_are_what_was_entered() -> None:
    site = with_parts(backed_up_site(), panels=(panel("main", rating_a=225), panel("backed")))
    points = points_of(site)
    assert points["panel_bus:main"].leg_rating_a == 225
    assert points["panel_bus:main"].working.source == "entered for this site"
