"""A feeder has an equipment ground: a wire, or a raceway of metal (215.6, 250.118; from memory)."""

from __future__ import annotations

import pytest

from server.domain.finding import Finding
from server.domain.site import Site
from server.domain.supply import Segment
from server.rules.check import check_site
from tests.builders import (
    backed_up_site,
    feeder,
    interlock_site,
    normal_only_site,
    panel,
    whole_house_site,
    with_parts,
)

CODE = "feeder-ground-asked"


def wire(raceway: str = "", ground: str | None = None) -> Segment:
    return Segment(run_ft=25, size="2/0", metal="aluminum", raceway=raceway, ground_size=ground)


def asked(site: Site) -> list[Finding]:
    return [f for f in check_site(site).findings if f.code == CODE]


def behind_disconnect(*segments: Segment) -> Site:
    """The main panel, a subpanel of the service disconnect ahead of it."""
    run = feeder("grid", "main", breaker_a=150, segments=segments)
    return normal_only_site(feeders=(run,), panels=(panel("main", main_a=150),), scenarios=())


@pytest.mark.parametrize(
    ("segments", "severity"),
    [
        ((wire("PVC40"),), "warning"),
        ((wire("ENT"),), "warning"),
        ((wire("emt"), wire("PVC 80")), "warning"),
        ((wire(),), "note"),
        ((wire("old cable"),), "note"),
        ((wire("EMT"), wire()), "note"),
        ((wire("EMT"),), None),
        ((wire("IMC"), wire("rigid")), None),
        ((wire("PVC40", "4"),), None),
        ((wire("PVC40", "4"), wire("EMT")), None),
        ((), None),
    ],
)
def test_a_ground_is_asked_for_behind_the_service_disconnect(segments, severity) -> None:
    found = asked(behind_disconnect(*segments))
    assert [f.severity for f in found] == ([severity] if severity else [])
    assert all(f.section == "215.6, 250.118" and f.element_id == "grid-main" for f in found)


def test_service_conductors_have_none() -> None:
    for base in (normal_only_site(), interlock_site(), whole_house_site()):
        runs = tuple(
            f.model_copy(update={"segments": (wire("PVC"),)} if f.from_id == "grid" else {})
            for f in base.feeders
        )
        assert not asked(with_parts(base, feeders=runs))


@pytest.mark.parametrize("rated", [True, False])
def test_what_follows_a_switch_is_a_feeder_where_the_switch_is_the_disconnect(rated: bool) -> None:
    base = whole_house_site()
    runs = tuple(
        f.model_copy(update={"segments": (wire("PVC"),)} if f.from_id == "ats" else {})
        for f in base.feeders
    )
    (switch,) = base.transfer_switches
    switch = switch.model_copy(update={"service_rated": rated})
    site = with_parts(base, feeders=runs, transfer_switches=(switch,))
    assert bool(asked(site)) is rated


def test_another_building_has_a_note_of_its_own() -> None:
    base = normal_only_site()
    run = feeder("main", "barn", breaker_a=60, spaces=(18, 20), segments=(wire("PVC"),))
    for detached in (True, False):
        barn = panel("barn", rating_a=100, detached_building=detached)
        site = with_parts(base, panels=(*base.panels, barn), feeders=(*base.feeders, run))
        assert bool(asked(site)) is not detached
        assert ("detached-building" in {f.code for f in check_site(site).findings}) is detached


def test_several_feeders_are_asked_about_once() -> None:
    base = backed_up_site()
    told = {"main": "PVC", "ats": "PVC", "set": ""}
    runs = tuple(
        f.model_copy(update={"segments": (wire(told[f.from_id]),)} if f.from_id in told else {})
        for f in base.feeders
    )
    site = with_parts(base, feeders=runs)
    plastic, unknown = asked(site)
    names = {f.from_id: f.name for f in site.feeders}
    assert (plastic.severity, unknown.severity) == ("warning", "note")
    assert [run for run in told if names[run] in plastic.text] == ["main", "ats"]
    assert [run for run in told if names[run] in unknown.text] == ["set"]
