from __future__ import annotations

from itertools import pairwise

import pytest

from server.simulate.run import cached_run
from server.web.drawing.columns import columns
from server.web.drawing.moment import Moment
from server.web.drawing.oneline import one_line
from tests.builders import EVERY_SITE, double_throw_site, handle_set_site

CASES = [(name, scenario.id) for name, make in EVERY_SITE.items() for scenario in make().scenarios]


def moment_of(name: str, scenario_id: str, step: int) -> Moment:
    site = EVERY_SITE[name]()
    return Moment(cached_run(site, site.scenario(scenario_id)), step)


@pytest.mark.parametrize(("name", "scenario_id"), CASES)
def test_any_site_is_drawn_inside_its_sheet_without_overlapping_columns(
    name: str, scenario_id: str
) -> None:
    line = one_line(moment_of(name, scenario_id, 200))
    marks = sorted(line.columns, key=lambda c: c.x)
    assert all(a.x + a.width < b.x for a, b in pairwise(marks))
    assert max(m.x + m.width for m in marks) <= line.width
    assert all(placed.y < line.height for m in marks for placed in m.rows)
    places = sorted(s.x for s in line.sources)
    assert all(b - a >= 236 for a, b in pairwise(places))


@pytest.mark.parametrize(("name", "scenario_id"), CASES)
@pytest.mark.parametrize("step", [0, 200])
def test_rows_under_a_live_bar_sum_to_its_total(name: str, scenario_id: str, step: int) -> None:
    for column in columns(moment_of(name, scenario_id, step)):
        if column.total is None:
            continue
        top = [r for r in column.rows if r.depth == 0]
        for leg in ("l1", "l2"):
            summed = sum(_figure(getattr(r, leg)) for r in top)
            assert summed == pytest.approx(_figure(getattr(column.total, leg)), abs=0.11)


def _figure(text: str) -> float:
    return float(text) if text not in {"", "–"} else 0.0


def test_a_dead_bus_is_hatched_and_lists_what_asks_for_power() -> None:
    made = {c.id: c for c in columns(moment_of("backed_up", "out", 200))}
    assert made["main"].dead
    assert made["main"].state == "dead"
    assert [(r.name, r.l2) for r in made["main"].rows] == [("Circuit a", "1.2 kW")]
    assert made["backed"].state == "on generator"


def test_a_wire_to_the_position_not_taken_is_live_but_open() -> None:
    site = double_throw_site(resting="normal")
    line = one_line(Moment(cached_run(site, site.scenario("day")), 10))
    texts = [w.text for w in line.wires if w.text]
    assert any(t.startswith("Feeder backed-throw") and t.endswith("open") for t in texts)
    assert line.switches[1].left_live
    assert not line.switches[1].left_chosen


def test_circuits_on_handles_hang_under_the_handle_set_alone() -> None:
    site = handle_set_site()
    made = {c.id: c for c in columns(Moment(cached_run(site, site.scenario("out")), 200))}
    assert {r.name for r in made["handles"].rows} == {"Circuit a", "Circuit b"}
    assert [r.name for r in made["main"].rows] == ["Circuit c"]


def test_no_two_wires_share_a_stretch_of_track() -> None:
    for name in EVERY_SITE:
        line = one_line(moment_of(name, EVERY_SITE[name]().scenarios[0].id, 0))
        spans: dict[float, list[tuple[float, float]]] = {}
        for wire in line.wires:
            if wire.text:
                start = float(wire.path[1:].split(" ")[0])
                end = float(wire.path.split("H")[1].split("V")[0])
                spans.setdefault(wire.text_y, []).append((min(start, end), max(start, end)))
        for found in spans.values():
            found.sort()
            assert all(a[1] <= b[0] for a, b in pairwise(found)), name
