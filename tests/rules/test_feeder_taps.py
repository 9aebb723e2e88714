"""Taps of a feeder by 240.21(B)(1) and (2), by hand; the sources stand with the figures.

Table 310.16 at 75 °C, copper: 10 carries 35 A, 8 50 A, 6 65 A, 4 85 A. Ahead stands the main of
200 A: a tenth of it is 20 A, a third 66.7 A.
"""

from __future__ import annotations

import pytest

from server.domain.supply import Segment
from server.rules.check import check_site
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import of_kind, plain
from tests.rules.sound import sound


def tapped(size, run_ft, end_a, *, main_a=200, breaker_a=None, parts=1, **changes):
    each = Segment(
        run_ft=run_ft / parts, size=size, metal="copper", terminal_c=75, ground_size="6",
        **changes,
    )  # fmt: skip
    return plain(
        of_kind("tank", "sub", (1, 3), "water-heater"),
        of_kind("lights", "main", (1,), "lighting"),
        panels=(
            builders.panel("main", main_a=main_a, rating_a=400, neutral_bonded=True),
            builders.panel("sub", rating_a=200, main_a=end_a),
        ),
        services=(builders.service(main_a=main_a),),
        feeders=(
            builders.feeder("grid", "main"),
            builders.feeder("main", "sub", breaker_a=breaker_a, segments=(each,) * parts),
        ),
    )


def told(site):
    report = check_site(site)
    for finding in report.findings:
        sound(finding, site)
    return {f.code: f for f in report.about("main-sub")}


@pytest.mark.parametrize(
    ("size", "run_ft", "end_a", "section"),
    [
        ("6", 8, 60, "240.21(B)(1)"),
        ("6", 10, 60, "240.21(B)(1)"),
        ("6", 10.5, 60, None),  # past 10 ft 65 A are less than a third of 200 A
        ("4", 10.5, 70, "240.21(B)(2)"),
        ("4", 25, 80, "240.21(B)(2)"),
        ("4", 25.5, 70, None),
        ("4", 8, 90, None),  # 85 A under the main of 90 A: no next size up for a tap
        ("4", 8, 85, "240.21(B)(1)"),
        ("10", 8, 30, "240.21(B)(1)"),
    ],
)
def test_a_tap_goes_by_its_length_its_wire_and_the_main_at_its_end(size, run_ft, end_a, section):
    found = told(tapped(size, run_ft, end_a))
    assert ("feeder-tap" in found) == (section is not None)
    assert ("wire-too-small" in found) == (section is None)
    if section is None:
        assert found["wire-too-small"].severity == "blocking"
    else:
        tap = found["feeder-tap"]
        assert (tap.severity, tap.section) == ("note", section)
        assert f"so 200 A stand ahead of its {size} copper" in tap.text
        assert f"a tap of {run_ft:g} ft to the main of {end_a:g} A" in tap.text
        assert "raceway" in tap.mend


@pytest.mark.parametrize(
    ("size", "main_a", "lawful"), [("10", 350, True), ("10", 400, False), ("8", 400, True)]
)
def test_a_short_tap_carries_a_tenth_of_what_is_ahead(size, main_a, lawful):
    """35 A are a tenth of 350 A; 8 copper carries 50 A."""
    assert ("feeder-tap" in told(tapped(size, 8, 30, main_a=main_a))) == lawful


def test_every_length_of_a_tap_counts():
    """Two pieces of 6 ft are 12 ft, past the shorter rule."""
    assert "wire-too-small" in told(tapped("6", 12, 60, parts=2))
    found = told(tapped("4", 12, 70, parts=2))
    assert found["feeder-tap"].section == "240.21(B)(2)"
    assert found["feeder-tap"].text.count("4 copper") == 1


def test_the_smallest_piece_of_a_tap_counts():
    site = tapped("4", 12, 70, parts=2)
    mixed = tuple(
        f.model_copy(
            update={"segments": (f.segments[0], f.segments[1].model_copy(update={"size": "6"}))}
        )
        if f.id == "main-sub"
        else f
        for f in site.feeders
    )
    assert "wire-too-small" in told(with_parts(site, feeders=mixed))


def test_what_has_a_breaker_or_ends_in_none_is_no_tap():
    assert "feeder-tap" not in told(
        tapped(
            "6",
            8,
            60,
            breaker_a=100,
        )
    )
    assert "wire-too-small" in told(tapped("6", 8, 60, breaker_a=100))
    assert "wire-too-small" in told(tapped("6", 8, None))


def test_wire_that_its_device_protects_is_no_tap():
    """3/0 copper carries 200 A."""
    assert not {"feeder-tap", "wire-too-small"} & set(told(tapped("3/0", 8, 60)))


def test_service_conductors_are_no_tap():
    """240.21(B) is of feeders; 6 copper under a main of 200 A stays too small."""
    site = tapped("3/0", 8, 60)
    wire = Segment(run_ft=8, size="6", metal="copper", terminal_c=75)
    feeders = tuple(
        f.model_copy(update={"segments": (wire,)}) if f.id == "grid-main" else f
        for f in site.feeders
    )
    report = check_site(with_parts(site, feeders=feeders))
    assert "feeder-tap" not in {f.code for f in report.findings}


def test_a_tap_of_which_a_piece_is_not_known_is_none():
    """Two wires of 6 copper in parallel are in no table; what is known is held to its device."""
    site = tapped("6", 8, 60, parts=2)
    odd = tuple(
        f.model_copy(
            update={"segments": (f.segments[0], f.segments[1].model_copy(update={"sets": 2}))}
        )
        if f.id == "main-sub"
        else f
        for f in site.feeders
    )
    found = told(with_parts(site, feeders=odd))
    assert "feeder-tap" not in found
    assert {"feeder-wire-unchecked", "wire-too-small"} <= set(found)
