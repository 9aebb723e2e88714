"""Lowest volts at panels: the sums by hand, and what becomes a finding."""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.advise.starts import starts_of
from server.advise.volts import PanelVolts, panel_volts
from server.advise.volts_findings import volts_findings
from server.domain.appliance import Appliance
from server.domain.scenario import Window
from server.domain.site import Site
from server.domain.supply import Segment
from server.rules.editions import rulebook
from server.simulate.run import simulate
from tests.builders import (
    START,
    appliance,
    backed_up_site,
    circuit,
    feeder,
    generator,
    panel,
    scenario,
    service,
    with_parts,
)

RULES = rulebook("2023")
HOUR = timedelta(hours=1)


def shed(*loads: Appliance, run_ft: float = 300, swap_legs: bool = False) -> Site:
    """A far panel on copper 1/0 in PVC, 0.12 + j0.044 ohm per 1000 ft (NEC Table 9)."""
    wire = Segment(run_ft=run_ft, size="1/0", raceway="PVC")
    return Site(
        name="Shed",
        services=(service(),),
        panels=(panel("main"), panel("shed")),
        feeders=(
            feeder("grid", "main", breaker_a=200),
            feeder("main", "shed", breaker_a=100, segments=(wire,), swap_legs=swap_legs),
        ),
        circuits=tuple(
            circuit(
                f"c{i}",
                "shed",
                *((4 * i + 1, 4 * i + 3) if a.volts == 240 else (4 * i + 1,)),
                appliances=(a,),
            )
            for i, a in enumerate(loads)
        ),
    )


def lowest(site: Site, **day: object) -> PanelVolts:
    found = panel_volts(simulate(site, scenario(span_h=1, **day)))
    return next(one for one in found if one.panel_id == "shed")


def test_resistance_of_120_v_loses_out_and_back() -> None:
    """12 ohm behind 2 x 0.3 x (0.12 + j0.044): 120 V x 12 / |12.072 + j0.0264| = 119.284 V."""
    one = lowest(shed(appliance("heater", 1200, load_type="resistance")))
    assert one.leg == "L1"
    assert one.volts_v == pytest.approx(119.284, abs=1e-3)
    assert (one.status, one.motor) == ("within", None)
    assert one.working.value == one.volts_v
    assert [term.value for term in one.working.terms[1:]] == pytest.approx([0.036, 0.0132])


def test_a_neutral_that_lifts_the_other_leg_is_told() -> None:
    """0.6 ohm on L1: 120 x 0.6 / 0.6725 = 107.06 V, 178.4 A; L2 120 + 178.4 x 0.036 = 126.4 V."""
    one = lowest(shed(appliance("kiln", 24_000, load_type="resistance")))
    assert one.volts_v == pytest.approx(107.06, abs=0.02)
    assert one.lifted_v == pytest.approx(126.43, abs=0.05)
    assert lowest(shed(appliance("kiln", 18_000, load_type="resistance"))).lifted_v is None


def test_electronics_at_constant_power_draw_more_as_the_volts_fall() -> None:
    """1200 W at unity: V = 120 - (0.072 + j0.0264) x 1200 / V, and |V| = 119.276 V."""
    one = lowest(shed(appliance("rack", 1200, load_type="electronic")))
    assert one.volts_v == pytest.approx(119.276, abs=1e-3)


def test_crossed_legs_are_named_as_the_panel_names_them() -> None:
    heater = appliance("heater", 1200, load_type="resistance")
    one = lowest(shed(heater, swap_legs=True))
    assert (one.leg, one.volts_v) == ("L1", pytest.approx(119.284, abs=1e-3))


def test_without_a_neutral_the_volts_between_the_legs_are_told() -> None:
    """4,800 W is 12 ohm at 240 V, behind 2 x (0.036 + j0.0132): 240 x 12 / |12.072 + j0.0264|.

    That is 238.568 V, 0.6 % lost.
    """
    heater = appliance("heater", 4800, volts=240, load_type="resistance")
    site = shed(heater)
    bare = site.feeders[-1].model_copy(update={"no_neutral": True})
    one = lowest(with_parts(site, feeders=(*site.feeders[:-1], bare)))
    assert (one.leg, one.where) == (None, "between its legs")
    assert one.volts_v == pytest.approx(238.568, abs=1e-3) == one.between_v
    assert one.share_lost == pytest.approx(1.432 / 240, abs=1e-5)
    assert one.working.terms[0].value == pytest.approx(240)
    assert lowest(site).leg == "L1"
    far = shed(heater, run_ft=5000)
    bare = far.feeders[-1].model_copy(update={"no_neutral": True})
    one = lowest(with_parts(far, feeders=(*far.feeders[:-1], bare)))
    (finding,) = volts_findings((one,), RULES)
    assert "between its legs while" in finding.text


