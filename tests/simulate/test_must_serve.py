"""Must-serve circuits that go dark: each of them, with its longest gap and all of them."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from server.domain.scenario import Window
from server.simulate.must_serve import must_serve
from server.simulate.results import Run
from server.simulate.run import simulate
from server.simulate.summary import summarise
from tests.builders import START, appliance, circuit, normal_only_site, scenario


def _run(**second: Any) -> Run:
    site = normal_only_site(
        circuits=(
            circuit("a", "main", 1, load_class="must_serve"),
            circuit("b", "main", 3, load_class="must_serve", **second),
            circuit("c", "main", 5),
        )
    )
    windows = tuple(
        Window(start=START + timedelta(hours=a), end=START + timedelta(hours=b))
        for a, b in ((1, 2), (3, 4.5))
    )
    return simulate(site, scenario(outages=windows))


def test_each_that_goes_dark_is_listed_with_longest_and_all() -> None:
    found = must_serve(_run())
    assert [one.circuit_id for one in found.dark] == ["a", "b"]
    for one in found.dark:
        assert (one.longest_min, one.dark_min, one.times) == (90.0, 150.0, 2)
        assert one.first_at == START + timedelta(hours=1)
        assert one.longest_at == START + timedelta(hours=3)
        assert one.hours == 0.0
        assert one.too_long
        assert one.bears_min == 2.0


def test_those_that_can_bear_it_come_after() -> None:
    found = must_serve(_run(allowed_gap_min=120))
    assert [(one.circuit_id, one.too_long) for one in found.dark] == [("a", True), ("b", False)]


def test_those_never_dark_are_named_apart() -> None:
    site = normal_only_site(circuits=(circuit("a", "main", 1, load_class="must_serve"),))
    found = must_serve(simulate(site, scenario()))
    assert found.dark == ()
    assert found.lit == (site.circuits[0].name,)


def test_the_summary_lists_them() -> None:
    view = summarise(_run())
    assert [m.dark_min for m in view.must_serve] == [150.0, 150.0]
    assert {c.circuit_id: c.dark_min for c in view.circuits} == {"a": 150.0, "b": 150.0, "c": 150.0}


def test_a_wait_that_stands_on_a_battery_says_so_and_asks_for_no_other() -> None:
    device = appliance("mask", 60, kind="oxygen-concentrator")
    run = _run(own_battery_min=120, appliances=(device,))
    one = next(dark for dark in must_serve(run).dark if dark.circuit_id == "b")
    assert (one.bears_min, one.battery_min, one.too_long) == (80.0, 120.0, True)
    assert not one.asks_battery
    assert "it can wait 1 h 20 min, two thirds of its battery’s 2 h" in run.verdict.sentence


def test_only_a_device_with_neither_wait_nor_battery_is_asked_for_one() -> None:
    device = appliance("mask", 60, kind="oxygen-concentrator")
    for told, asks in (({}, True), ({"allowed_gap_min": 5}, False)):
        dark = must_serve(_run(appliances=(device,), **told)).dark
        assert [one.asks_battery for one in dark if one.circuit_id == "b"] == [asks]
    assert not any(one.asks_battery for one in must_serve(_run()).dark)
