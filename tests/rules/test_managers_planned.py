"""A load manager that is entered but not fitted yet: found, told in the verdict and the plan."""

from __future__ import annotations

import re

from server.advise.outage_plan import outage_plan
from server.domain.managers import counts_on_words
from server.domain.site import Site
from server.domain.supply import EnergyGroup
from server.exchange.sitefile import read_site_file, write_site_file
from server.rules.check import check_site
from server.rules.editions import rulebook
from server.rules.mends.loads import less_load
from server.rules.mends.recheck import compared
from server.simulate.run import simulate
from server.web.overview import verdict_of_run
from tests.builders import appliance, backed_up_site, circuit, generator, scenario, with_parts
from tests.rules.hazard_sites import codes, the


def held(*, planned: bool, used: bool = True) -> Site:
    group = EnergyGroup(id="m", name="Car pause", off_on_generator=True, planned=planned)
    base = backed_up_site(scenarios=(scenario("out", span_h=6, outage_h=(2, 4)),))
    under = {"energy_group_id": "m"}
    return with_parts(
        base,
        energy_groups=(group,),
        circuits=tuple(
            c.model_copy(update=under) if used and c.id == "d" else c for c in base.circuits
        ),
    )


def test_a_manager_that_is_only_planned_is_found_until_its_mark_is_taken_off():
    found = the(held(planned=True), "manager-not-fitted")
    assert found.severity == "warning"
    assert found.element_id == "m"
    assert "Circuit d counts on a load manager that is not fitted" in found.text
    assert codes(held(planned=False)) == []


def test_a_planned_manager_that_nothing_is_under_says_nothing():
    assert codes(held(planned=True, used=False)) == []
    assert counts_on_words(held(planned=True, used=False)) == ""


def test_the_verdict_says_that_what_it_counts_on_is_not_fitted():
    for planned in (True, False):
        site = held(planned=planned)
        words = verdict_of_run(simulate(site, site.scenario("out")))
        told = "counts on a load manager that is only planned and not fitted: Car pause"
        assert (told in words.answer) == planned
        assert (words.status == "over") == planned


def test_the_plan_does_not_hold_until_the_manager_is_fitted():
    site = held(planned=True)
    plan = outage_plan(simulate(site, site.scenario("out")))
    assert plan is not None
    told = " ".join(t.text for t in plan.before)
    assert "Have Car pause fitted by an electrician: it is only planned" in told
    assert "Until then this plan does not hold." in told
    assert "See that Car pause" not in told


def test_a_mend_enters_its_manager_as_planned_and_is_not_held_to_its_own_mark():
    heavy = circuit(
        "heavy",
        "backed",
        9,
        11,
        breaker_a=60,
        load_class="deferrable",
        appliances=(appliance("furnace", 11_000, volts=240),),
    )
    base = backed_up_site()
    site = with_parts(base, circuits=(*base.circuits, heavy), generators=(generator(rated_kw=10),))
    before = check_site(site).findings
    (finding,) = (f for f in before if f.code == "demand-above-rating" and f.element_id == "set")
    offer = next(iter(less_load(site, finding, rulebook("2023"))))
    assert [g.planned for g in offer.site.energy_groups] == [True]
    assert "manager-not-fitted" in codes(offer.site)
    one = compared(offer.words, finding, before, check_site(offer.site).findings)
    assert one.clears
    assert not any("not fitted" in text for text in one.brings)


def test_a_site_file_from_before_the_mark_opens_with_its_managers_fitted():
    text = write_site_file(held(planned=False))
    older = re.sub(rb'"planned": ?false, *\s*', b"", text)
    assert older != text
    assert [g.planned for g in read_site_file(older).energy_groups] == [False]
