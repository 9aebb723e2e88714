from __future__ import annotations

import pytest

from server.domain.supply import Segment
from server.rules.editions import rulebook
from server.rules.fault_current import wires_from
from server.rules.hazards import hazards
from tests.builders import (
    backed_up_site,
    double_throw_site,
    feeder,
    normal_only_site,
    panel,
    service,
    with_parts,
)


@pytest.mark.parametrize(
    ("main_ka", "backed_ka", "switch_ka", "weak"),
    [
        (22, 22, 22, []),
        (22, 10, 22, ["backed"]),
        (22, 22, 10, ["ats"]),
        (10, 10, None, ["main", "backed"]),
    ],
)
def test_every_panel_and_switch_below_is_held_against_the_fault_current(
    main_ka: float, backed_ka: float, switch_ka: float | None, weak: list[str]
) -> None:
    site = backed_up_site(services=(service(fault_current_a=18_000),))
    switch = site.transfer_switches[0].model_copy(
        update={"withstand_a": None if switch_ka is None else switch_ka * 1000}
    )
    site = with_parts(
        site,
        panels=(
            panel("main", main_a=200, neutral_bonded=True, interrupting_a=main_ka * 1000),
            panel("backed", rating_a=125, interrupting_a=backed_ka * 1000),
        ),
        transfer_switches=(switch,),
    )
    found = hazards(site)
    assert [(f.element_id, f.severity) for f in found] == [(e, "warning") for e in weak]
    for finding in found:
        assert "18,000 A" in finding.text
        assert "10,000 A" in finding.text
        assert ("wire between" in finding.text) is (finding.element_id != "main")
        assert finding.section == "110.9, 110.10"


def test_the_marking_that_dwellings_are_free_of_is_not_cited() -> None:
    assert rulebook("2023").figure("interrupting_rating").cite.section == "110.9, 110.10"


def behind(*segments: Segment, rated_a: float = 10_000, fault_a: float = 18_000, **changes):
    """A garage panel behind these lengths of feeder."""
    return normal_only_site(
        services=(service(fault_current_a=fault_a),),
        panels=(
            panel("main", main_a=200, neutral_bonded=True, interrupting_a=22_000),
            panel("garage", interrupting_a=rated_a),
        ),
        feeders=(
            feeder("grid", "main"),
            feeder("main", "garage", breaker_a=100, segments=segments),
        ),
        **changes,
    )


def of_garage(site):
    return next(f for f in hazards(site) if f.element_id == "garage")


def test_the_wire_alone_bounds_the_fault_current_at_its_end() -> None:
    """150 ft of 1 aluminum, 0.253 Ω/1000 ft at 75 °C (Chapter 9 Table 8, from memory).

    At 15 °F it is 0.253 x (1 + 0.00330 x (-9.44 - 75)) = 0.1825 Ω/1000 ft (Table 8 note 2), so one
    wire has 0.02738 Ω and 120 V drive 4,384 A through it. Warm it would be 240 V / 0.0759 Ω, 3,162.
    """
    site = behind(Segment(run_ft=150, size="1", metal="aluminum"))
    assert wires_from(site, "grid")["garage"].most_a == pytest.approx(4384, rel=1e-3)
    found = of_garage(site)
    assert (found.code, found.severity) == ("fault-current-lowered", "note")
    assert "at most 4,384 A" in found.text
    assert "150 ft of 1 aluminum × 0.182 Ω/1000 ft" in found.text
    assert "15 °F" in found.text


def test_lengths_one_behind_the_other_add_and_sets_beside_each_other_halve() -> None:
    one = wires_from(behind(Segment(run_ft=50, size="2", metal="copper")), "grid")
    two = Segment(run_ft=50, size="2", metal="copper")
    both = wires_from(behind(two, two.model_copy(update={"sets": 2})), "grid")
    assert both["garage"].ohm == pytest.approx(1.5 * one["garage"].ohm)
    assert "2 sets" in both["garage"].words[1]


def test_a_short_wire_stays_a_warning_with_the_lower_figure() -> None:
    """10 ft of 1 copper, 0.154 Ω/1000 ft at 75 °C: about 107,000 A come through, no bound."""
    short = of_garage(behind(Segment(run_ft=10, size="1", metal="copper")))
    assert (short.code, short.severity) == ("fault-current-above-rating", "warning")
    assert "The wire between them lowers that" in short.text
    middle = of_garage(behind(Segment(run_ft=70, size="1", metal="copper")))
    assert middle.code == "fault-current-above-rating"
    assert "At most" in middle.text


def test_a_length_that_is_not_told_lowers_nothing() -> None:
    assert of_garage(behind()).code == "fault-current-above-rating"


def test_a_colder_site_lets_more_through() -> None:
    part = Segment(run_ft=150, size="1", metal="aluminum")
    warm, cold = (
        wires_from(behind(part, design_low_f=low), "grid")["garage"].most_a for low in (40, -20)
    )
    assert cold > warm


def test_of_two_ways_the_one_of_less_resistance_counts() -> None:
    site = double_throw_site()
    ways = {f.to_input: f.id for f in site.feeders if f.to_input in ("normal", "backed_up")}
    long, short = (Segment(run_ft=ft, size="2") for ft in (300, 20))
    feeders = tuple(
        f.model_copy(update={"segments": (long if f.to_input == "normal" else short,)})
        if f.id in ways.values()
        else f
        for f in site.feeders
    )
    site = with_parts(site, feeders=feeders)
    (throw,) = site.double_throws
    assert "20 ft" in " ".join(wires_from(site, "grid")[throw.id].words)
