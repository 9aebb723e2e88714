"""Service conductors of a 120/208 V wye that stand on the 83 % rule alone."""

from __future__ import annotations

import pytest

from server.domain.supply import Segment
from server.rules.check import check_site
from tests.builders import with_parts
from tests.rules.check_sites import of_kind, plain


def told(size: str, system: str = "120/208", edition: str = "2023"):
    base = plain(of_kind("kiln", "main", (9, 11), "kiln", breaker_a=50))
    services = tuple(s.model_copy(update={"system": system}) for s in base.services)
    wire = (Segment(run_ft=20, size=size, metal="copper"),)
    feeders = tuple(
        f.model_copy(update={"segments": wire}) if f.from_id == "grid" else f for f in base.feeders
    )
    site = with_parts(base, services=services, feeders=feeders)
    found = check_site(site, edition=edition).findings
    return [f for f in found if f.code == "wye-service-by-share"]


@pytest.mark.parametrize(("edition", "section"), [("2017", "310.15(B)(7)"), ("2023", "310.12")])
def test_200_a_on_2_0_copper_is_asked_about(edition, section):
    """175 A at 75 °C (310.16): under 200 A and the next size up; over 83 %, 166 A."""
    (note,) = told("2/0", edition=edition)
    assert (note.severity, note.section) == ("note", section)
    assert "carries 175 A: enough for its device of 200 A by the 83 % " in note.text


def test_wire_that_needs_no_share_and_a_240_v_service_are_not():
    """3/0 carries 200 A by itself."""
    assert told("3/0") == []
    assert told("2/0", "120/240") == []
