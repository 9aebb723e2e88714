"""The two halves of one heat pump, which do not run at one time."""

from __future__ import annotations

import pytest

from server.domain.behaviour import Constant
from server.domain.catalogue import KINDS
from server.domain.finding import Finding
from server.domain.site import Site
from server.simulate.run import simulate
from tests.builders import appliance, circuit, normal_only_site, scenario, with_parts


def site_with(kind: str, beside: str, share: float = 1.0) -> Site:
    parts = (
        appliance("warm", 3600, volts=240, kind=kind, name="Heating"),
        appliance("cold", 3300, volts=240, kind=beside, name="Cooling"),
    )
    cold = parts[1].model_copy(update={"behaviour": Constant(share=share)})
    both = circuit("pump", "main", 1, 3, appliances=(parts[0], cold), breaker_a=40)
    return with_parts(normal_only_site(), circuits=(both,))


def told(site: Site) -> list[Finding]:
    run = simulate(site, scenario(span_h=3))
    return [f for f in run.findings if f.code == "halves-run-together"]


def test_halves_that_always_run_are_told_with_how_long() -> None:
    (note,) = told(site_with("heat-pump", "heat-pump-cooling"))
    assert (note.severity, note.element_id) == ("note", "pump")
    assert note.value == pytest.approx(180)
    assert "Heating and Cooling on" in note.text
    assert "for 180 min" in note.text


def test_both_halves_of_a_mini_split_are_told() -> None:
    assert len(told(site_with("mini-split", "mini-split-cooling"))) == 1


def test_the_oven_and_the_top_of_a_range_may_run_together() -> None:
    site = site_with("range-oven", "range-burners")
    run = simulate(site, scenario(span_h=3))
    assert (run.circuit_w[0] > 3300 + 1).any()
    assert told(site) == []


@pytest.mark.parametrize(
    ("kind", "beside", "share"),
    [("heat-pump", "heat-pump-cooling", 0.0), ("heat-pump", "central-air", 1.0)],
)
def test_one_that_rests_and_two_machines_are_not_told(kind: str, beside: str, share: float) -> None:
    assert told(site_with(kind, beside, share)) == []


def test_what_the_catalogue_gives_them_never_runs_them_together() -> None:
    """By a room of their own behaviour one heats and the other cools."""
    assert {KINDS[k].behaviour.model for k in ("heat-pump", "heat-pump-cooling")} == {"room"}
