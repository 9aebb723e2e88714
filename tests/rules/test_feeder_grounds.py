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


@pytest.mark.parametrize(
    ("bonded", "runs", "severity"),
    [
        (False, (wire("PVC"),), "warning"),
        (False, (wire("PVC", "6"), wire("PVC")), "warning"),
        (False, (wire(),), "note"),
        (False, (wire("PVC", "6"),), None),
        (True, (wire("PVC"),), None),
        (True, (wire("PVC", "6"), wire("PVC")), "warning"),
    ],
)
def test_another_building_is_asked_too_but_for_the_old_feeder(bonded, runs, severity) -> None:
    """250.32(B)(1), 250.134; its exception is asked about in words of its own."""
    base = normal_only_site()
    run = feeder("main", "barn", breaker_a=60, spaces=(18, 20), segments=runs)
    barn = panel("barn", rating_a=100, detached_building=True, neutral_bonded=bonded)
    site = with_parts(base, panels=(*base.panels, barn), feeders=(*base.feeders, run))
    assert [f.severity for f in asked(site)] == ([severity] if severity else [])
    old = "detached-three-wire" in {f.code for f in check_site(site).findings}
    assert old is (bonded and severity is None)


@pytest.mark.parametrize("main_a", [None, 100])
def test_a_breaker_entered_at_an_interlock_is_its_main_unless_the_panel_has_one(main_a) -> None:
    """Bonds and grounds go by the same disconnect."""
    base = interlock_site()
    runs = tuple(
        f.model_copy(update={"segments": (wire("PVC"),), "breaker_a": 100})
        if f.from_id == "grid"
        else f
        for f in base.feeders
    )
    panels = tuple(p.model_copy(update={"main_a": main_a}) for p in base.panels)
    assert bool(asked(with_parts(base, feeders=runs, panels=panels))) is (main_a is not None)


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
