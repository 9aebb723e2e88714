"""A wait that a circuit is entered with beside the harm that comes before it is over."""

from __future__ import annotations

import html
import re

from server.domain.catalogue import KINDS
from server.domain.lengths import span_words
from server.simulate.harms import harms
from server.simulate.run import simulate
from server.web.waits import harm_first
from tests.builders import backed_up_site, circuit, scenario, with_parts


def well_house(*, wait_min: float):
    """A well that must be served and is dark for eight hours."""
    pump = KINDS["well-pump"].appliance("pump")
    day = scenario("out", span_h=12, outage_h=(2, 10))
    base = backed_up_site()
    well = circuit(
        "well",
        "main",
        9,
        11,
        appliances=(pump,),
        load_class="must_serve",
        allowed_gap_min=wait_min,
    )
    return with_parts(base, circuits=(*base.circuits, well), scenarios=(day,), people=4)


def test_the_harm_that_comes_before_the_wait_is_over_is_told_and_not_after_it():
    site = well_house(wait_min=600.0)
    run = simulate(site, site.scenario("out"))
    (water,) = [h for h in harms(run) if h.kind == "water"]
    assert water.hours is not None
    after_min = 60.0 * water.hours
    assert 1.0 < after_min < 480.0
    assert harm_first(run) == {"well": f"{water.what}, after {span_words(after_min)}"}
    short = well_house(wait_min=round(after_min - 1.0))
    assert harm_first(simulate(short, short.scenario("out"))) == {}


def test_the_table_tells_it_beside_the_wait_and_leads_to_its_field(browser, sites):
    stored = sites.create(well_house(wait_min=600.0))
    page = html.unescape(browser.get(f"/sites/{stored.id}/scenarios/out").text)
    table = page.partition('<table class="mustserve">')[2].partition("</table>")[0]
    assert "sooner than it is taken to wait" in table
    assert f'href="/sites/{stored.id}/circuits/well#f-allowed_gap_min"' in table
    assert 'id="f-allowed_gap_min"' in browser.get(f"/sites/{stored.id}/circuits/well").text


def test_a_harm_that_stood_as_the_run_begins_is_told_as_before_it(browser, sites):
    site = well_house(wait_min=600.0)
    day = scenario("out", span_h=6, outage_h=(-40, 4), generator="absent")
    stored = sites.create(with_parts(site, scenarios=(day,)))
    page = html.unescape(browser.get(f"/sites/{stored.id}/scenarios/out").text)
    table = page.partition('<table class="harms">')[2].partition("</table>")[0]
    assert re.search(r'<b>0\.\d</b></td><th scope="row">\S.*>before Tue 20:\d\d<', table)


def test_harms_and_levels_are_told_to_the_minute(browser, sites):
    stored = sites.create(well_house(wait_min=600.0))
    page = browser.get(f"/sites/{stored.id}/scenarios/out").text
    for name in ("harms", "levels"):
        part = page.partition(f'id="{name}"')[2].partition("</section>")[0]
        assert part
        assert re.findall(r">\w{3} \d\d:\d\d<", part)
        assert not re.findall(r">\w{3} \d\d:\d\d:\d\d<", part)
