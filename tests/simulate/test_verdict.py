"""The answer in one sentence."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from server.domain.scenario import Window
from server.domain.site import Site
from server.simulate.run import simulate
from server.simulate.verdict import moment, span_words
from tests.builders import (
    START,
    backed_up_site,
    circuit,
    normal_only_site,
    scenario,
    service,
    with_parts,
)


def test_fitting_names_the_nearest_limit() -> None:
    verdict = simulate(normal_only_site(), scenario()).verdict
    assert verdict.fits
    assert verdict.sentence == (
        "Fits. The nearest limit is Service grid, main: 20.0 A of 200.0 A on L1, Thu 26 Nov 12:00."
    )
    assert verdict.over == ()
    assert verdict.worst is not None
    assert verdict.worst.point.id == "service_main:grid"


def test_an_overloaded_service_comes_before_an_overloaded_circuit() -> None:
    site = normal_only_site(
        services=(service(main_a=15),),
        circuits=(circuit("a", "main", 1, load_w=2160, breaker_a=10),),
    )
    verdict = simulate(site, scenario(span_h=1)).verdict
    assert not verdict.fits
    assert verdict.over[0].point.id == "service_main:grid"
    assert verdict.sentence == (
        "Does not fit. Service grid, main must carry 18.0 A on L1 at Thu 26 Nov 12:00; "
        "its limit is 15.0 A."
    )
    assert verdict.detail.startswith("Over for 60 min in all. 1 other limit is passed too.")
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
        "Does not hold. Circuit a is without power for 3.0 h on end, longer than it can bear."
    )
    assert [g.circuit_id for g in verdict.gaps] == ["a"]


def test_over_and_gap_are_both_told() -> None:
    site = backed_up_site(services=(service(main_a=15),))
    a = site.circuit("a").model_copy(update={"load_class": "must_serve"})
    site = with_parts(site, circuits=(a, *site.circuits[1:]))
    verdict = simulate(site, scenario(outage_h=(2, 5))).verdict
    assert verdict.sentence.startswith("Does not fit. Service grid")
    assert "Circuit a is also without power for " in verdict.detail
    assert "on end, longer than it can bear." in verdict.detail


def test_an_empty_site_and_an_idle_one_say_so() -> None:
    empty = simulate(Site(name="Empty"), scenario()).verdict
    assert empty.fits
    assert empty.worst is None
    assert "no source and no panel" in empty.sentence
    idle = simulate(normal_only_site(circuits=()), scenario()).verdict
    assert idle.sentence == "Fits, but nothing draws power in this scenario."


@pytest.mark.parametrize(
    ("minutes", "words"),
    [(0.2, "12 s"), (1, "1 min"), (119, "119 min"), (120, "2.0 h"), (4320, "72.0 h")],
)
def test_span_words(minutes: float, words: str) -> None:
    assert span_words(minutes) == words


def test_moments_are_local_and_short() -> None:
    assert moment(datetime(2026, 1, 5, 9, 5)) == "Mon 5 Jan 09:05"


def test_a_house_that_is_dark_throughout_does_not_fit() -> None:
    outage = Window(start=START, end=START + timedelta(hours=6))
    verdict = simulate(
        normal_only_site(), scenario(start=START, span_h=6, outages=(outage,))
    ).verdict
    assert not verdict.fits
    assert verdict.sentence == "Does not hold. No circuit has power for 6.0 h."
