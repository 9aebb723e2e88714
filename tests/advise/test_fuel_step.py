"""What to do for fuel: the next step of a house that its end darkens, and how it is brought."""

from __future__ import annotations

import math
import re
from datetime import timedelta

import pytest

from server.advise.fuel_words import bring_words, short_gal, to_add_gal, to_bring
from server.advise.next_step import next_step
from server.advise.outage_plan import outage_plan
from server.domain.scenario import Delivery, Scenario
from server.domain.site import Site
from server.domain.supply import FuelTank
from server.simulate.run import simulate
from tests.builders import START, backed_up_site, generator, scenario, with_parts
from tests.rules.check_sites import of_kind


def house(kind: str = "oxygen-concentrator", *, rated_kw: float = 6.0) -> tuple[Site, Scenario]:
    """A gasoline set of 6 gal for 26 h of outage; a must-serve device, and a leg past its limit."""
    base = backed_up_site()
    breath = of_kind("bedroom", "backed", (15,), kind).model_copy(
        update={"load_class": "must_serve"}
    )
    day = scenario("out", span_h=30, outage_h=(2, 28))
    tank = FuelTank(capacity_gal=6.0, fill_share=1.0, reserve_share=0.1)
    site = with_parts(
        base,
        generators=(generator(fuel="gasoline", start="by_hand", tank=tank, rated_kw=rated_kw),),
        circuits=(*base.circuits, breath),
        scenarios=(day,),
    )
    return site, day


def test_fuel_that_darkens_a_device_comes_before_a_leg_that_is_past_its_limit():
    site, day = house(rated_kw=3.0)
    run = simulate(site, day)
    assert run.verdict.over
    assert run.fuel[0].runs_dry
    step = next_step(site, day)
    assert "gal more at hand" in step.sentence
    assert step.where == "fuel"
    device = site.circuit("bedroom").appliances[0].name
    assert "fewer hours of the day" not in step.sentence
    assert f"{device} hangs on it, so let it run all hours" in step.sentence


def test_a_leg_past_its_limit_comes_first_where_nothing_that_must_be_served_goes_dark():
    site, day = house(rated_kw=3.0)
    plain = with_parts(site, circuits=tuple(c for c in site.circuits if c.id != "bedroom"))
    assert simulate(plain, day).fuel[0].runs_dry
    assert "gal more" not in next_step(plain, day).sentence


def test_what_is_brought_in_the_parts_that_are_told_finds_room_and_is_enough():
    site, day = house()
    run = simulate(site, day)
    (need,) = run.fuel
    words = bring_words(site, need)
    more = math.ceil(need.used_gal + need.reserve_gal - need.there_gal)
    room = 6.0 - need.reserve_gal
    parts = math.ceil(more / room)
    assert f"in {parts} parts or more of no more than {room:.1f} gal, each once as much" in words
    hours = math.floor(2 * room / (need.used_gal / 26.0)) / 2
    assert 0 < hours < 26
    assert f"(at the mean about every {hours:g} h, oftener while much is on" in words
    (source,) = (s for s in simulate(enough(site), day).sources if s.kind == "generator")
    assert source.fuel_used is not None
    rate = source.fuel_used.value / source.run_h
    first_h = 2.25 + room / rate
    brought = tuple(
        Delivery(at=START + timedelta(hours=first_h + n * room / rate), gallons=room)
        for n in range(parts)
    )
    (then,) = simulate(site, day.model_copy(update={"deliveries": brought})).fuel
    assert not then.runs_dry
    assert then.left_over_gal < 0.05 * more


def test_what_is_due_and_finds_no_room_is_told_with_what_is_missing():
    site, day = house()
    (plain,) = simulate(site, day).fuel
    assert "find no room" not in bring_words(site, plain)
    soon = (Delivery(at=START + timedelta(hours=2), gallons=5.0),)
    (need,) = simulate(site, day.model_copy(update={"deliveries": soon})).fuel
    assert need.left_over_gal > 1.0
    assert f"{need.left_over_gal:.1f}".removesuffix(".0") in bring_words(site, need)
    assert "gal find no room when they come: enter them later" in bring_words(site, need)


def enough(site: Site) -> Site:
    """The same with a tank that lasts."""
    tank = FuelTank(capacity_gal=400.0, fill_share=1.0, reserve_share=0.1)
    sets = tuple(g.model_copy(update={"tank": tank}) for g in site.generators)
    return with_parts(site, generators=sets)


