"""What a scenario says of one of several sets: whether it starts, at which try, with what fuel."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from server.advise.next_step import next_step
from server.advise.outage_plan import outage_plan
from server.domain.panel import Panel
from server.domain.scenario import OwnSet, Scenario
from server.domain.site import Site
from server.domain.supply import Feeder, FuelTank, TransferSwitch
from server.domain.supply_edits import remove_part
from server.exchange.sitefile import read_site_file, write_site_file
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import START, backed_up_site, circuit, generator, scenario, with_parts


def two(*own: OwnSet, **changes: Any) -> tuple[Site, Scenario]:
    """The house on one set and a barn on another, both of 20 kW with a tank of 20 gal."""
    tank = FuelTank(capacity_gal=20.0, fill_share=1.0, reserve_share=0.0)
    sets = [generator(i, name=n, fuel="gasoline", tank=tank) for i, n in SETS.items()]
    feeders = (
        Feeder(
            id="bu",
            name="Barn feeder",
            from_id="main",
            to_id="bt",
            to_input="utility",
            breaker_a=60,
            spaces=(18, 20),
        ),
        Feeder(
            id="bs",
            name="Barn set feeder",
            from_id="other",
            to_id="bt",
            to_input="generator",
            breaker_a=60,
        ),
        Feeder(id="bl", name="Barn load", from_id="bt", to_id="barn"),
    )
    base = backed_up_site()
    day = scenario("out", span_h=6, outage_h=(1, 5), own_sets=own, **changes)
    site = with_parts(
        base,
        generators=tuple(sets),
        transfer_switches=(
            *base.transfer_switches,
            TransferSwitch(id="bt", name="Barn switch", rating_a=100),
        ),
        panels=(*base.panels, Panel(id="barn", name="Barn panel", rating_a=100, spaces=20)),
        feeders=(*base.feeders, *feeders),
        circuits=(*base.circuits, circuit("mow", "barn", 1, 3, load_w=2000, breaker_a=30)),
        scenarios=(day,),
    )
    return site, day


SETS = {"set": "House set", "other": "Barn set"}


def ran_h(run: Run) -> dict[str, float]:
    return {s.source_id: s.run_h for s in run.sources if s.kind == "generator"}


def test_one_of_two_that_does_not_start_is_named() -> None:
    site, day = two(OwnSet(set_id="other", state="fails"))
    run = simulate(site, day)
    assert ran_h(run)["set"] > 3.9
    assert ran_h(run)["other"] == 0.0
    assert [e.text for e in run.events if "does not start" in e.text] == ["Barn set does not start"]
    row = [c.id for c in site.circuits].index("mow")
    (dark,) = run.served.dark(row)
    assert dark == pytest.approx((3600.0, 5 * 3600.0))


def test_the_same_the_other_way_round() -> None:
    """Nothing starts but the barn's: what is so of every set does not bind the one named."""
    site, day = two(OwnSet(set_id="other", state="ready"), generator="absent")
    hours = ran_h(simulate(site, day))
    assert hours["set"] == 0.0
    assert hours["other"] > 3.9


def test_each_has_its_own_tries() -> None:
    """Ten seconds to give; the barn's at its third try, two of its ``retry_s`` later."""
    site, day = two(OwnSet(set_id="other", tries=3))
    run = simulate(site, day)
    retry_s = site.generators[1].retry_s
    begins = {i: run.served.running[i][0][0] for i in SETS}
    assert begins["other"] - begins["set"] == pytest.approx(2 * retry_s)
    assert [e.text for e in run.events if "catch" in e.text] == ["Barn set does not catch, 2 times"]


def test_each_has_its_own_fuel() -> None:
    """20 gal and a tenth of that: only the second runs dry."""
    site, day = two(OwnSet(set_id="other", fuel_share=0.02))
    run = simulate(site, day)
    assert {n.generator_id: n.there_gal for n in run.fuel} == pytest.approx(
        {"set": 20.0, "other": 0.4}
    )
    assert [n.generator_id for n in run.fuel if n.runs_dry] == ["other"]


def test_the_next_step_has_every_set_start() -> None:
    must = {"load_class": "must_serve"}
    site, day = two(OwnSet(set_id="other", state="absent"))
    barn = site.circuits[-1].model_copy(update=must)
    site = with_parts(site, circuits=(*site.circuits[:-1], barn))
    step = next_step(site, day)
    assert "leaves Barn set unused by choice" in step.sentence
    assert day.with_every_set().state_of("other") == "ready"


def test_the_plan_speaks_of_the_one_that_runs() -> None:
    site, day = two(OwnSet(set_id="other", state="fails"))
    plan = outage_plan(simulate(site, day))
    told = " ".join(t.text for t in plan.during)
    assert "House set starts by itself" in told
    assert "Barn set starts by itself" not in told
    assert "Barn set does not start in this run" in told


def test_a_file_without_such_rows_opens_and_one_with_them_comes_back() -> None:
    site, _ = two(OwnSet(set_id="other", fuel_share=0.5))
    text = write_site_file(site)
    assert read_site_file(text).scenarios[0].own_sets == site.scenarios[0].own_sets
    plain, _ = two()
    assert plain.scenarios[0].own_sets == ()


def test_what_names_no_set_or_one_twice_is_refused() -> None:
    site, day = two()
    with pytest.raises(ValueError, match="listed twice"):
        day.model_validate(day.model_dump() | {"own_sets": [{"set_id": "other"}] * 2})
    gone = day.model_copy(update={"own_sets": (OwnSet(set_id="nobody"),)})
    with pytest.raises(ValueError, match="not here"):
        with_parts(site, scenarios=(gone,))


def test_rows_go_with_their_set() -> None:
    site, _ = two(OwnSet(set_id="other", state="fails"))
    left = remove_part(site, "bt", then="below")
    kept = {g.id for g in left.generators}
    assert all(o.set_id in kept for s in left.scenarios for o in s.own_sets)


def test_a_run_begun_in_the_outage_says_that_sets_are_as_entered() -> None:
    site, day = two(OwnSet(set_id="other", state="fails"))
    late = day.model_copy(update={"start": START + timedelta(hours=2)})
    run = simulate(site, late)
    assert any("sets, switches and weather as entered" in d for d in [run.verdict.detail])
