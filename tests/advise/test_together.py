"""What must not run together, against sums by hand."""

from __future__ import annotations

import pytest

from server.advise.together import must_not_run_together
from server.simulate.run import simulate
from tests.builders import backed_up_site, circuit, generator, with_parts


def found(*circuits, kw=6.0):
    """On a set of 6 kW: 6000 / 240 = 25 A a leg."""
    site = with_parts(
        backed_up_site(), generators=(generator(rated_kw=kw),), circuits=tuple(circuits)
    )
    (one,) = must_not_run_together(simulate(site, site.scenario("out")))
    return one


def said(one):
    return [clash.sentence for clash in one.clashes]


def test_two_on_one_leg_clash_and_on_both_legs_they_do_not():
    """1800 W / 120 V = 15 A each: 30 A of 25 A on one leg, 15 A a leg on two."""
    same = found(circuit("a", "backed", 1, load_w=1800), circuit("b", "backed", 5, load_w=1800))
    assert said(same) == ["Circuit a + Circuit b: 30.0 A of 25.0 A on L1"]
    apart = found(circuit("a", "backed", 1, load_w=1800), circuit("b", "backed", 3, load_w=1800))
    assert apart.clashes == ()


def test_a_three_is_told_where_no_two_of_it_clash():
    """1200 W / 120 V = 10 A each on L1: two 20 A, three 30 A of 25 A."""
    three = found(
        *(circuit(n, "backed", s, load_w=1200) for n, s in (("a", 1), ("b", 5), ("c", 9)))
    )
    (clash,) = three.clashes
    assert clash.sentence == "Circuit a + Circuit b + Circuit c: 30.0 A of 25.0 A on L1"
    assert sum(t.value for t in clash.working.terms[:3]) == pytest.approx(clash.amps_a)
    assert clash.working.terms[3].value == pytest.approx(25.0)


def test_a_240_v_circuit_adds_to_either_leg_and_most_amps_come_first():
    """4800 W / 240 V = 20 A on both legs; + 10 A on L1 = 30, + 15 A on L2 = 35."""
    one = found(
        circuit("pump", "backed", 1, 3, load_w=4800, breaker_a=30),
        circuit("a", "backed", 5, load_w=1200),
        circuit("b", "backed", 7, load_w=1800),
    )
    assert said(one) == [
        "Circuit pump + Circuit b: 35.0 A of 25.0 A on L2",
        "Circuit pump + Circuit a: 30.0 A of 25.0 A on L1",
    ]


def test_what_is_off_or_on_another_bus_is_left_out_and_one_alone_is_named():
    """7200 W / 240 V = 30 A of 25 A all by itself."""
    one = found(
        circuit("oven", "backed", 1, 3, load_w=7200, breaker_a=40),
        circuit("tub", "backed", 5, 7, load_w=7200, breaker_a=40, outage_role="off"),
        circuit("attic", "main", 1, load_w=1800),
        circuit("a", "backed", 9, load_w=1800),
    )
    assert said(one) == ["Circuit oven alone: 30.0 A of 25.0 A on L1"]


def test_no_more_than_five_are_told_and_the_rest_are_counted():
    """Five of 15 A on L1 make ten pairs of 30 A."""
    many = found(*(circuit(f"c{n}", "backed", 1 + 4 * n, load_w=1800) for n in range(5)))
    assert (len(many.clashes), many.more) == (5, 5)


def test_a_tighter_limit_than_the_set_decides():
    """A set of 20 kW gives 83.3 A; behind its 40 A breaker 2 x 24 A = 48 A pass."""
    site = backed_up_site()
    feeders = tuple(
        f.model_copy(update={"breaker_a": 40}) if f.from_id == "set" else f for f in site.feeders
    )
    circuits = tuple(
        circuit(n, "backed", s, load_w=2880, breaker_a=30) for n, s in (("a", 1), ("b", 5))
    )
    site = with_parts(site, feeders=feeders, circuits=circuits)
    (one,) = must_not_run_together(simulate(site, site.scenario("out")))
    assert said(one) == ["Circuit a + Circuit b: 48.0 A of 40.0 A on L1"]


def test_without_a_set_that_feeds_anything_there_is_no_list():
    site = backed_up_site()
    assert must_not_run_together(simulate(site, site.scenario("day"))) == ()