def test_a_motor_starts_on_the_volts_that_the_line_leaves() -> None:
    """60 A at 240 V and 0.4 power factor is 4 ohm: 1.6 + j3.666 behind 0.072 + j0.0264.

    240 x 4 / |1.672 + j3.6925| = 236.8 V.
    """
    saw = appliance("saw", 2000, volts=240, load_type="motor", locked_rotor_a=60)
    motor = lowest(shed(saw)).motor
    assert motor is not None
    assert motor.volts_v == pytest.approx(236.8, abs=0.05)
    assert (motor.set_dip, motor.status) == (0.0, "within")


def test_a_set_dips_before_the_line_does() -> None:
    """A start of 18 kVA on 20 kVA behind X' of 0.25 leaves 1 - 18 / (18 + 80) of the volts."""
    pump = appliance("pump", 2000, volts=240, load_type="motor", locked_rotor_a=75)
    site = with_parts(
        backed_up_site(),
        generators=(generator(rated_kw=20.0, rated_kva=20.0, reactance_pu=0.25),),
        circuits=(circuit("p", "backed", 1, 3, appliances=(pump,)),),
    )
    out = Window(start=START - timedelta(hours=1), end=START + timedelta(hours=9))
    day = scenario(outages=(out,))
    one = next(x for x in panel_volts(simulate(site, day)) if x.source_id == "set")
    assert one.motor is not None
    assert one.motor.volts_v == pytest.approx(240 * (1 - 18 / 98), abs=0.01)
    assert one.unmeasured
    assert volts_findings((one,), RULES) == ()


def test_five_per_cent_is_a_finding_and_less_is_none() -> None:
    heater = appliance("heater", 1800, load_type="resistance")
    near, far = lowest(shed(heater, run_ft=300)), lowest(shed(heater, run_ft=1800))
    assert volts_findings((near,), RULES) == ()
    (finding,) = volts_findings((far,), RULES)
    assert (finding.code, finding.element_id) == ("volts-low", "shed")
    assert "215.2" in finding.section
    assert (finding.value or 0) > (finding.limit or 0) == 5.0


def test_a_start_that_the_line_starves_is_a_finding() -> None:
    saw = appliance("saw", 2000, volts=240, load_type="motor", locked_rotor_a=300)
    one = lowest(shed(saw, run_ft=2000))
    assert one.motor is not None
    assert one.motor.share_lost > 0.30
    (finding,) = volts_findings((one,), RULES)
    assert "as it starts" in finding.text


def test_a_dead_panel_has_no_volts_to_tell() -> None:
    out = Window(start=START - timedelta(hours=1), end=START + timedelta(hours=9))
    heater = appliance("heater", 1200, load_type="resistance")
    assert panel_volts(simulate(shed(heater), scenario(span_h=1, outages=(out,)))) == ()


def test_on_a_set_of_120_v_a_240_v_heater_stands_still() -> None:
    """So the 120 V heater has the line to itself: 119.284 V, as above."""
    wire = Segment(run_ft=300, size="1/0", raceway="PVC")
    site = backed_up_site(
        generators=(generator(system="120"),),
        feeders=tuple(
            f.model_copy(update={"segments": (wire,)}) if f.from_id == "set" else f
            for f in backed_up_site().feeders
        ),
        circuits=(
            circuit("a", "backed", 1, appliances=(resistance(120),)),
            circuit("b", "backed", 5, 7, appliances=(resistance(240),)),
        ),
    )
    out = Window(start=START - timedelta(hours=1), end=START + timedelta(hours=9))
    found = panel_volts(simulate(site, scenario(span_h=1, outages=(out,))))
    (one,) = (x for x in found if x.panel_id == "backed")
    assert (one.source_id, one.leg) == ("set", "L1")
    assert one.volts_v == pytest.approx(119.284, abs=1e-3)


def resistance(volts: int) -> Appliance:
    return appliance(f"heater-{volts}", 1200, volts=volts, load_type="resistance")


def far_site(*, shed: tuple[Appliance, ...], near: tuple[Appliance, ...]) -> Site:
    """A far panel fed from the backed-up one, on 20 kVA and X' 0.25; with loads on both."""
    base = backed_up_site()
    wire = Segment(run_ft=300, size="1/0", raceway="PVC")
    loads = (("backed", near), ("shed", shed))
    return with_parts(
        base,
        generators=(generator(rated_kw=20.0, rated_kva=20.0, reactance_pu=0.25),),
        panels=(*base.panels, panel("shed", rating_a=100)),
        feeders=(*base.feeders, feeder("backed", "shed", breaker_a=60, segments=(wire,))),
        circuits=tuple(
            circuit(
                f"{where}-{i}",
                where,
                *((4 * i + 1, 4 * i + 3) if a.volts == 240 else (4 * i + 1,)),
                appliances=(a,),
            )
            for where, own in loads
            for i, a in enumerate(own)
        ),
    )


