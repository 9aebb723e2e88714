"""Relief: who was on since when, and candidates whose figures are those of their own run."""

from __future__ import annotations

import math
from datetime import datetime, timedelta

import pytest

from server.advise.confirm import to_confirm
from server.advise.levers import Lever, apply_lever, lever_words, levers_for
from server.advise.next_step import next_step
from server.advise.relief import relief_of
from server.domain.behaviour import DailyStart, Stage, Timed
from server.domain.errors import EditError, NotFoundError
from server.domain.scenario import ApplianceEvent, Scenario, Window
from server.domain.site import Site
from server.domain.supply import FuelTank
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS, TEMPLATES
from server.simulate.run import simulate
from tests.builders import (
    START,
    appliance,
    backed_up_site,
    circuit,
    double_throw_site,
    generator,
    normal_only_site,
    scenario,
    two_services_site,
    with_parts,
)
from tests.rules.check_sites import of_kind

HOUR = Timed(stages=(Stage(minutes=60, share=1.0),))


def timed(part_id: str, load_w: float):
    return appliance(part_id, load_w, volts=240, behaviour=HOUR)


def event(appliance_id: str, hours: float) -> ApplianceEvent:
    return ApplianceEvent(appliance_id=appliance_id, at=START + timedelta(hours=hours))


def two_ovens(**set_changes: object) -> tuple[Site, Scenario]:
    """A 10 kW set (41.7 A a leg) that two loads of 6 kW (25 A) overload from 15:00 to 15:30."""
    site = with_parts(
        backed_up_site(),
        generators=(generator(**{"rated_kw": 10} | set_changes),),
        circuits=(
            circuit("one", "backed", 1, 3, appliances=(timed("oven", 6000),), breaker_a=40),
            circuit("two", "backed", 5, 7, appliances=(timed("kiln", 6000),), breaker_a=40),
        ),
    )
    day = scenario(
        "out", span_h=10, outage_h=(1, 9), events=(event("oven", 3.0), event("kiln", 2.5))
    )
    return with_parts(site, scenarios=(day,)), day


def test_the_worst_minute_says_who_was_on_and_since_when():
    found = relief_of(*two_ovens())
    assert found is not None
    assert found.point_id.startswith("generator:")
    assert found.peak_a == pytest.approx(50.0)
    since = {c.name: c.since for c in found.culprits}
    assert since == {
        "oven": datetime(2026, 11, 26, 15),
        "kiln": datetime(2026, 11, 26, 14, 30),
    }
    assert [c.amps_a for c in found.culprits] == pytest.approx([25.0, 25.0])


def test_every_candidate_carries_the_figure_of_its_own_run():
    site, day = two_ovens()
    found = relief_of(site, day)
    assert found is not None
    assert found.candidates
    for one in found.candidates:
        after = simulate(*apply_lever(site, day, one.lever))
        again = after.limit(found.point_id).worst
        assert one.peak_a == pytest.approx(again.peak_a)
        assert one.gain_a == pytest.approx(found.peak_a - again.peak_a)
        assert one.mends == (again.percent <= 100.0)


def test_starting_one_an_hour_later_is_the_gentlest_and_no_longer_delay_is_listed():
    found = relief_of(*two_ovens())
    assert found is not None
    best = found.gentlest
    assert best is not None
    assert (best.lever.kind, best.lever.hours, best.peak_a) == ("later", 1.0, pytest.approx(25.0))
    later = [c for c in found.candidates if c.lever.kind == "later"]
    assert [(c.lever.circuit_id, c.lever.hours, c.mends) for c in later] == [
        ("one", 1.0, True),
        ("two", 2.0, True),
        ("two", 1.0, False),
    ]
    assert "25.0 A" in found.sentence
    assert "within its limit" in found.sentence


def test_a_move_to_a_bus_that_is_dead_says_how_long_it_goes_without():
    site, day = two_ovens()
    found = relief_of(site, day)
    assert found is not None
    move = next(c for c in found.candidates if c.lever == Lever("move", "one", to="main"))
    assert move.peak_a == pytest.approx(25.0)
    assert move.dark_min == pytest.approx(60.0, abs=1.0)


def test_must_serve_is_neither_delayed_nor_turned_off_and_a_pin_holds():
    site, day = two_ovens()
    first = site.circuit("one").model_copy(
        update={"load_class": "must_serve", "pinned": True, "allowed_gap_min": 600.0}
    )
    site = with_parts(site, circuits=(first, site.circuit("two")))
    run = simulate(site, day)
    at = datetime(2026, 11, 26, 15, 5)
    assert list(levers_for(run, "one", at)) == []
    assert {x.kind for x in levers_for(run, "two", at)} == {"later", "move", "off"}


