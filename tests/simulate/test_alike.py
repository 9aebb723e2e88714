"""Limits that are the same along one way are told once."""

from __future__ import annotations

from server.domain.site import Site
from server.simulate.alike import folded
from server.simulate.run import simulate
from tests.builders import circuit, normal_only_site, panel, scenario, service


def _site(main_a: float = 15.0) -> Site:
    return normal_only_site(
        services=(service(main_a=15, meter_socket_a=15),),
        panels=(panel("main", rating_a=200, main_a=main_a),),
        circuits=(circuit("a", "main", 1, load_w=2160),),
    )


def test_the_same_rating_and_load_along_one_way_are_one_line() -> None:
    run = simulate(_site(), scenario(span_h=1))
    alike = next(f for f in folded(run.verdict.over) if f.others)
    assert {r.point.leg_rating_a for r in (alike.result, *alike.others)} == {15.0}
    assert alike.along.startswith("the same 15 A ")
    assert all(r.point.name in alike.along for r in alike.others)


def test_the_verdict_tells_them_once_and_counts_only_the_different() -> None:
    run = simulate(_site(), scenario(span_h=1))
    assert "along the way: also" in run.verdict.sentence
    assert "other limit" not in run.verdict.sentence


def test_another_rating_stays_apart() -> None:
    run = simulate(_site(main_a=14), scenario(span_h=1))
    found = folded(run.verdict.over)
    assert {f.result.point.leg_rating_a for f in found} == {14.0, 15.0}
    assert sum(1 + len(f.others) for f in found) == len(run.verdict.over)


def test_what_carries_nothing_is_not_folded() -> None:
    run = simulate(normal_only_site(circuits=()), scenario(span_h=1))
    assert not any(f.others for f in folded(run.limits))
