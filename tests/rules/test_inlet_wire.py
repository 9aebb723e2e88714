"""Wire from a portable set to its inlet is protected where it gets its supply, at the set."""

from __future__ import annotations

import pytest

from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from tests.builders import with_parts

BUNGALOW = read_site_file((DEMOS / "bungalow.json").read_bytes())


def checked(**of_set):
    """The bungalow's findings about its inlet run of 10 copper, back-fed through 30 A."""
    sets = tuple(g.model_copy(update=of_set) for g in BUNGALOW.generators)
    found = check_site(with_parts(BUNGALOW, generators=sets))
    wired = next(w for w in found.wiring if w.feeder_id == "inlet-feeder")
    return wired, {f.code: f for f in found.findings if f.element_id == "inlet-feeder"}


@pytest.mark.parametrize("breaker_a", [40.0, 50.0])
def test_a_smaller_back_fed_breaker_does_not_protect_the_wire_of_a_larger_set(breaker_a):
    """10 copper goes behind 30 A at most (240.4(D)(7)); the supply comes through the set's."""
    wired, found = checked(
        rated_kw=12.0, breaker_a=breaker_a, receptacle_a=50.0, cord_a=50.0, inlet_a=50.0
    )
    assert wired.device_a == breaker_a
    assert found["wire-too-small"].severity == "blocking"
    assert f"not {breaker_a:g} A" in found["wire-too-small"].text


def test_a_set_of_its_own_size_is_at_peace_with_the_wire():
    wired, found = checked(breaker_a=30.0)
    assert wired.device_a == 30.0
    assert "wire-too-small" not in found


def test_a_set_whose_breaker_was_not_read_leaves_the_breaker_that_is_told():
    assert checked(breaker_a=None)[0].device_a == 30.0


def test_amps_entered_for_the_wire_are_mended_at_the_set():
    feeders = tuple(
        f.model_copy(update={"ampacity_a": 30.0}) if f.id == "inlet-feeder" else f
        for f in BUNGALOW.feeders
    )
    larger = {"rated_kw": 12.0, "breaker_a": 50.0, "receptacle_a": 50.0}
    larger |= {"cord_a": 50.0, "inlet_a": 50.0}
    sets = tuple(g.model_copy(update=larger) for g in BUNGALOW.generators)
    site = with_parts(BUNGALOW, feeders=feeders, generators=sets)
    found = {f.code: f for f in check_site(site, recheck=True).findings}
    finding = found["device-above-ampacity"]
    assert f"30 A or less at {sets[0].name}" in finding.mend
    assert finding.recheck.change == f"a 30 A breaker at {sets[0].name}"
    assert finding.recheck.clears


@pytest.mark.parametrize(("inlet_a", "told"), [(30.0, False), (50.0, True)])
def test_an_inlet_for_a_larger_set_than_its_wire_is_told(inlet_a, told):
    """10 copper goes behind 30 A at most (240.4(D)(7)), whatever set is plugged in now."""
    _, found = checked(breaker_a=30.0, inlet_a=inlet_a)
    assert ("inlet-above-wire" in found) == told
    if told:
        assert (found["inlet-above-wire"].value, found["inlet-above-wire"].limit) == (50.0, 30.0)
