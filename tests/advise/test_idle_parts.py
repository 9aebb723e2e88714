"""Managers and double-throws that have nothing left to act on are named and taken out."""

from __future__ import annotations

from datetime import timedelta

from server.advise.idle_parts import bare_throws, idle_under, idle_words, without_idle
from server.advise.next_step import next_step
from server.advise.plan_throws import throws
from server.domain.circuit import Circuit
from server.domain.scenario import SwitchMove
from server.domain.site import Site
from server.domain.supply import EnergyGroup
from server.simulate.run import simulate
from tests.builders import START, backed_up_site, circuit, double_throw_site, scenario, with_parts


def managed(circuit_id: str, panel_id: str, *spaces: int) -> Circuit:
    return circuit(
        circuit_id,
        panel_id,
        *spaces,
        load_w=2400,
        outage_role="managed",
        energy_group_id="manager",
    )


def house(*circuits: Circuit, **changes: object) -> Site:
    group = {"id": "manager", "name": "Load manager", "setting_a": 40.0, "watch_id": "set"}
    base = backed_up_site(energy_groups=(EnergyGroup(**group | changes),))
    return with_parts(base, circuits=(*base.circuits[:3], *circuits))


def test_a_circuit_that_hangs_where_the_set_does_not_feed_is_named_and_taken_out():
    site = house(managed("dryer", "main", 9, 11), managed("heat", "backed", 9, 11), planned=True)
    ((_, (one,)),) = idle_under(site)
    assert one.id == "dryer"
    assert idle_words(site) == (
        "Circuit dryer hangs on Panel main, which Generator set does not feed, "
        "so Load manager need not reach it."
    )
    then = without_idle(site)
    assert idle_under(then) == ()
    assert then.circuit("dryer").energy_group_id is None
    assert then.circuit("dryer").outage_role == "on"
    assert then.circuit("heat") == site.circuit("heat")
    assert then.energy_groups == site.energy_groups


def test_a_planned_manager_with_nothing_left_is_taken_out_and_a_fitted_one_stays():
    planned = house(managed("dryer", "main", 9, 11), planned=True)
    assert "Load manager is for nothing and need not be bought." in idle_words(planned)
    assert without_idle(planned).energy_groups == ()
    fitted = house(managed("dryer", "main", 9, 11))
    assert idle_words(fitted).endswith("so Load manager is for nothing.")
    assert without_idle(fitted).energy_groups == fitted.energy_groups


def test_what_a_manager_of_its_own_circuits_does_is_left_alone():
    site = house(managed("dryer", "main", 9, 11), watch_id=None)
    assert idle_under(site) == ()
    pausing = house(
        managed("dryer", "main", 9, 11), watch_id=None, setting_a=None, off_on_generator=True
    )
    assert [c.id for _, circuits in idle_under(pausing) for c in circuits] == ["dryer"]


def test_to_take_it_out_is_the_next_step_and_leaves_nothing_dark_for_longer():
    site = house(managed("dryer", "main", 9, 11), planned=True)
    day = site.scenario("out")
    step = next_step(site, day)
    assert step.command == "Take Circuit dryer out of Load manager"
    assert step.changed is not None
    before, after = simulate(site, day), simulate(step.changed, day)
    assert before.verdict.said() == after.verdict.said()
    gaps = [[s.longest_gap_min for s in run.service] for run in (before, after)]
    assert all(now <= was for was, now in zip(*gaps, strict=True))
    assert "need not be bought" not in next_step(step.changed, day).sentence


def test_a_switch_with_nothing_behind_it_is_not_thrown_and_said_to_be_for_nothing():
    site = double_throw_site()
    moves = tuple(
        SwitchMove(switch_id="throw", at=START + timedelta(hours=h), position=position)
        for h, position in ((3, "backed_up"), (4, "normal"), (5, "backed_up"), (7, "normal"))
    )
    day = scenario("out", span_h=8, outage_h=(2, 6), switch_moves=moves)
    site = with_parts(site, scenarios=(day,))
    assert bare_throws(site) == ()
    assert len(list(throws(simulate(site, day), set()))) == 4
    behind = {c.id for c in site.circuits if c.panel_id not in {"main", "backed"}}
    bare = tuple(
        c.model_copy(update={"appliances": ()}) if c.id in behind else c for c in site.circuits
    )
    site = with_parts(site, circuits=bare)
    ((_, task),) = throws(simulate(site, day), set())
    assert task.text.startswith("Leave ")
    assert "nothing draws power behind it" in task.text
    step = next_step(site, day)
    assert "need not be thrown, until a circuit is put there" in step.sentence
