"""The next step of a run that holds while the code wants something changed."""

from __future__ import annotations

import pytest

from server.advise.by_code import code_mend, past_by_code
from server.advise.next_step import next_step
from server.domain.behaviour import Constant
from server.domain.site import Site
from server.domain.supply import TransferSwitch
from server.rules.check import check_site
from tests.builders import (
    appliance,
    backed_up_site,
    circuit,
    generator,
    interlock_site,
    scenario,
    whole_house_site,
    with_parts,
)
from tests.rules.test_taken_off import heavy


def house(**changes: object) -> Site:
    """1,800 VA run on 10 kW (40.9 A a leg), and 11,000 VA (46 A) that are set to stay off."""
    day = scenario("out", outage_h=(2, 5))
    base = whole_house_site(scenarios=(day,), generators=(generator(rated_kw=10),))
    return with_parts(base, circuits=(*base.circuits[:2], heavy("main", 9, **changes)))


def test_a_run_that_holds_names_what_the_code_wants_and_a_change_that_does_it() -> None:
    site = house()
    step = next_step(site, site.scenario("out"))
    assert "Nothing need be changed" not in step.sentence
    assert "In amps this run holds" in step.sentence
    assert "Circuit kiln kept off by a listed load manager" in step.sentence
    assert "it is 10 A, and its finding is gone" in step.sentence
    assert step.command == "Enter this change for Generator set"
    assert step.changed is not None
    assert not past_by_code(step.changed)
    after = next_step(step.changed, step.changed.scenario("out"))
    assert "Nothing need be changed" not in after.sentence
    assert "counts on a load manager that is only planned and not fitted" in after.sentence
    assert after.changed is None
    groups = tuple(g.model_copy(update={"planned": False}) for g in step.changed.energy_groups)
    fitted = with_parts(step.changed, energy_groups=groups)
    assert "Nothing need be changed" in next_step(fitted, fitted.scenario("out")).sentence


def test_the_mend_brings_no_finding_that_was_not_there() -> None:
    site = house()
    mend = code_mend(site, site.scenario("out"))
    assert mend is not None
    assert mend.holds == "everything holds"
    before = {f.key for f in check_site(site).findings}
    brought = {f.key for f in check_site(mend.site).findings} - before
    assert {code for code, *_ in brought} == {"manager-not-fitted"}


def test_where_no_circuit_may_give_way_the_transfer_by_hand_is_left_and_must_wait_for_it() -> None:
    """A run by hand is dark for the 15 min until somebody throws, so it is not said to hold."""
    site = house(load_class="must_serve", allowed_gap_min=600.0)
    soon = {"load_class": "must_serve", "allowed_gap_min": 5.0}
    first, *others = site.circuits
    site = with_parts(site, circuits=(first.model_copy(update=soon), *others))
    mend = code_mend(site, site.scenario("out"))
    assert mend is not None
    assert mend.words == "the transfer of Transfer switch made by hand"
    assert mend.holds == ""
    step = next_step(site, site.scenario("out"))
    assert "But with it, in Scenario out, Circuit a is dark for 15 min" in step.sentence
    assert step.changed is None


def test_a_change_is_judged_once_for_every_scenario_of_the_site() -> None:
    """The hand that throws is late in the outage alone, and the change acts in the calm day too."""
    site = house(load_class="must_serve", allowed_gap_min=600.0)
    soon = {"load_class": "must_serve", "allowed_gap_min": 5.0}
    first, *others = site.circuits
    days = (scenario("calm"), *site.scenarios)
    site = with_parts(site, circuits=(first.model_copy(update=soon), *others), scenarios=days)
    found = [code_mend(site, day) for day in site.scenarios]
    assert [one.worse for one in found if one] == [
        "in Scenario out, Circuit a is dark for 15 min"
    ] * 2
    assert next_step(site, site.scenario("calm")).changed is None


def test_what_a_change_makes_wait_is_told_and_that_it_is_only_planned() -> None:
    """A kiln left off by hand is dark for the outage of 3 h and the 20 min until it is over."""
    site = house(outage_role="on")
    mend = code_mend(site, site.scenario("out"))
    assert mend is not None
    assert mend.words.endswith("Circuit kiln kept off until switched on by hand")
    assert mend.costs == ("Circuit kiln then waits up to 3 h 20 min in Scenario out",)
    assert mend.costs[0] in mend.sentence
    assert "until an electrician has fitted it, this run is not what you have" in mend.sentence
    assert next_step(house(), site.scenario("out")).planned


BY_HAND = TransferSwitch(id="ats", name="Transfer switch", rating_a=100, kind="manual")


@pytest.mark.parametrize(
    "base",
    [interlock_site(), backed_up_site(transfer_switches=(BY_HAND,))],
    ids=["one", "two"],
)
def test_what_a_set_may_not_carry_is_told_where_it_runs_and_moved_where_another_panel_is(
    base: Site,
) -> None:
    """15,000 VA that are seldom asked for: 62.5 A by the code, hardly anything in the run."""
    panel = base.circuits[-1].panel_id
    seldom = appliance("kiln-load", 15_000, volts=240, behaviour=Constant(share=0.01))
    kiln = circuit("kiln", panel, 17, 19, breaker_a=60, appliances=(seldom,))
    days = (scenario("calm"), scenario("out", outage_h=(2, 5)))
    site = with_parts(base, circuits=(*base.circuits, kiln), scenarios=days)
    step = next_step(site, days[1])
    assert step.sentence.startswith("In amps this scenario holds, but: By the code ")
    assert step.where == ("buses" if len(site.panels) > 1 else "roles")
    calm = next_step(site, days[0])
    assert "may not be run with all" not in calm.sentence
    assert calm.settled
