"""An apartment on a feeder from its building's service: Article 215, not 230."""

from __future__ import annotations

import pytest

from server.domain.supply import Segment, Service
from server.exchange.sitefile import read_site_file, write_site_file
from server.rules.check import check_site
from server.rules.demand.report import demand_of
from server.rules.editions import rulebook
from server.rules.wiring.service import of_service
from tests import builders
from tests.rules.check_sites import RULES, codes, found, plain

OF_A_SERVICE = {"service-under-100", "emergency-disconnect", "surge-protection"}


def flat(*, building_feeder=True, bonded=False, main_a=60, **changes):
    own = builders.service(main_a=main_a, system="120/208", building_feeder=building_feeder)
    panels = (builders.panel("main", rating_a=125, neutral_bonded=bonded),)
    return plain(builders.circuit("a", "main", 1, load_w=1200), services=(own,), panels=panels,
                 **changes)  # fmt: skip


def test_what_is_asked_of_a_service_is_not_asked_of_a_feeder():
    """230.79(C), 230.85 and 230.67 are of service disconnects and services."""
    assert codes(flat(building_feeder=False, bonded=True)) >= OF_A_SERVICE
    assert not codes(flat()) & OF_A_SERVICE


@pytest.mark.parametrize(("edition", "asked"), [("2020", False), ("2023", True), ("2026", True)])
def test_a_feeder_of_a_dwelling_needs_surge_protection_since_2023(edition, asked):
    """215.18."""
    assert ("surge-protection-feeders" in codes(flat(), edition=edition)) == asked


def test_the_sheet_has_no_least_of_a_service():
    sheet = demand_of(flat(), "grid", rules=RULES).sheet("standard")
    assert sheet is not None
    assert sheet.least_a is None
    as_service = demand_of(flat(building_feeder=False), "grid", rules=RULES).sheet("standard")
    assert as_service is not None
    assert as_service.least_a == 100


def test_neutral_and_ground_stay_apart_in_its_panel():
    """The building's service holds the bond: 250.24, 250.142(B)."""
    assert "no-neutral-bond" not in codes(flat())
    assert "two-neutral-bonds" not in codes(flat())
    finding = found(flat(bonded=True), "two-neutral-bonds")
    assert "the building’s service, ahead of Service grid" in finding.text
    assert "two-neutral-bonds" not in codes(flat(building_feeder=False, bonded=True))


def test_its_wire_is_a_feeder_with_a_ground_of_its_own():
    part = Segment(run_ft=60, size="6", raceway="PVC 40")
    wired = builders.feeder("grid", "main", segments=(part,))
    site = flat(feeders=(wired,))
    assert not of_service(site, site.feeders[0])
    assert "feeder-ground-asked" in codes(site)
    grounded = part.model_copy(update={"ground_size": "10"})
    site = flat(feeders=(builders.feeder("grid", "main", segments=(grounded,)),))
    assert "feeder-ground-asked" not in codes(site)
    wiring = check_site(site).wiring[0]
    assert not wiring.service
    assert wiring.device_a == 60
    conductors = rulebook("2023").figure("feeder_wire").cite.section
    assert conductors.startswith("215.2")


def test_a_transfer_switch_behind_it_is_no_service_equipment():
    house = builders.whole_house_site()
    service = house.services[0].model_copy(update={"building_feeder": True})
    switch = house.transfer_switches[0].model_copy(update={"service_rated": False})
    own = builders.with_parts(house, services=(service,), transfer_switches=(switch,))
    plain_service = builders.with_parts(house, transfer_switches=(switch,))
    assert "switch-not-service-rated" in codes(plain_service)
    assert "switch-not-service-rated" not in codes(own)


def test_a_site_file_keeps_it_and_an_old_one_without_it_is_a_service():
    assert read_site_file(write_site_file(flat())).services[0].building_feeder
    old = Service.model_validate({"id": "grid", "name": "Grid", "main_a": 100})
    assert not old.building_feeder
