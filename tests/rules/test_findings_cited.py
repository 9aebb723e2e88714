"""Findings stand on the section that asks for them, in the editions that have it."""

from __future__ import annotations

import pytest

from tests.rules.check_sites import codes, found, wired_shed


def test_a_small_ground_cites_the_table_of_grounds():
    assert found(wired_shed("1/0", ground_size="10"), "ground-too-small").section == "250.122"


@pytest.mark.parametrize("edition", ["2017", "2020", "2023"])
def test_the_shutdown_outside_is_asked_from_2020(edition):
    asked = "generator-shutdown" in codes(wired_shed("1/0"), edition=edition)
    assert asked == (edition != "2017")
