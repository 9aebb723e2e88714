"""Two runs side by side: every difference is the difference of the two runs."""

from __future__ import annotations

import html
from datetime import timedelta

from server.domain.edits import put_scenario
from server.simulate.run import cached_run
from server.web.compare import comparison
from tests.builders import double_throw_site, normal_only_site


def url_of(stored, **asked: str) -> str:
    query = "&".join(f"{k}={v}" for k, v in asked.items())
    return f"/sites/{stored.id}/compare?{query}"


def test_the_page_shows_both_verdicts_and_links_to_the_minutes(browser, stored):
    page = html.unescape(browser.get(url_of(stored, first="day", second="out")).text)
    for scenario_id in ("day", "out"):
        run = cached_run(stored.site, stored.site.scenario(scenario_id))
        assert run.verdict.sentence.partition(". ")[2] in page.replace("\N{NO-BREAK SPACE}", " ")
        assert f"/scenarios/{scenario_id}?at=" in page
    assert page.count('<svg class="wide"') == 2


def test_differences_are_those_of_the_two_runs():
    site = double_throw_site()
    one, two = (cached_run(site, site.scenario(i)) for i in ("day", "out"))
    view = comparison(one, two, "")
    assert view.limits
    for row in view.limits:
        was = one.limit(row.point_id).worst.peak_a
        now = two.limit(row.point_id).worst.peak_a
        assert row.first.startswith(f"{was:.1f} A")
        assert row.second.startswith(f"{now:.1f} A")
        assert float(row.gap.replace("−", "-").replace("same", "0")) == round(now - was, 1)
    assert len(view.limits) + view.same == len(one.limits)
    ran = next(r for r in view.sources if r.name.endswith(" ran"))
    assert (ran.first, ran.gap) == ("0.0 h", f"+{ran.second}")
    dark = {r.name for r in view.without}
    assert "Circuit a" in dark
    assert {r.name for r in view.inputs} >= {"Utility", "Utility out in all"}


def test_natural_gas_stands_in_therms_too():
    site = double_throw_site()
    gas = site.generators[0].model_copy(update={"fuel": "natural_gas", "tank": None})
    site = site.model_copy(update={"generators": (gas,)})
    one, two = (cached_run(site, site.scenario(i)) for i in ("day", "out"))
    burnt = next(r for r in comparison(one, two, "").sources if r.name.endswith("fuel about"))
    kbtu, therms = (part.split()[0].replace(",", "") for part in burnt.second.split(", "))
    assert float(therms) == round(float(kbtu) / 100, 1) > 0
    assert burnt.gap.endswith("kBtu")


def test_a_limit_passed_in_one_alone_is_named(browser, sites):
    site = double_throw_site()
    longer = site.scenario("out").model_copy(
        update={
            "id": "all",
            "name": "All day",
            "outages": (
                site.scenario("out")
                .outages[0]
                .model_copy(update={"end": site.scenario("out").end - timedelta(minutes=30)}),
            ),
        }
    )
    stored = sites.create(put_scenario(site, longer))
    page = browser.get(url_of(stored, first="out", second="all")).text
    assert "What was asked differently" in page
    same = browser.get(url_of(stored, first="out", second="out")).text
    assert "Both are the same run." in same


def test_a_bus_can_be_chosen_and_an_unknown_one_is_no_fault(browser, stored):
    page = browser.get(url_of(stored, first="day", second="out", bus="throw")).text
    assert '<option value="throw" selected' in page
    assert browser.get(url_of(stored, bus="nowhere")).status_code == 200
    assert browser.get(url_of(stored, first="nothing")).status_code == 404


def test_without_scenarios_the_page_teaches(browser, sites):
    stored = sites.create(normal_only_site(scenarios=()))
    page = browser.get(url_of(stored)).text
    assert "There is no scenario yet" in page
    assert f"/sites/{stored.id}/scenarios/new" in page
