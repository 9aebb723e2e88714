"""The next step of a run that holds while the code wants something changed."""

from __future__ import annotations

from server.advise.by_code import code_mend, past_by_code
from server.advise.next_step import next_step
from server.domain.site import Site
from server.rules.check import check_site
from tests.builders import generator, scenario, whole_house_site, with_parts
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
    assert "Nothing need be changed" in after.sentence
    assert after.changed is None


def test_the_mend_brings_no_finding_that_was_not_there() -> None:
    site = house()
    mend = code_mend(site, site.scenario("out"))
    assert mend is not None
    assert mend.holds == "everything holds"
    before = {f.key for f in check_site(site).findings}
    assert {f.key for f in check_site(mend.site).findings} <= before


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
    assert "But this run does not hold with it" in step.sentence
    assert step.changed is None