def test_a_circuit_is_not_moved_to_another_meter():
    site = two_services_site()
    run = simulate(site, site.scenarios[0])
    moves = [x.to for c in site.circuits for x in levers_for(run, c.id, START) if x.kind == "move"]
    assert moves == []


def test_on_the_grid_what_is_left_unused_cannot_be_saved():
    site = double_throw_site()
    day = site.scenario("day")
    run = simulate(site, day)
    idle = next(x for x in levers_for(run, "a", START) if x.kind == "idle")
    assert not idle.is_kept
    changed, _ = apply_lever(site, day, idle)
    assert changed.circuit("a").appliances == ()


def test_a_habit_is_delayed_from_when_it_was_drawn():
    habit = Timed(stages=HOUR.stages, starts=(DailyStart(hour=14, spread_min=60),))
    base, day = two_ovens()
    oven = appliance("oven", 6000, volts=240, behaviour=habit)
    site = with_parts(
        base,
        circuits=(circuit("one", "backed", 1, 3, appliances=(oven,)), base.circuit("two")),
        scenarios=(day.model_copy(update={"events": (event("kiln", 2.5),)}),),
    )
    day = site.scenarios[0]
    run = simulate(site, day)
    on = run.flows.taken_by("oven") > 0
    first = run.time_of(int(on.argmax()))
    at = first + timedelta(minutes=10)
    _, later = apply_lever(site, day, Lever("later", "one", hours=2.0, at=at))
    moved = [e.at for e in later.events if e.appliance_id == "oven"]
    assert moved == [first + timedelta(hours=2)]


def test_a_delay_of_nothing_is_refused():
    site, day = two_ovens()
    with pytest.raises(EditError, match="what is to start later"):
        apply_lever(site, day, Lever("later", "one"))
    with pytest.raises(EditError, match="starts at a time"):
        apply_lever(site, day, Lever("later", "one", hours=1.0, at=START))


def test_an_unknown_limit_is_not_found_and_an_empty_run_has_no_relief():
    site, day = two_ovens()
    with pytest.raises(NotFoundError):
        relief_of(site, day, "no-such-limit")
    empty = with_parts(site, circuits=(), scenarios=(day.model_copy(update={"events": ()}),))
    assert relief_of(empty, empty.scenarios[0]) is None


def test_the_next_step_mends_what_is_over_and_its_figure_is_re_run():
    site, day = two_ovens()
    step = next_step(site, day)
    assert step.lever is not None
    assert step.command == lever_words(site, step.lever)
    changed, later = apply_lever(site, day, step.lever)
    after = simulate(changed, later)
    assert after.verdict.fits
    assert f"{after.limit('generator:set').worst.peak_a:.1f} A instead of 50.0 A" in step.sentence
    assert "everything holds" in step.sentence


def test_the_next_step_feeds_a_must_serve_circuit_that_is_dark_too_long():
    site = backed_up_site()
    dark = site.circuit("a").model_copy(update={"load_class": "must_serve"})
    site = with_parts(site, circuits=(dark, *site.circuits[1:]))
    day = site.scenario("out")
    assert [g.circuit_id for g in simulate(site, day).verdict.gaps] == ["a"]
    step = next_step(site, day)
    assert step.lever is not None
    assert (step.lever.kind, step.lever.to) == ("move", "backed")
    assert "at a stretch instead of 3 h" in step.sentence
    assert not simulate(*apply_lever(site, day, step.lever)).verdict.gaps


def test_a_medical_device_set_to_stay_off_is_the_next_step():
    base = backed_up_site()
    breath = of_kind("bedroom", "backed", (15,), "oxygen-concentrator").model_copy(
        update={"load_class": "must_serve", "outage_role": "off"}
    )
    day = scenario("out", span_h=8, outage_h=(2, 6))
    site = with_parts(base, circuits=(*base.circuits, breath), scenarios=(day,))
    step = next_step(site, day)
    assert step.lever == Lever("on", "bedroom")
    assert step.sentence.startswith(f"{breath.name} is set to stay off while the generator runs")
    assert breath.appliances[0].name in step.sentence
    on = breath.model_copy(update={"outage_role": "on"})
    given = with_parts(site, circuits=(*base.circuits, on))
    assert next_step(given, day).lever != Lever("on", "bedroom")


