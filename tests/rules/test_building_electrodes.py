"""What joins the electrodes of a detached building (250.32(E), 250.66)."""

from __future__ import annotations

import pytest

from server.domain.supply import Segment
from server.rules.check import check_site
from server.rules.editions import rulebook
from server.rules.wiring.electrodes import copper_at_buildings
from tests import builders
from tests.rules.check_sites import found, of_kind, plain

RULES = rulebook("2023")


def barn(*laid, detached=True):
    """A house and a building apart on a feeder of this wire, its size and metal."""
    wire = tuple(
        Segment(run_ft=90, size=size, metal=metal, neutral_size=size, ground_size="4")
        for size, metal in (one.split() for one in laid)
    )
    return plain(
        of_kind("lights", "main", (1,), "lighting"),
        of_kind("welder", "barn", (1, 3), "welder"),
        panels=(
            builders.panel("main", main_a=200, neutral_bonded=True),
            builders.panel("barn", rating_a=200, detached_building=detached),
        ),
        feeders=(
            builders.feeder("grid", "main"),
            builders.feeder("main", "barn", breaker_a=60, segments=wire),
        ),
    )


@pytest.mark.parametrize(
    ("laid", "words"),
    [
        (["2 aluminum"], "8 copper"),
        (["2/0 aluminum"], "6 copper"),
        (["4/0 aluminum"], "4 copper, 6 to rods alone"),
        (["2 aluminum", "1/0 copper"], "6 copper"),
    ],
)
def test_it_goes_by_the_largest_hot_that_comes_there(laid, words):
    """Table 250.66: 8 copper to 1/0 aluminum, 6 to 3/0, 4 to 250 kcmil; to rods 6 at most."""
    site = barn(*laid)
    report = check_site(site)
    (feeder,) = [f for f in site.feeders if f.to_id == "barn"]
    assert copper_at_buildings(site, report.wiring, RULES) == {feeder.id: words}
    note = found(site, "detached-building")
    assert f"By its wire what joins the electrodes is {words} or larger (250.32(E)" in note.text


def test_a_panel_in_the_house_has_no_electrodes_of_its_own():
    site = barn("2 aluminum", detached=False)
    assert copper_at_buildings(site, check_site(site).wiring, RULES) == {}


def test_without_its_wire_the_finding_names_no_size():
    assert "what joins the electrodes" not in found(barn(), "detached-building").text
