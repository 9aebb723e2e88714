"""Service conductors stand on Article 230 and carry no equipment ground."""

from __future__ import annotations

import pytest

from server.domain.supply import Segment
from server.rules.check import check_site
from server.rules.editions import rulebook
from server.rules.wiring.feeder import feeder_wiring
from server.rules.wiring.raceway import wires_of
from server.rules.wiring.run import Run
from server.rules.wiring.sizing import size_run
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import HOUSE, found, of_kind

RULES = rulebook("2023")


def served(*, breaker_a=None, load_w=20_000, main_a=100, **segment):
    base = builders.normal_only_site(scenarios=(), floor_area_ft2=1500, zones=HOUSE)
    told = {"run_ft": 40, "size": "2", "metal": "aluminum"} | segment
    feeders = tuple(
        f.model_copy(update={"segments": (Segment(**told),), "breaker_a": breaker_a})
        if f.from_id == "grid"
        else f
        for f in base.feeders
    )
    services = tuple(s.model_copy(update={"main_a": main_a}) for s in base.services)
    kiln = of_kind("kiln", "main", (17, 19), "heat-strip", load_w=load_w, breaker_a=100)
    return with_parts(base, feeders=feeders, services=services, circuits=(kiln,))


def drop_of(site):
    start = next(f.id for f in site.feeders if f.from_id == "grid")
    return next(w for w in feeder_wiring(site, rules=RULES, advise=False) if w.feeder_id == start)


def test_a_breaker_where_it_starts_makes_it_a_feeder_with_a_ground():
    ahead, behind = drop_of(served()), drop_of(served(breaker_a=100))
    assert (ahead.service, behind.service) == (True, False)
    assert ahead.segments[0].ground_size == ""
    # Table 250.122, 100 A: 8 copper.
    assert behind.segments[0].ground_size == "8"


def test_a_typed_ground_is_not_counted_in_a_service_raceway():
    raceway = {"raceway": "PVC", "raceway_trade_size": "1-1/4", "ground_size": "6"}
    ahead = drop_of(served(**raceway)).segments[0].fill
    behind = drop_of(served(breaker_a=100, **raceway)).segments[0].fill
    # Table 5, THWN-2: 3 of 2 AWG at 0.1158 in²; 6 AWG is 0.0507 in².
    assert (ahead.count, ahead.area_in2) == (3, pytest.approx(0.3474))
    assert (behind.count, behind.area_in2) == (4, pytest.approx(0.3981))


def test_a_120_volt_run_is_one_hot_and_its_neutral():
    wires = wires_of(Segment(run_ft=10, size="10"), "10", two_wire=True)
    assert [(w.size, w.count) for w in wires] == [("10", 1), ("10", 1), ("10", 1)]


def test_the_bench_counts_no_ground_in_a_service_raceway():
    whole = {"noncontinuous_a": 90, "device_a": 100, "neutral_a": 60}
    feeds, serves = (size_run(Run(30, service=s, **whole), RULES) for s in (False, True))
    assert [a.raceways["pvc40"].count for a in (feeds, serves)] == [4, 3]


@pytest.mark.parametrize(
    ("breaker_a", "section"), [(None, "230.42(A), 230.90(A)"), (600, "215.2(A)(1), 240.4")]
)
def test_wire_too_small_cites_the_article_of_its_place(breaker_a, section):
    # Above 400 A no 83 % rule holds.
    site = served(breaker_a=breaker_a, main_a=600, size="6", metal="copper", load_w=60_000)
    assert found(site, "wire-too-small").section == section


@pytest.mark.parametrize(
    ("edition", "section"),
    [
        ("2020", "220.61, 230.42(C), 250.24(C)"),
        ("2023", "220.61, 230.42(C), 250.24(D)"),
        ("2026", "120.61, 230.42(C), 250.24(D)"),
    ],
)
def test_a_small_service_neutral_cites_250_24(edition, section):
    site = served(neutral_size="12")
    findings = check_site(site, edition=edition).findings
    assert {f.section for f in findings if f.code == "neutral-too-small"} == {section}


def test_a_service_device_above_its_stated_amps_cites_230_90():
    site = served()
    feeders = tuple(f.model_copy(update={"ampacity_a": 60.0}) for f in site.feeders)
    one = found(with_parts(site, feeders=feeders), "device-above-ampacity")
    assert one.section == "230.90(A), 240.4(B), 240.4(C)"


def test_the_drop_of_service_conductors_has_no_section():
    one = found(served(run_ft=400), "drop-above-advice")
    assert one.rule == "Common practice, no code section"
    assert "advice for service conductors" in one.text
    assert "informational" in found(served(run_ft=400, breaker_a=100), "drop-above-advice").section