def test_a_set_left_in_its_shed_is_the_next_step():
    site = backed_up_site()
    serve = site.circuit("b").model_copy(update={"load_class": "must_serve"})
    day = site.scenario("out").model_copy(update={"generator": "absent"})
    site = with_parts(
        site,
        circuits=tuple(serve if c.id == "b" else c for c in site.circuits),
        scenarios=(day,),
    )
    step = next_step(site, day)
    assert step.lever == Lever("ready", "b")


def test_where_all_holds_the_next_step_is_to_measure_a_guess():
    site = backed_up_site()
    step = next_step(site, site.scenario("out"))
    assert step.lever is None
    assert "Nothing need be changed" in step.sentence
    first = next(g for g in to_confirm(site, simulate(site, site.scenario("out"))) if g.why)
    assert f"Confirm first: {first.name}. {first.why}" in step.sentence


def test_a_blocking_hazard_comes_before_everything():
    site, day = two_ovens()
    solar = double_throw_site(solar=True).solar[0].model_copy(update={"panel_id": "backed"})
    step = next_step(with_parts(site, solar=(solar,)), day)
    assert step.where == "findings"
    assert step.lever is None


def test_no_circuit_is_moved_out_of_a_detached_building():
    site, day = two_ovens()
    far = tuple(p.model_copy(update={"detached_building": True}) for p in site.panels)
    run = simulate(with_parts(site, panels=far), day)
    at = run.limits[0].worst.at
    levers = [lever for c in site.circuits for lever in levers_for(run, c.id, at)]
    assert levers
    assert not [lever for lever in levers if lever.kind == "move"]


def test_fuel_that_no_circuit_kept_off_makes_last_is_to_be_brought():
    """10 kW on a line of a guess burns far more in 40 h than 2 gal; the gap is told in gallons."""
    site = with_parts(
        backed_up_site(),
        generators=(generator(fuel="propane", tank=FuelTank(capacity_gal=4, fill_share=1.0)),),
    )
    day = scenario(span_h=48, outage_h=(2, 46))
    step = next_step(with_parts(site, scenarios=(day,)), day)
    assert step.lever is None
    (need,) = simulate(site, day).fuel
    short = math.ceil(need.used_gal + need.reserve_gal - need.there_gal)
    assert step.sentence.startswith(f"Have about {short} gal more at hand")
    assert "run fewer hours of the day, or carry fewer circuits" in step.sentence
    assert "never indoors" in step.caution


def test_a_reserve_that_is_touched_is_to_be_brought_and_gasoline_kept_safely():
    """What is short is used + reserve - there, rounded up; the run itself does not run dry."""
    site = with_parts(
        backed_up_site(),
        generators=(generator(fuel="gasoline", tank=FuelTank(capacity_gal=100, fill_share=1.0)),),
    )
    day = site.scenario("out")
    (full,) = simulate(site, day).fuel
    size = full.used_gal * 1.1
    tank = FuelTank(capacity_gal=size, fill_share=1.0, reserve_share=0.4)
    site = with_parts(site, generators=(generator(fuel="gasoline", tank=tank),))
    (need,) = simulate(site, day).fuel
    assert (need.runs_dry, need.eats_reserve) == (False, True)
    step = next_step(site, day)
    short = math.ceil((full.used_gal + 0.4 * size - size) / (1.0 - 0.4))
    assert step.sentence.startswith(f"Have about {short} gal more at hand")
    tank = FuelTank(capacity_gal=size + short, fill_share=1.0, reserve_share=0.4)
    more = with_parts(site, generators=(generator(fuel="gasoline", tank=tank),))
    assert not simulate(more, day).fuel[0].eats_reserve, "what it says to bring is enough"
    assert "Nothing need be changed" not in step.sentence
    assert "25 gal or less, 5 gal cans, outside living space" in step.caution


def test_nothing_need_be_changed_is_never_said_of_a_run_that_hangs_on_a_start():
    saw = appliance("saw", 300, volts=240, load_type="motor", locked_rotor_a=900)
    site = with_parts(backed_up_site(), circuits=(circuit("s", "backed", 1, 3, appliances=(saw,)),))
    step = next_step(site, site.scenario("out"))
    assert step.sentence.startswith("Make the start sure before you rely on this. saw may not")
    assert "Have a soft starter fitted to saw" in step.sentence


