"""Natural gas sets beside the other gas appliances on one meter, by hand."""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.advise.advice import advice_on
from server.domain.scenario import Window
from server.domain.supply import FuelPoint
from server.rules.check import check_site
from server.rules.gas_meter import gas_draws
from server.simulate.run import simulate
from tests.builders import START, appliance, backed_up_site, circuit, scenario, with_parts


def run_with(meter=None, others=None, fuel="natural_gas"):
    """100,000 Btu/h + 10,000 for each kW, at its rating of 20 kW: 300,000 Btu/h."""
    points = (FuelPoint(load_kw=0, rate_per_h=100), FuelPoint(load_kw=10, rate_per_h=200))
    base = backed_up_site()
    own = {
        "fuel_points": points if fuel == "natural_gas" else (),
        "fuel": fuel,
        "gas_meter_btu_h": meter,
        "other_gas_btu_h": others,
    }
    site = with_parts(base, generators=(base.generators[0].model_copy(update=own),))
    out = Window(start=START, end=START + timedelta(hours=3))
    return simulate(site, scenario(span_h=3, outages=(out,)))


def codes(run):
    return {f.code: f for f in advice_on(run).findings if f.code.startswith("gas-meter")}


def test_set_at_full_load_and_others_together_are_held_to_the_meter():
    # 300,000 + 64,000 = 364,000 of a meter of 350 ft3/h x 1,039 = 363,650.
    run = run_with(363_650, 64_000)
    assert run.site.generators[0].rated_kw == 20
    (one,) = gas_draws(run.site)
    assert one.asked.value == pytest.approx(364_000, rel=1e-4)
    finding = codes(run)["gas-meter-passed"]
    assert finding.severity == "warning"
    assert (finding.value, finding.limit) == (pytest.approx(364_000, rel=1e-4), 363_650)
    assert "364,000 Btu/h of natural gas" in finding.text
    assert "at full load (300,000 its own)" in finding.text


def test_a_meter_that_carries_both_is_not_told():
    assert codes(run_with(363_650, 63_000)) == {}


@pytest.mark.parametrize(
    ("meter", "others", "asks"),
    [
        (None, None, ("gas meter and pipe", "other gas appliances")),
        (363_650, None, ("other gas appliances",)),
        (None, 0, ("gas meter and pipe",)),
    ],
)
def test_what_was_not_told_is_asked_for(meter, others, asks):
    found = codes(run_with(meter, others))
    assert set(found) == {"gas-meter-asked"}
    assert found["gas-meter-asked"].severity == "note"
    assert all(words in found["gas-meter-asked"].mend for words in asks)


def test_a_set_that_alone_passes_the_meter_is_told_without_the_others():
    assert set(codes(run_with(140_000, None))) == {"gas-meter-passed"}


def test_only_natural_gas_is_looked_at():
    run = run_with(1, 1, fuel="propane")
    assert gas_draws(run.site) == ()
    assert codes(run) == {}


def test_a_meter_that_is_passed_stands_among_the_findings_without_a_run():
    """It is a sum of what is entered: 364,000 of 363,650 Btu/h; the same words as of a run."""
    run = run_with(363_650, 64_000)
    (checked,) = [f for f in check_site(run.site).findings if f.code.startswith("gas-meter")]
    assert checked == codes(run)["gas-meter-passed"]
    for meter, others in ((363_650, 63_000), (None, None)):
        findings = check_site(run_with(meter, others).site).findings
        assert not [f for f in findings if f.code.startswith("gas-meter")]


def test_others_of_none_beside_gas_appliances_are_noted_by_name():
    run = run_with(363_650, 0)
    assert gas_draws(run.site)[0].unsaid == ()
    burners = (
        appliance("f", 550, kind="gas-furnace"),
        appliance("w", 50, kind="gas-water-heater"),
        appliance("h", 1500, kind="space-heater"),
    )
    site = with_parts(run.site, circuits=(circuit("c", "backed", 1, appliances=burners),))
    (noted,) = [f for f in check_site(site).findings if f.code == "gas-others-left-out"]
    assert noted.severity == "note"
    assert "0 Btu/h beside" in noted.text
    assert noted.text.endswith("the site has f and w.")
    told = site.generators[0].model_copy(update={"other_gas_btu_h": 96_000.0})
    codes_told = [f.code for f in check_site(with_parts(site, generators=(told,))).findings]
    assert "gas-others-left-out" not in codes_told


def test_what_is_within_has_no_mend():
    (one,) = gas_draws(run_with(363_650, 63_000).site)
    assert (one.status, one.mend) == ("within", "")