def on_the_set(*, shed: tuple[Appliance, ...], near: tuple[Appliance, ...]) -> PanelVolts:
    """The far panel of that site on the set."""
    out = Window(start=START - HOUR, end=START + 9 * HOUR)
    found = panel_volts(simulate(far_site(shed=shed, near=near), scenario(outages=(out,))))
    return next(x for x in found if (x.source_id, x.panel_id) == ("set", "shed"))


PUMP = appliance("pump", 2000, volts=240, load_type="motor", locked_rotor_a=75)
"""75 A x 240 V = 18 kVA: 18 / (18 + 20 / 0.25) = 18.37 % of a set's volts."""


def test_a_far_panel_falls_with_the_motor_of_the_panel_that_feeds_it() -> None:
    """Its heater of 12 ohm has 119.284 V behind 300 ft: 119.284 x (1 - 0.1837) = 97.4 V."""
    heater = appliance("heater", 1200, load_type="resistance")
    motor = on_the_set(shed=(heater,), near=(PUMP,)).motor
    assert motor is not None
    assert (motor.name, motor.elsewhere, motor.nominal_v) == ("pump", "Panel backed", 120)
    assert motor.volts_v == pytest.approx(119.284 * (1 - 18 / 98), abs=0.01)
    assert motor.status == "close"


def test_what_starts_together_leaves_a_far_panel_less_than_either() -> None:
    """Two of 18 kVA start as the set takes over: 36 / (36 + 80) = 31.0 %; one alone 18.4 %.

    119.284 V of the heater's 120 behind 300 ft: 119.284 x 80 / 116 = 82.3 V.
    """
    heater = appliance("heater", 1200, load_type="resistance")
    base = far_site(shed=(heater,), near=(PUMP, PUMP.model_copy(update={"id": "other"})))
    run = simulate(base, scenario(outages=(Window(start=START + HOUR, end=START + 9 * HOUR),)))
    found = panel_volts(run, starts_of(run))
    far = next(x for x in found if (x.source_id, x.panel_id) == ("set", "shed"))
    assert far.motor is not None
    assert far.joint is not None
    assert far.motor.volts_v == pytest.approx(119.284 * 80 / 98, abs=0.05)
    assert far.joint.volts_v == pytest.approx(119.284 * 80 / 116, abs=0.05)
    assert (far.joint.name, far.joint.nominal_v) == ("2 motors at once", 120)
    assert far.joint.set_dip == pytest.approx(36 / 116)


def test_a_small_motor_of_its_own_does_not_hide_a_large_one_elsewhere() -> None:
    fan = appliance("fan", 200, load_type="motor", locked_rotor_a=10)
    motor = on_the_set(shed=(fan,), near=(PUMP,)).motor
    assert motor is not None
    assert motor.name == "pump"
    assert motor.share_lost > 18 / 98


def test_the_hardest_motor_is_the_one_that_the_winding_feels_most() -> None:
    """6 kVA on one leg dips as 12 kVA, more than 10 kVA on both: 12/92 = 13.0 against 10/90."""
    one_leg = appliance("sump", 500, load_type="motor", locked_rotor_a=50)
    both = appliance("soft", 2000, volts=240, load_type="motor", locked_rotor_a=10000 / 240)
    motor = on_the_set(shed=(one_leg, both), near=()).motor
    assert motor is not None
    assert motor.name == "sump"
    assert motor.set_dip == pytest.approx(12 / 92)


def test_on_the_utility_a_loop_of_120_v_loses_more_than_one_of_240_v() -> None:
    """4 kVA at 120 V is 33 A through a loop of 120 V; 6 kVA at 240 V is 25 A through one of 240."""
    one_leg = appliance("sump", 500, load_type="motor", locked_rotor_a=4000 / 120)
    both = appliance("soft", 500, volts=240, load_type="motor", locked_rotor_a=25)
    motor = lowest(shed(one_leg, both)).motor
    assert motor is not None
    assert (motor.name, motor.nominal_v) == ("sump", 120)


def test_a_panel_starved_by_a_start_elsewhere_is_a_finding() -> None:
    """A saw on the far panel pulls down what hangs behind it, though nothing runs there."""
    saw = appliance("saw", 2000, volts=240, load_type="motor", locked_rotor_a=300)
    site = shed(saw, run_ft=2000)
    site = with_parts(
        site,
        panels=(*site.panels, panel("hut", rating_a=60)),
        feeders=(*site.feeders, feeder("shed", "hut", breaker_a=30)),
    )
    found = panel_volts(simulate(site, scenario(span_h=1)))
    hut = next(one for one in found if one.panel_id == "hut")
    texts = [f.text for f in volts_findings((hut,), RULES)]
    assert any("Panel hut falls to" in t and "as saw starts on Panel shed" in t for t in texts)
