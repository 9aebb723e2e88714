import json
import math
from dataclasses import replace

import pytest

from server.domain.finding import Finding
from server.simulate.run import simulate
from server.simulate.summary import cautions_of, series, summary, who_at_peak
from tests.builders import (
    EVERY_SITE,
    appliance,
    backed_up_site,
    circuit,
    normal_only_site,
    scenario,
)


@pytest.fixture(scope="module")
def run():
    site = backed_up_site()
    return simulate(site, site.scenario("out"))


@pytest.mark.parametrize("name", sorted(EVERY_SITE))
def test_every_run_is_plain_json(name):
    site = EVERY_SITE[name]()
    for one in site.scenarios:
        content = summary(simulate(site, one))
        assert json.loads(json.dumps(content, allow_nan=False)) == content
        assert len(content["limits"]) > 0


def test_it_says_what_the_run_says(run):
    content = summary(run)
    assert content["verdict"]["fits"] is run.verdict.fits
    assert content["verdict"]["sentence"] == run.verdict.sentence
    worst = run.verdict.worst
    assert content["verdict"]["worst"]["point_id"] == worst.point.id
    assert content["scenario"]["id"] == "out"
    by_id = {limit["id"]: limit for limit in content["limits"]}
    for result in run.limits:
        shown = by_id[result.point.id]
        assert shown["status"] == result.status
        for leg, peak in zip(shown["legs"], result.legs, strict=True):
            assert leg["peak_a"] == pytest.approx(peak.peak_a, abs=1e-4)
            assert leg["at"] == peak.at.isoformat()


def test_a_generator_reports_hours_and_fuel(run):
    (generator,) = [s for s in summary(run)["sources"] if s["kind"] == "generator"]
    assert generator["run_h"] > 2.9
    assert generator["starts"] == 1


def test_a_figure_that_is_not_finite_becomes_null(run):
    peak = replace(run.limits[0].legs[0], percent=math.inf, peak_a=0.0)
    limits = (replace(run.limits[0], legs=(peak, run.limits[0].legs[1])), *run.limits[1:])
    content = summary(replace(run, limits=limits))
    assert content["limits"][0]["legs"][0]["percent"] is None


def test_hazards_are_told_when_given(run):
    finding = Finding("code", "blocking", "main", "Text.", "Mend.")
    assert summary(run)["hazards"] == []
    assert summary(run, hazards=(finding,))["hazards"][0]["severity"] == "blocking"


def test_the_series_has_every_point_and_step(run):
    steps = series(run)
    assert [p.point_id for p in steps.points] == [p.id for p in run.points]
    assert len(steps.points[0].l1_a) == run.steps
    assert steps.points[0].l1_a[7] == pytest.approx(float(run.amps[0, 0, 7]), abs=1e-4)
    assert len(steps.buses) == len(run.buses)


def test_those_on_at_the_peak_make_it_up(run):
    for result in run.limits:
        for peak in result.legs:
            on = who_at_peak(run, result.point, peak)
            assert sum(one.amps_a for one in on) == pytest.approx(peak.peak_a, abs=0.02)
            assert [one.amps_a for one in on] == sorted((one.amps_a for one in on), reverse=True)


def test_nobody_was_on_where_nothing_flowed():
    site = normal_only_site(circuits=(), scenarios=(scenario(span_h=1),))
    run = simulate(site, site.scenarios[0])
    assert all(who_at_peak(run, r.point, p) == () for r in run.limits for p in r.legs)


def test_an_outage_on_a_generator_brings_the_cautions_that_concern_death(run):
    keys = [caution.key for caution in cautions_of(run)]
    assert {"planning-aid", "result", "backfeed", "exhaust", "co-alarms", "food"} <= set(keys)
    calm = simulate(run.site, run.site.scenario("day"))
    assert {"restoration", "food"}.isdisjoint(c.key for c in cautions_of(calm))
    assert {"planning-aid", "backfeed", "exhaust"} <= {c.key for c in cautions_of(calm)}


def test_harms_are_told_with_their_hours_and_working():
    router = appliance("router", 30, kind="internet-gear")
    site = normal_only_site(circuits=(circuit("r", "main", 1, appliances=(router,)),))
    (harm,) = summary(simulate(site, scenario(outage_h=(2, 5))))["harms"]
    assert (harm["kind"], harm["element_id"], harm["hours"]) == ("internet", "router", 0.0)
    assert harm["at"] == "2026-11-26T14:00:00"
    assert harm["why"] == "Circuit r dead since Thu 26 Nov 14:00"
    (calm,) = summary(simulate(site, scenario(outage_h=(2, 2.01))))["harms"]
    assert (calm["at"], calm["hours"], calm["working"]["value"]) == (None, None, None)
