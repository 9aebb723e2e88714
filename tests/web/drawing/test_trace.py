from __future__ import annotations

import numpy as np
import pytest

from server.simulate.run import cached_run
from server.web.drawing.gauge import (
    Gauge,
    LimitStretch,
    dead_stretches,
    gauges,
    on_generator,
    positions,
)
from server.web.drawing.strip import day_cells, day_spans, run_strip
from server.web.drawing.trace import Box, nice_ticks, spread, trace
from tests.builders import (
    EVERY_SITE,
    backed_up_site,
    double_throw_site,
    generator,
    scenario,
    two_services_site,
    with_parts,
)


def gauge(l1: list[float], *, limit: float = 10.0, dead: list[bool] | None = None) -> Gauge:
    legs = np.array([l1, [0.0] * len(l1)])
    flags = np.array(dead or [False] * len(l1))
    stretch = LimitStretch(0, len(l1), limit, "10 A main")
    return Gauge("b", "Bus", "normal", "p", legs, np.full(len(l1), limit), flags, (stretch,))


BOX = Box(0, 0, 100, 100)


def test_a_single_high_minute_survives_being_drawn_small() -> None:
    amps = [1.0] * 1000
    amps[500] = 9.0
    drawn = trace(gauge(amps), first=0, last=1000, box=BOX, top_a=10)
    assert f"V{50 - 9 * 5:.1f}" in drawn.l1


def test_only_what_is_past_the_limit_is_red() -> None:
    drawn = trace(gauge([5.0, 12.0, 5.0]), first=0, last=3, box=BOX, top_a=20)
    assert drawn.l1_over == "M33.3 25.0V20.0H66.7V25.0Z"
    assert drawn.l2_over == ""


def test_a_dead_stretch_is_never_over() -> None:
    assert not gauge([12.0], dead=[True]).over.any()


def test_ticks_are_round_and_levels_keep_apart() -> None:
    assert nice_ticks(62.0) == (0.0, 25.0, 50.0)
    assert spread([5.0, 4.0], 10.0) == [14.0, 4.0]


def test_the_limit_of_a_backed_up_bus_steps_to_the_generator_in_an_outage() -> None:
    site = EVERY_SITE["backed_up"]()
    run = cached_run(site, site.scenario("out"))
    backed = next(g for g in gauges(run) if g.id == "ats")
    assert backed.limit[0] == 100
    assert backed.limit[200] == pytest.approx(83.33, abs=0.01)
    assert [s.text.split(" A ")[0] for s in backed.stretches] == ["100", "83.3", "100"]


def test_a_set_that_two_switches_share_has_a_gauge_of_its_own() -> None:
    site = two_services_site()
    found = {g.id for g in gauges(cached_run(site, site.scenario("out")))}
    assert "generator:set" in found


def test_positions_follow_the_moves_of_the_scenario() -> None:
    site = double_throw_site(resting="backed_up")
    run = cached_run(site, site.scenario("day"))
    assert positions(run, "throw").all()
    row = next(i for i, b in enumerate(run.buses) if b.id == "ats")
    assert not on_generator(run, row).any()


def test_days_cut_a_run_at_midnight() -> None:
    site = with_parts(EVERY_SITE["normal_only"](), scenarios=(scenario(span_h=40),))
    run = cached_run(site, site.scenario("day"))
    assert day_spans(run) == ((0, 720), (720, 2160), (2160, 2400))
    cells = day_cells(run, gauges(run)[0], step=800)
    assert [c.current for c in cells] == [False, True, False]
    assert run_strip(run, gauges(run)[0], step=None).cursor is None


def test_a_day_without_supply_is_dead_and_not_within() -> None:
    day = scenario(span_h=60, outage_h=(6, 56))
    site = with_parts(EVERY_SITE["normal_only"](), scenarios=(day,))
    run = cached_run(site, site.scenario("day"))
    cells = day_cells(run, gauges(run)[0], step=0)
    assert [c.dead for c in cells] == [False, True, False]
    assert [c.dead_for for c in cells] == ["6 h", "24 h", "20 h"]


def test_a_small_set_is_not_flattened_by_the_utilitys_limit() -> None:
    site = backed_up_site(generators=(generator(rated_kw=4),))
    run = cached_run(site, site.scenario("out"))
    backed = next(g for g in gauges(run) if g.id == "ats")
    small = float(backed.limit.min())
    assert float(backed.limit.max()) > 2 * small
    steps = run.steps
    assert backed.top_within(0, steps) < 2.2 * max(small, float(backed.legs.max()))
    drawn = trace(backed, first=0, last=steps, box=BOX, top_a=backed.top_within(0, steps))
    beyond = [line for line in drawn.limits if line.beyond]
    assert beyond
    assert all(line.text.endswith("above this scale") and line.up == BOX.y for line in beyond)


def test_a_gap_of_power_changes_no_limit() -> None:
    site = backed_up_site(generators=(generator(start_delay_s=1200),))
    run = cached_run(site, site.scenario("out"))
    backed = next(g for g in gauges(run) if g.id == "ats")
    assert backed.dead.any()
    for first, last in dead_stretches(backed):
        assert float(backed.limit[first]) == float(backed.limit[first - 1])
        assert len(set(backed.limit[first:last].tolist())) == 1