def test_a_medical_device_that_is_dark_too_long_is_told_where_its_battery_is_entered():
    device = appliance("breather", 300, kind="oxygen-concentrator")
    site = backed_up_site()
    own = site.circuit("a").model_copy(update={"appliances": (device,)})
    day = site.scenario("out").model_copy(update={"generator": "absent"})
    site = with_parts(
        site, generators=site.generators, circuits=(own, *site.circuits[1:]), scenarios=(day,)
    )
    assert [g.device for g in simulate(site, day).verdict.gaps] == ["breather"]
    step = next_step(site, day)
    assert step.circuit_id == "a"
    asked = "enter how long it lasts: circuit Circuit a, field “Battery of its device”"
    assert asked in step.sentence
    assert "Battery of its device" in (TEMPLATES / "circuits/circuit.html").read_text()


def dark_breather(site, day, **changes):
    """The next step of a house in which a concentrator on circuit ``a`` goes dark."""
    device = appliance("breather", 300, kind="oxygen-concentrator")
    own = site.circuit("a").model_copy(update={"appliances": (device,)} | changes)
    others = tuple(c for c in site.circuits if c.id != "a")
    site = with_parts(site, circuits=(own, *others), scenarios=(day,))
    assert [g.device for g in simulate(site, day).verdict.gaps] == ["breather"]
    return next_step(site, day)


def test_a_house_without_a_source_is_asked_to_add_one_and_for_a_battery_only_once():
    day = scenario("out", span_h=12, outage_h=(1, 11))
    step = dark_breather(normal_only_site(), day)
    assert "a source that carries it while the utility is out, such as a generator" in step.sentence
    assert "sooner" not in step.sentence
    assert (step.where, step.circuit_id) == ("source", "a")
    step = dark_breather(normal_only_site(), day, own_battery_min=360.0)
    assert "it needs a larger battery of its own" in step.sentence
    assert "entered with 6 h, two thirds count, 4 h" in step.sentence
    assert "enter how long it lasts" not in step.sentence
    assert (step.where, step.circuit_id) == ("source", "")


def test_a_stop_of_the_set_asks_for_no_source_that_is_there_sooner():
    base = backed_up_site()
    stop = Window(start=START + timedelta(hours=6), end=START + timedelta(hours=6.5))
    day = scenario("out", span_h=12, outage_h=(1, 11), generator_stops=(stop,))
    fed = base.circuit("d").model_copy(update={"load_class": "must_serve"})
    others = tuple(c for c in base.circuits if c.id != "d")
    site = with_parts(base, circuits=(*others, fed), scenarios=(day,))
    assert [g.circuit_id for g in simulate(site, day).verdict.gaps] == ["d"]
    step = next_step(site, day)
    assert (
        "that is the stop of 30 min that this scenario makes at Thu 26 Nov 18:00" in step.sentence
    )
    assert "a battery of its own through the stop, or a later or shorter stop" in step.sentence
    assert step.where == "stops"


def test_a_day_that_leaves_the_set_unused_says_so_and_offers_to_have_it_ready():
    base = backed_up_site()
    day = scenario("out", span_h=12, outage_h=(1, 11), generator="absent")
    device = appliance("breather", 300, kind="oxygen-concentrator")
    fed = base.circuit("d").model_copy(update={"appliances": (device,)})
    others = tuple(c for c in base.circuits if c.id != "d")
    site = with_parts(base, circuits=(*others, fed), scenarios=(day,))
    step = next_step(site, day)
    assert step.sentence.startswith("This scenario leaves Generator set unused by choice. Have")
    assert "breather is then without power" in step.sentence
    assert step.lever == Lever("ready", "d")


def test_a_device_that_is_dark_too_long_goes_before_amps_that_are_over():
    site, day = two_ovens()
    device = appliance("breather", 300, kind="oxygen-concentrator")
    normal = circuit("n", "main", 19, appliances=(device,), pinned=True)
    site = with_parts(site, circuits=(*site.circuits, normal))
    run = simulate(site, day)
    assert run.verdict.over
    assert run.verdict.gaps
    step = next_step(site, day)
    assert step.sentence.startswith("breather is dark")
    assert f"After that, bring {run.verdict.over[0].point.name} within its limit" in step.sentence


def test_what_is_put_off_on_the_last_day_of_the_years_stays_within_them():
    farm = read_site_file((DEMOS / "flower-farm.json").read_bytes())
    peak = farm.scenario("holiday-peak")
    bare = {"outages": (), "events": (), "switch_moves": (), "hand_windows": (), "deliveries": ()}
    last = peak.model_copy(update={"start": datetime(2199, 12, 31, 18), "span_h": 5, **bare})
    site = with_parts(farm, scenarios=(last,))
    assert relief_of(site, last).candidates
