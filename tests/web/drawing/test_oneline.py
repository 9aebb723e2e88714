from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest

from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.simulate.run import cached_run
from server.web.drawing.columns import columns
from server.web.drawing.moment import Moment
from server.web.drawing.oneline import one_line
from server.web.drawing.oneline_parts import OneLine
from tests.builders import (
    EVERY_SITE,
    backed_up_site,
    double_throw_site,
    handle_set_site,
    with_parts,
)

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


@pytest.mark.parametrize(("name", "scenario_id"), CASES)
def test_no_wire_crosses_the_words_of_another_and_no_words_leave_the_sheet(
    name: str, scenario_id: str
) -> None:
    line = one_line(moment_of(name, scenario_id, 200))
    assert_words_stand_clear(line)


@pytest.mark.parametrize("demo", sorted(DEMOS.iterdir()), ids=lambda path: path.stem)
def test_the_words_of_a_demo_stand_clear(demo: Path) -> None:
    site = read_site_file(demo.read_bytes())
    for day in site.scenarios[:2]:
        assert_words_stand_clear(one_line(Moment(cached_run(site, day), 200)))


def test_words_that_would_cross_a_set_s_wire_stand_beside_it_or_are_shortened() -> None:
    """A feeder named at length runs up to a switch beside the wire of the set."""
    site = backed_up_site()
    named = tuple(
        f.model_copy(update={"name": "Feeder to the transfer switch, utility side, in the garage"})
        if f.to_input == "utility"
        else f
        for f in site.feeders
    )
    site = with_parts(site, feeders=named)
    line = one_line(Moment(cached_run(site, site.scenario("day")), 10))
    assert_words_stand_clear(line)
    assert [w.text for w in line.wires if " A: " in w.text]


def assert_words_stand_clear(line: OneLine) -> None:
    """5.8 px a letter is as wide as these words are drawn in a browser."""
    for wire in line.wires:
        if not wire.text:
            continue
        left, right = wire.text_x, wire.text_x + 5.8 * len(wire.text)
        assert left >= 0.0
        assert right <= line.width
        for other in line.wires:
            for x, top, foot in uprights(other.path):
                crosses = left < x < right and top < wire.text_y and foot > wire.text_y - 11.0
                assert not crosses, (wire.text, other.path)


def uprights(path: str) -> Iterator[tuple[float, float, float]]:
    """Every stretch of a path that goes straight up or down: x, its top and its foot."""
    x = y = 0.0
    for kind, rest in re.findall(r"([MVH])([^MVH]+)", path):
        if kind == "M":
            x, y = map(float, rest.split())
        elif kind == "H":
            x = float(rest)
        else:
            yield x, min(y, float(rest)), max(y, float(rest))
            y = float(rest)
