"""What is lost from the source to a feeder's end, by the worse of two ways that lead there."""

from __future__ import annotations

import pytest

from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from server.rules.wiring.feeder_drop import path_drop
from tests.builders import double_throw_site, with_parts

FARM = read_site_file((DEMOS / "flower-farm.json").read_bytes())


def by_name(report, name):
    return next(w for w in report.wiring if w.name == name)


def farm_with(name, **segment):
    """The farm with changes of the wire of one feeder."""
    return with_parts(
        FARM,
        feeders=tuple(
            f.model_copy(
                update={"segments": tuple(s.model_copy(update=segment) for s in f.segments)}
            )
            if f.name == name
            else f
            for f in FARM.feeders
        ),
    )


def test_behind_a_double_throw_each_side_is_added_up_whole():
    """Through the transfer switch and the backed-up panel more is lost than from the main panel."""
    report = check_site(FARM)
    behind = by_name(report, "Feeder to switchable panel")
    backed = by_name(report, "Switchable feeder, backed-up side")
    normal = by_name(report, "Switchable feeder, normal side")
    assert backed.path_drop_share > normal.path_drop_share
    assert behind.path_drop_share == pytest.approx(backed.path_drop_share + behind.drop.dc_share)
    assert behind.path_sides == "Double-throw switch on BACKED-UP"
    assert (backed.path_sides, normal.path_sides) == ("", "")


def test_the_other_side_counts_where_it_is_the_worse():
    report = check_site(farm_with("Switchable feeder, normal side", run_ft=400))
    behind = by_name(report, "Feeder to switchable panel")
    normal = by_name(report, "Switchable feeder, normal side")
    assert behind.path_drop_share == pytest.approx(normal.path_drop_share + behind.drop.dc_share)
    assert behind.path_sides == "Double-throw switch on NORMAL"


def test_the_finding_names_the_side():
    report = check_site(farm_with("Switchable feeder, backed-up side", run_ft=400))
    behind = by_name(report, "Feeder to switchable panel")
    (found,) = [
        f
        for f in report.findings
        if f.code == "total-drop-above-advice" and f.element_id == behind.feeder_id
    ]
    assert "the feeders ahead with Double-throw switch on BACKED-UP lose" in found.text


def test_a_side_that_loses_most_of_its_own_feeder_does_not_hide_the_other():
    """0.5 % by NORMAL, 0.1 + 0.9 % by BACKED-UP: the whole way counts, not its last length."""
    site = double_throw_site()
    into = {f.to_input: f for f in site.feeders if f.to_input in ("normal", "backed_up")}
    (last,) = [f for f in site.feeders if f.from_id == into["normal"].to_id]
    shares = {f.id: 0.0 for f in site.feeders} | {
        into["normal"].id: 0.005,
        into["backed_up"].id: 0.001,
        last.id: 0.0,
    }
    ahead = [
        f
        for f in site.feeders
        if f.to_id == into["backed_up"].from_id and f.to_input != "generator"
    ]
    shares[ahead[0].id] = 0.009
    found = path_drop(site, last.id, shares)
    assert found.share == pytest.approx(0.010)
    assert found.sides == ((last.from_id, "BACKED-UP"),)
    assert path_drop(site, last.id, {}) is None
