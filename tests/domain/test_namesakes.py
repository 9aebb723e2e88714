"""Two sets of one name are kept apart by their ids, and told apart by what each feeds."""

from __future__ import annotations

from server.advise.next_step import next_step
from server.advise.outage_plan import outage_plan
from server.advise.starts import starts_of
from server.domain.namesakes import sets_told_apart
from server.domain.panel import Panel
from server.domain.supply import Feeder, FuelTank, TransferSwitch
from server.rules.check import check_site
from server.simulate.fed import fed_by
from server.simulate.run import simulate
from tests.builders import backed_up_site, circuit, generator, scenario, with_parts


def two_sets():
    """A set whose 3 gal end in a few hours, and one of the same name with plenty, on a barn."""
    base = backed_up_site()
    day = scenario("out", span_h=12, outage_h=(1, 11))

    def burns(part_id, gallons):
        tank = FuelTank(capacity_gal=gallons, fill_share=1.0, reserve_share=0.0)
        return generator(part_id, name="Generator", fuel="gasoline", tank=tank)

    barn = Panel(id="barn", name="Barn panel", rating_a=100, spaces=20)
    switch = TransferSwitch(id="barn-ats", name="Barn switch", rating_a=100)
    feeders = (
        Feeder(
            id="barn-utility",
            name="Barn feeder",
            from_id="main",
            to_id="barn-ats",
            to_input="utility",
            breaker_a=60,
            spaces=(18, 20),
        ),
        Feeder(
            id="barn-set",
            name="Barn set feeder",
            from_id="other",
            to_id="barn-ats",
            to_input="generator",
            breaker_a=60,
        ),
        Feeder(id="barn-load", name="Barn load", from_id="barn-ats", to_id="barn"),
    )
    return with_parts(
        base,
        generators=(burns("set", 3.0), burns("other", 300.0)),
        transfer_switches=(*base.transfer_switches, switch),
        panels=(*base.panels, barn),
        feeders=(*base.feeders, *feeders),
        circuits=(*base.circuits, circuit("mow", "barn", 1, 3, load_w=2000, breaker_a=30)),
        scenarios=(day,),
    ), day


def test_sets_of_names_of_their_own_stay_as_they_are():
    site = backed_up_site()
    assert sets_told_apart(site) is site


def test_each_of_two_is_called_by_what_it_feeds_everywhere():
    site, day = two_sets()
    apart = {g.id: g.name for g in sets_told_apart(site).generators}
    assert apart == {
        "set": "Generator, feeding Transfer switch",
        "other": "Generator, feeding Barn switch",
    }
    run = simulate(site, day)
    assert {s.source_id: s.name for s in run.sources if s.kind == "generator"} == apart
    assert {n.generator_id: n.name for n in run.fuel} == apart
    asked = [f for f in check_site(site).findings if f.code == "generator-overload"]
    assert all(apart[f.element_id] in f.text for f in asked)


def test_each_feeds_its_own_bus():
    site, day = two_sets()
    run = simulate(site, day)
    rows = {i: row for row, b in enumerate(run.buses) for i in b.panel_ids}
    assert fed_by(run, {"set"})[rows["backed"]].any()
    assert not fed_by(run, {"set"})[rows["barn"]].any()
    assert fed_by(run, {"other"})[rows["barn"]].any()
    motors = {s.generator_id for s in starts_of(run)}
    assert motors <= {"set", "other"}


def test_the_one_that_runs_dry_is_named_with_its_own_gallons():
    site, day = two_sets()
    run = simulate(site, day)
    (dry,) = [n for n in run.fuel if n.runs_dry]
    assert dry.generator_id == "set"
    step = next_step(site, day)
    assert "Generator, feeding Transfer switch" in step.sentence
    assert "feeding Barn switch" not in step.sentence
    plan = outage_plan(run)
    told = [t.text for t in plan.during if "stops here" in t.text]
    (only,) = told
    assert only.startswith(
        "Generator, feeding Transfer switch stops here unless more fuel was brought: "
    )
