"""One feeder to another building, by 225.30; the sources stand with the figures."""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import of_kind, plain
from tests.rules.sound import sound


def barn(*, second_from="main", second_at="Barn", mains=(60, 60)):
    return plain(
        of_kind("lights", "barn-a", (1,), "lighting"),
        panels=(
            builders.panel("main", main_a=200, spaces=40, neutral_bonded=True),
            builders.panel("sub", rating_a=125),
            builders.panel("barn-a", main_a=mains[0], detached_building=True, location="Barn"),
            builders.panel("barn-b", main_a=mains[1], detached_building=True, location=second_at),
        ),
        feeders=(
            builders.feeder("grid", "main"),
            builders.feeder("main", "sub", breaker_a=100),
            builders.feeder("main", "barn-a", breaker_a=60),
            builders.feeder(second_from, "barn-b", breaker_a=60),
        ),
    )


def told(site, edition="2023"):
    report = check_site(site, edition=edition)
    found = [f for f in report.findings if f.code == "building-fed-twice"]
    for finding in found:
        sound(finding, site)
    return [(f.element_id, f.severity, f.section, f.value) for f in found]


@pytest.mark.parametrize(
    ("edition", "severity", "section"),
    [
        ("2017", "warning", "225.30, 225.37"),
        ("2020", "note", "225.30(B), 225.37"),
        ("2023", "note", "225.30(B), 225.37"),
    ],
)
def test_two_feeders_of_one_panel_to_one_barn(edition, severity, section):
    assert told(barn(), edition) == [("barn-a", severity, section, 2.0)]


@pytest.mark.parametrize(
    "changes", [{"second_from": "sub"}, {"mains": (60, None)}], ids=["other panel", "no main"]
)
def test_what_does_not_start_at_one_panel_or_end_in_one_disconnect_is_at_fault(changes):
    assert told(barn(**changes)) == [("barn-a", "warning", "225.30, 225.37", 2.0)]


@pytest.mark.parametrize(
    "changes",
    [{"second_from": "barn-a"}, {"second_at": "Garage"}, {"second_at": ""}],
    ids=["from the first", "another building", "no place told"],
)
def test_one_feeder_to_a_building_says_nothing(changes):
    assert told(barn(**changes)) == []


def test_places_are_the_same_whatever_their_letters_and_blanks():
    assert len(told(barn(second_at=" barn "))) == 1


def test_the_barn_is_told_once_however_many_feeders_reach_it():
    site = barn()
    third = builders.panel("barn-c", main_a=60, detached_building=True, location="Barn")
    more = with_parts(
        site,
        panels=(*site.panels, third),
        feeders=(*site.feeders, builders.feeder("main", "barn-c", breaker_a=60)),
    )
    assert told(more) == [("barn-a", "note", "225.30(B), 225.37", 3.0)]


def test_a_second_feeder_with_a_set_behind_it_is_standby_power():
    site = builders.backed_up_site()
    barns = [
        builders.panel(n, main_a=60, detached_building=True, location="Barn")
        for n in ("barn-a", "barn-b")
    ]
    feeds = [
        builders.feeder("main", "barn-a", breaker_a=60),
        builders.feeder("backed", "barn-b", breaker_a=60),
    ]
    apart = with_parts(
        site, panels=(*site.panels, *barns), feeders=(*site.feeders, *feeds), scenarios=()
    )
    assert told(apart) == []
    both = [builders.feeder("backed", n, breaker_a=60) for n in ("barn-a", "barn-b")]
    together = with_parts(apart, feeders=(*site.feeders, *both))
    assert told(together) == [("barn-a", "note", "225.30(B), 225.37", 2.0)]