@pytest.mark.parametrize(
    ("capacity_gal", "fill", "reserve", "start"),
    [(6.0, 1.0, 0.25, 1.0), (10.0, 0.9, 0.2, 0.8), (24.0, 1.0, 0.1, 0.3), (3.0, 1.0, 0.1, 1.0)],
)
@pytest.mark.parametrize("fuel", ["gasoline", "diesel"])
def test_the_figure_asked_for_entered_as_kept_at_hand_leaves_nothing_to_ask(
    fuel, capacity_gal, fill, reserve, start
):
    site, day = house()
    day = day.model_copy(update={"fuel_at_start_share": start})

    def with_tank(held_gal: float, day: Scenario = day) -> Site:
        tank = FuelTank(capacity_gal=held_gal, fill_share=fill, reserve_share=reserve)
        one = site.generators[0].model_copy(update={"fuel": fuel, "tank": tank})
        return with_parts(site, generators=(one,), scenarios=(day,))

    short = with_tank(capacity_gal)
    (need,) = simulate(short, day).fuel
    more_gal = math.ceil(to_add_gal(need))
    by_hand_gal = short_gal(need) / (fill - reserve)  # in cans that are full, whatever the tank is
    assert to_add_gal(need) == pytest.approx(by_hand_gal)
    assert f" {more_gal} gal " in bring_words(short, need)
    share = (capacity_gal * start + more_gal) / (capacity_gal + more_gal)
    day = day.model_copy(update={"fuel_at_start_share": math.ceil(100 * share) / 100})
    enough_site = with_tank(capacity_gal + more_gal, day)
    told = f"{math.ceil(100 * share)} % as the fuel at the start"
    assert (told in bring_words(short, need)) is (start < 1.0)
    (then,) = simulate(enough_site, day).fuel
    assert not then.runs_dry
    assert not then.eats_reserve
    assert short_gal(then) == 0.0
    assert to_bring(enough_site, (then,)) == ()


def test_what_is_held_in_all_is_told_and_entered_so_it_is_enough():
    """So much more is not so much in all: with that alone the reserve is touched still."""
    site, day = house(rated_kw=12.0)

    def with_tank(held_gal: float) -> Site:
        tank = FuelTank(capacity_gal=held_gal, fill_share=1.0, reserve_share=0.25)
        one = site.generators[0].model_copy(update={"tank": tank})
        return with_parts(site, generators=(one,))

    (need,) = simulate(with_tank(12.0), day).fuel
    words = bring_words(with_tank(12.0), need)
    found = re.search(
        r"([0-9.]+) gal more held beforehand do it too.*?: ([0-9.]+) gal in all", words
    )
    assert found is not None
    more, in_all = (float(text) for text in found.groups())
    assert in_all == 12.0 + more
    (then,) = simulate(with_tank(in_all), day).fuel
    assert not then.runs_dry
    assert not then.eats_reserve
    (short,) = simulate(with_tank(more), day).fuel
    assert short.runs_dry or short.eats_reserve


def test_a_gas_tank_is_filled_and_not_made_larger():
    """What is short goes into the tank there is: its share at the start rises, its reserve not."""
    site, day = house()
    day = day.model_copy(update={"fuel_at_start_share": 0.3})

    def with_start(share: float, held_gal: float = 40.0) -> tuple[Site, Scenario]:
        started = day.model_copy(update={"fuel_at_start_share": share})
        tank = FuelTank(capacity_gal=held_gal, fill_share=0.8, reserve_share=0.1)
        one = site.generators[0].model_copy(update={"fuel": "propane", "tank": tank})
        return with_parts(site, generators=(one,), scenarios=(started,)), started

    (need,) = simulate(*with_start(0.3)).fuel
    more_gal = math.ceil(short_gal(need))
    by_hand = 0.3 + more_gal / (40.0 * 0.8)
    words = bring_words(with_start(0.3)[0], need)
    assert f"about {more_gal} gal more" in words
    assert f"{math.ceil(100 * by_hand)} % as the fuel at the start" in words
    (then,) = simulate(*with_start(math.ceil(100 * by_hand) / 100)).fuel
    assert short_gal(then) == 0.0
    small, _ = with_start(0.3, held_gal=6.0)
    (need,) = simulate(small, day).fuel
    assert "The tank filled is 4.8 gal: what is more has to be delivered." in bring_words(
        small, need
    )


def test_where_the_roads_are_closed_no_fuel_is_fetched_on_the_way():
    site, day = house()
    open_step = next_step(site, day)
    assert "Fetch it as you go" in open_step.sentence
    shut = day.model_copy(update={"roads": "closed"})
    closed = with_parts(site, scenarios=(shut,))
    step = next_step(closed, shut)
    assert step.where == "fuel"
    assert "while the roads are closed" in step.sentence
    assert "burn less" in step.sentence
    made = outage_plan(simulate(closed, shut))
    assert made is not None
    plan = " ".join(task.text for task in (*made.before, *made.during, *made.after))
    for words in (step.sentence, plan):
        assert "station" not in words
        assert "as you go" not in words
