"""An outage entered for later than a run lasts is no part of it, and breaks no page."""

from __future__ import annotations

from datetime import timedelta

import pytest
from fastapi.testclient import TestClient

from server.domain.scenario import Window
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.simulate.harms import harms
from server.simulate.run import simulate
from server.store.sites import SiteStore
from tests.builders import with_parts

OUT_AT_H = 3.0


def cut_short(name: str, span_h: float):
    """A demo with one scenario of so many hours whose outage begins after three."""
    site = read_site_file((DEMOS / f"{name}.json").read_bytes())
    day = next(s for s in site.scenarios if s.outages)
    begin = day.start + timedelta(hours=OUT_AT_H)
    later = Window(start=begin, end=begin + timedelta(hours=9))
    bare = dict.fromkeys(("deliveries", "events", "switch_moves", "generator_stops"), ())
    bare |= {"generator_exercise": (), "hand_windows": ()}
    short = day.model_copy(update={"outages": (later,), "span_h": span_h, **bare})
    return with_parts(site, scenarios=(short,)), short


@pytest.mark.parametrize("span_h", [2.0, 3.0, 3.001, 3.01, 3.1])
@pytest.mark.parametrize("name", ["bungalow", "flower-farm", "two-family"])
def test_a_run_that_ends_before_its_outage_has_none(name: str, span_h: float):
    site, short = cut_short(name, span_h)
    run = simulate(site, short)
    begun = short.steps * short.step_s > OUT_AT_H * 3600
    assert bool(run.served.outages) is begun
    assert bool(harms(run)) is begun


@pytest.mark.parametrize("span_h", [2.0, 3.001])
def test_every_page_of_it_answers(browser: TestClient, sites: SiteStore, span_h: float):
    site, short = cut_short("bungalow", span_h)
    root = f"/sites/{sites.create(site).id}"
    for page in ("", "/buses", "/scenarios", f"/scenarios/{short.id}", "/demand", "/findings"):
        assert browser.get(root + page).status_code == 200, page
