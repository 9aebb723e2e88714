"""What a house lives by and a change leaves without power for longer, in any of its scenarios."""

from __future__ import annotations

import pytest

from server.advise.by_code import code_mend
from server.advise.longer import longer, longer_in
from server.advise.needed import new_harms
from server.advise.relief import relief_of
from server.advise.relief_words import said
from server.domain.behaviour import Tub
from server.domain.circuit import Circuit
from server.domain.scenario import Weather
from server.domain.site import Site
from server.rules.check import check_site
from server.rules.editions import site_rules
from server.rules.mends.recheck import rechecked
from server.simulate.run import simulate
from server.web.relief import change_row
from tests.builders import (
    appliance,
    backed_up_site,
    circuit,
    generator,
    panel,
    scenario,
    with_parts,
)
from tests.rules.check_sites import of_kind

FROST = Weather(low_f=20, high_f=20)


def tub(panel_id: str) -> Circuit:
    """11,000 VA that a panel of 60 A is past its rating with, by the code."""
    one = appliance("tub", 11_000, volts=240, name="Hot tub", kind="hot-tub", behaviour=Tub())
    return circuit("tub", panel_id, 9, 11, breaker_a=60, appliances=(one,), name="Hot tub")


def house(*others: Circuit, weather: Weather = FROST) -> Site:
    """Mild days and three nights of frost, the tub on a backed-up panel of 60 A."""
    days = (
        scenario("mild", span_h=48, outage_h=(2, 40)),
        scenario("gale", span_h=48, outage_h=(2, 40), weather=weather),
    )
    base = backed_up_site(scenarios=days)
    small = (base.panels[0], panel("backed", rating_a=60))
    return with_parts(base, panels=small, circuits=(*base.circuits[:3], tub("backed"), *others))


def moved(site: Site, circuit_id: str) -> Site:
    spaces = {"tub": (9, 11), "well": (13, 15)}[circuit_id]
    there = {"panel_id": "main", "spaces": spaces}
    now = (c.model_copy(update=there) if c.id == circuit_id else c for c in site.circuits)
    return with_parts(site, circuits=tuple(now))


def test_a_tub_that_would_stand_in_frost_is_told_with_both_lengths_and_its_scenario():
    site = house()
    ((day, one),) = longer_in(site, moved(site, "tub"), site.scenarios)
    assert day == "Scenario gale"
    assert one.frost
    assert one.now_min == pytest.approx(38 * 60, abs=2)
    assert one.clause == ("Hot tub is then without power for up to 38 h of frost, at most 12 h now")


def test_mild_air_and_comfort_are_not_told_and_water_is():
    well = of_kind("well", "backed", (13, 15), "well-pump")
    site = house(
        well.model_copy(update={"outage_role": "on"}), weather=Weather(low_f=50, high_f=60)
    )
    assert longer_in(site, moved(site, "tub"), site.scenarios) == ()
    days = [longer(simulate(site, d), simulate(moved(site, "well"), d)) for d in site.scenarios]
    assert [[one.circuit_id for one in found] for found in days] == [["well"], ["well"]]
    assert (
        longer(simulate(moved(site, "well"), site.scenarios[0]), simulate(site, site.scenarios[0]))
        == ()
    )


def test_a_tub_whose_water_freezes_is_a_harm_that_is_brought():
    hard = Weather(low_f=-40, high_f=-40)
    site = house(weather=hard)
    long = site.scenarios[1].model_copy(update={"span_h": 240.0})
    out = long.outages[0].model_copy(update={"end": long.start.replace(month=12, day=6)})
    long = long.model_copy(update={"outages": (out,)})
    run, after = simulate(site, long), simulate(moved(site, "tub"), long)
    assert "the water of Hot tub freezes" in new_harms(run, after)
    assert "the water of Hot tub freezes" not in new_harms(after, after)


def test_a_change_the_code_wants_names_the_frost_and_does_not_say_that_nothing_is_worse():
    site = house()
    mend = code_mend(site, site.scenarios[0])
    assert mend is not None
    assert mend.words == "Hot tub moved to Panel main"
    assert mend.grave
    assert (
        "Hot tub is then without power for up to 38 h of frost, at most 12 h now, in Scenario gale"
        ". Apart from that no scenario of this site fails by more with it." in mend.sentence
    )
    calm = house(weather=Weather(low_f=50, high_f=60))
    mild = code_mend(calm, calm.scenarios[0])
    assert mild is not None
    assert not mild.grave
    assert ". No scenario of this site fails by more with it." in mild.sentence


def test_a_mend_that_leaves_a_circuit_without_a_set_says_so():
    site = house()
    rules, _ = site_rules(site)
    before = check_site(site).findings
    found = rechecked(site, before, check=lambda s: check_site(s).findings, rules=rules)
    told = [f.recheck.said for f in found if f.recheck and "moved to Panel main" in f.recheck.said]
    assert told
    assert all("In an outage Hot tub then has no power from a generator" in one for one in told)
    assert not any("nothing worse" in one for one in told)


def test_a_tub_kept_off_to_relieve_a_set_is_told_by_its_frost():
    site = house()
    oven = circuit("oven", "backed", 17, 19, load_w=9600, breaker_a=50)
    small = with_parts(site, circuits=(*site.circuits, oven), generators=(generator(rated_kw=13),))
    found = relief_of(small, small.scenarios[1])
    assert found is not None
    off = [c for c in found.candidates if (c.lever.kind, c.lever.circuit_id) == ("off", "tub")]
    for one in off:
        assert "of frost, at most 12 h now" in said(found.name, found.peak_a, one)
        assert one.harm_rank == 1
        assert "of frost, at most 12 h now" in change_row(one).costs
    assert off
