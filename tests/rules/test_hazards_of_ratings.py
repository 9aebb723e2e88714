from __future__ import annotations

from typing import Any

import pytest

from server.domain.supply import SolarArray
from server.rules.check import check_site
from server.rules.hazards import hazards
from tests.builders import (
    backed_up_site,
    circuit,
    double_throw_site,
    handle_set_site,
    normal_only_site,
    service,
    with_parts,
)


@pytest.mark.parametrize(
    ("socket_a", "main_a", "blocked"),
    [(100, 200, True), (200, 200, False), (None, 200, False), (320, 400, False), (200, 400, True)],
)
def test_a_meter_socket_below_the_main_blocks(
    socket_a: float | None, main_a: float, blocked: bool
) -> None:
    site = with_parts(
        normal_only_site(), services=(service(main_a=main_a, meter_socket_a=socket_a),)
    )
    found = [(f.code, f.severity) for f in hazards(site)]
    assert found == ([("meter-socket-below-main", "blocking")] if blocked else [])


@pytest.mark.parametrize(("breaker_a", "blocked"), [(30, False), (40, True)])
def test_a_breaker_above_its_transfer_handle_blocks(breaker_a: float, blocked: bool) -> None:
    site = handle_set_site()
    first = site.circuit("a").model_copy(update={"breaker_a": breaker_a})
    off_the_set = site.circuit("c").model_copy(update={"breaker_a": 60.0})
    found = hazards(with_parts(site, circuits=(first, site.circuit("b"), off_the_set)))
    assert [(f.code, f.severity, f.element_id) for f in found] == (
        [("breaker-above-transfer", "blocking", "a")] if blocked else []
    )


@pytest.mark.parametrize(
    ("panel_id", "breaker_a", "blocked"),
    [("backed", 100, False), ("backed", 110, True), ("swing", 60, False), ("swing", 70, True)],
)
def test_a_breaker_above_the_switch_that_feeds_its_panel_blocks(
    panel_id: str, breaker_a: float, blocked: bool
) -> None:
    site = double_throw_site() if panel_id == "swing" else backed_up_site()
    big = circuit("big", panel_id, 9, 11, breaker_a=breaker_a)
    found = [f.code for f in hazards(with_parts(site, circuits=(*site.circuits, big)))]
    assert found == (["breaker-above-transfer"] if blocked else [])


@pytest.mark.parametrize(("breaker_a", "warned"), [(30, False), (40, False), (60, True)])
def test_a_solar_breaker_far_above_its_output_warns(breaker_a: float, warned: bool) -> None:
    """5 kW is 20.8 A; x 1.25 is 26.0 A; half again is 39.1 A, so 40 A is the most."""
    changes: dict[str, Any] = {"dc_kw": 6, "ac_kw": 5, "spaces": (18, 20)}
    sun = SolarArray(id="sun", name="Solar", panel_id="main", breaker_a=breaker_a, **changes)
    site = with_parts(normal_only_site(), solar=(sun,))
    found = [f for f in check_site(site).findings if f.code == "solar-breaker-large"]
    assert [f.severity for f in found] == (["warning"] if warned else [])
    assert all(f.limit == 40 for f in found)
