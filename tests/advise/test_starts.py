"""Motor starts: the sums by hand, and what counts as starting together."""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.advise.advice import judged
from server.advise.doubt import start_doubt, starts_surely_past
from server.advise.next_step import next_step
from server.advise.plan_starts import apart_words
from server.advise.start_findings import start_findings, start_places
from server.advise.starts import SetStarts, start_kva, starts_of, winding_factor
from server.advise.volts import panel_volts
from server.domain.appliance import Appliance
from server.domain.behaviour import Cycle, SumpPump
from server.domain.scenario import Window
from server.domain.site import Site
from server.simulate.run import simulate
from tests.builders import (
    START,
    appliance,
    backed_up_site,
    circuit,
    generator,
    scenario,
    with_parts,
)


def motor(part_id: str, load_w: float = 1200, **changes: object) -> Appliance:
    return appliance(part_id, load_w, volts=240, load_type="motor", **changes)


def house(*motors: Appliance, **set_changes: object) -> SetStarts:
    """A 20 kVA set that takes over two hours into the day and carries these motors."""
    site: Site = with_parts(
        backed_up_site(),
        generators=(generator(rated_kw=20.0, rated_kva=20.0, **set_changes),),
        circuits=tuple(
            circuit(f"c{i}", "backed", 1 + 4 * i, 3 + 4 * i, appliances=(m,))
            for i, m in enumerate(motors)
        ),
    )
    out = Window(start=START + timedelta(hours=2), end=START + timedelta(hours=5))
    day = scenario().model_copy(update={"outages": (out,)})
    (found,) = starts_of(simulate(with_parts(site, scenarios=(day,)), day))
    return found


def test_start_comes_from_locked_rotor_amps_then_the_letter_then_a_guess():
    """75 A x 240 V = 18 kVA; 5 hp code G at most 6.29 kVA/hp = 31.45 kVA (NEC Table 430.7(B))."""
    known = motor("a", locked_rotor_a=75, horsepower=5, code_letter="G")
    assert start_kva(known) == (pytest.approx(18.0), True, "locked-rotor amps")
    lettered = motor("a", horsepower=5, code_letter="G", figure_source="nameplate")
    assert start_kva(lettered) == (pytest.approx(31.45), False, "code letter G, 5 hp")
    kva, guess, basis = start_kva(motor("a", 1200, power_factor=0.8)) or (0, False, "")
    assert (kva, guess) == (pytest.approx(6 * 1.5), True)
    assert "guess" in basis
    assert start_kva(appliance("heater", 1500)) is None
    assert start_kva(motor("idle", 0.0)) is None


def test_soft_starter_leaves_its_share():
    whole, soft = (start_kva(motor("a", locked_rotor_a=75, start_share=s)) for s in (1.0, 0.4))
    assert whole is not None
    assert soft is not None
    assert soft[0] == pytest.approx(0.4 * whole[0])


def test_18_kva_on_20_kva_dips_18_per_cent():
    """18 / (18 + 20/0.25) = 18.4 %."""
    found = house(motor("a", locked_rotor_a=75), reactance_pu=0.25)
    alone = next(s for s in found.starts if s.kind == "alone")
    assert alone.kva == pytest.approx(18.0)
    assert alone.dip == pytest.approx(18 / 98)
    assert alone.status == "close"


def test_a_120_v_motor_is_told_at_its_own_kva_and_dips_half_a_winding():
    """20 A x 120 V = 2.4 kVA. It pulls on one half of the winding, of 10 of the 20 kVA:
    2.4 / (2.4 + 10 / 0.25) = 5.66 %, by hand."""
    small = appliance("a", 600, load_type="motor", locked_rotor_a=20)
    found = house(small, reactance_pu=0.25)
    assert found.starts[0].kva == pytest.approx(2.4)
    assert found.starts[0].dip == pytest.approx(2.4 / (2.4 + 10 / 0.25))


def test_a_finding_tells_the_plate_kva_of_a_120_v_motor():
    """1 hp, 120 V, 96 A: 120 V x 96 A = 11.52 kVA, never the 23.0 of both legs."""
    well = appliance("a", 1900, load_type="motor", locked_rotor_a=96)
    found = house(well, start_kva_limit=20)
    (finding,) = start_findings((found,))
    assert "takes 11.5 kVA as it starts" in finding.text
    assert "20 kVA by its maker, half of that from one leg" in finding.text
    assert start_findings((house(well, start_kva_limit=24),)) == ()


def test_a_set_of_120_v_has_its_whole_winding_on_the_one_leg():
    small = appliance("a", 600, load_type="motor", locked_rotor_a=20)
    systems = ("120/240", "120")
    assert [winding_factor(generator(system=s), small) for s in systems] == [2.0, 1.0]


def test_a_wye_has_a_third_of_its_kva_on_a_leg_and_two_windings_between_two():
    """20 kVA on three legs: 6.67 kVA and 2.16 ohm each, X' 0.25 of it 0.54 ohm.

    50 A at 120 V is 2.4 ohm: 0.54 / (0.54 + 2.4) = 18.4 %. 80 A at 240 V is 3 ohm behind two
    windings: 1.08 / (1.08 + 3) = 26.5 %.
    """
    base = backed_up_site()
    loads = (
        appliance("pump", 600, load_type="motor", locked_rotor_a=50),
        motor("ac", locked_rotor_a=80),
    )
    site = with_parts(
        base,
        services=(base.services[0].model_copy(update={"system": "120/208"}),),
        generators=(generator(rated_kw=20.0, rated_kva=20.0, system="120/208", reactance_pu=0.25),),
        circuits=(
            circuit("p", "backed", 2, appliances=loads[:1]),
            circuit("m", "backed", 1, 3, appliances=loads[1:]),
        ),
    )
    run = simulate(site, scenario(outage_h=(2, 5)))
    (found,) = starts_of(run)
    dips = {s.names: s.dip for s in found.starts if s.kind == "alone"}
    assert dips == {"pump": pytest.approx(0.54 / 2.94), "ac": pytest.approx(1.08 / 4.08)}
    backed = next(v for v in panel_volts(run) if v.source_id == "set" and v.panel_id == "backed")
    assert backed.motor is not None
    assert backed.motor.set_dip == pytest.approx(1.08 / 4.08)
    assert backed.motor.share_lost == pytest.approx(1.08 / 4.08, abs=2e-3)


def test_a_motor_with_horsepower_alone_starts_by_the_table():
    """Table 430.251(A), 1 hp: 96 A at 115 V, 48 A at 230 V; 1/4 hp is not in it."""
    at_120 = appliance("a", 900, load_type="motor", horsepower=1.0)
    kva, guess, basis = start_kva(at_120) or (0, False, "")
    assert (kva, guess) == (pytest.approx(96 * 120 / 1000), True)
    assert basis == "Table 430.251(A), 1 hp, a guess"
    assert start_kva(motor("b", 900, horsepower=1.0))[0] == pytest.approx(48 * 240 / 1000)
    assert "6 times running" in start_kva(motor("c", 300, horsepower=0.25))[2]


def test_motors_without_delay_start_together_after_the_transfer():
    found = house(motor("a", locked_rotor_a=75), motor("b", locked_rotor_a=75))
    (forced,) = [s for s in found.starts if s.kind == "forced"]
    assert forced.kva == pytest.approx(36.0)
    assert forced.dip == pytest.approx(36 / 116)
    assert forced.status == "over"
    (finding,) = start_findings((found,))
    assert finding.code == "starts-together"
    assert "18 %" in finding.mend
    assert "before you stop it, open the breakers of" in apart_words(found)
    assert "and close it once it runs again" in apart_words(found)


def test_the_breaker_of_a_pit_is_closed_before_those_of_larger_motors():
    pit = SumpPump(cycle_gal=6.0, reserve_gal=400.0, pump_gpm=30.0, inflow_gpm=10.0)
    found = house(
        motor("a", locked_rotor_a=75),
        motor("b", locked_rotor_a=70),
        motor("pump", locked_rotor_a=20, behaviour=pit),
        motor("fan", locked_rotor_a=10),
    )
    assert "the breakers of Circuit c2, Circuit c0 and Circuit c1, and" in apart_words(found)


def test_a_delay_takes_a_motor_out_of_the_forced_start():
    found = house(
        motor("a", locked_rotor_a=75), motor("b", locked_rotor_a=75, restart_delay_s=30.0)
    )
    (forced,) = [s for s in found.starts if s.kind == "forced"]
    assert forced.kva == pytest.approx(18.0)
    assert start_findings((found,)) == ()
    assert apart_words(found) == ""


def test_delays_are_no_cure_where_one_motor_alone_dips_too_deep():
    """200 A x 240 V = 48 kVA on 20 kVA behind 0.25: 48 / (48 + 80) = 37.5 %, past 30 %."""
    found = house(motor("well", locked_rotor_a=200), motor("fan", locked_rotor_a=75))
    (together,) = [f for f in start_findings((found,)) if f.code == "starts-together"]
    assert together.mend.startswith("Delays alone do not cure it: well by itself still dips 38 %;")
    assert "Have a soft starter fitted to well, take a larger set, or leave it off" in together.mend
    assert "Give each its own delay" not in together.mend


def test_what_restarts_by_hand_is_not_forced():
    found = house(motor("a", locked_rotor_a=75), motor("b", locked_rotor_a=75, restart="by_hand"))
    (forced,) = [s for s in found.starts if s.kind == "forced"]
    assert [m.appliance.id for m in forced.motors] == ["a"]


def test_the_makers_limit_decides_where_it_is_known():
    bears = house(motor("a", locked_rotor_a=75), start_kva_limit=18.5)
    balks = house(motor("a", locked_rotor_a=75), start_kva_limit=17.5)
    assert [h.starts[0].status for h in (bears, balks)] == ["close", "over"]
    (finding,) = start_findings((balks,))
    assert finding.code == "start-too-large"
    assert "17.5 kVA by its maker" in finding.text


def test_a_pair_comes_with_its_odds_and_is_no_finding():
    """Starts per hour l, 0.5 s each: l1 l2 (0.5 + 0.5) / 3600 meetings an hour."""
    cycling = Cycle(on_min=5.0, off_min=25.0, spread=0.0)
    pair = (motor(n, locked_rotor_a=75, behaviour=cycling, restart_delay_s=d) for n, d in
            (("a", 0.0), ("b", 60.0)))  # fmt: skip
    found = house(*pair)
    (meeting,) = [s for s in found.starts if s.kind == "pair"]
    first, second = meeting.motors
    assert meeting.every_h == pytest.approx(3600.0 / (first.per_h * second.per_h))
    assert 1.0 <= first.per_h <= 3.0
    assert start_findings((found,)) == ()


def test_a_set_that_carries_nothing_has_no_starts():
    site = with_parts(backed_up_site(), scenarios=(scenario(),))
    assert starts_of(simulate(site, site.scenarios[0])) == ()


def test_the_hardest_start_is_said_beside_the_answer_and_the_must_serve_motor_with_it():
    """80 + 75 A x 240 V = 37.2 kVA on a 5 kVA set behind 0.25: 37.2 / (37.2 + 20) = 65 %.

    The pump alone, 18 kVA: 18 / (18 + 20) = 47 %.
    """
    known = {"reactance_pu": 0.25, "rated_kw": 5.0, "rated_kva": 5.0}
    saw = motor("saw", 300, locked_rotor_a=80, figure_source="nameplate")
    pump = motor("pump", 300, locked_rotor_a=75, figure_source="nameplate")
    site = with_parts(
        backed_up_site(),
        generators=(generator(**known),),
        circuits=(
            circuit("s", "backed", 1, 3, appliances=(saw,)),
            circuit("p", "backed", 5, 7, appliances=(pump,), load_class="must_serve"),
        ),
    )
    out = Window(start=START + timedelta(hours=2), end=START + timedelta(hours=5))
    day = scenario().model_copy(update={"outages": (out,)})
    doubt = start_doubt(starts_of(simulate(site, day)))
    assert doubt == (
        f"saw, pump, starting together, may not start on {site.generators[0].name}: the volts dip "
        "65 %, and past 30 % running motors may stop, their relays dropping out. "
        "pump alone still dips 47 %."
    )


def test_a_start_that_holds_leaves_no_doubt():
    assert start_doubt((house(motor("pump", 300, locked_rotor_a=20)),)) == ""


def test_a_guess_is_called_one_in_the_doubt():
    doubt = start_doubt((house(motor("pump", 300, locked_rotor_a=300)),))
    assert doubt.endswith("Its starting figure and the set’s reactance are a guess.")


def test_the_guess_is_that_of_the_motor_at_fault() -> None:
    """A 25 kVA saw whose amps are a guess, and an 18 kVA pump that is too hard by its plate."""
    known = {"reactance_pu": 0.25, "start_kva_limit": 17.5}
    saw = motor("saw", 300, locked_rotor_a=104)
    pump = motor("pump", 300, locked_rotor_a=75, figure_source="nameplate")
    both = start_doubt((house(saw, pump, **known),))
    assert both.endswith("saw alone still dips 24 %. The starting figure of saw is a guess.")
    small = motor("saw", 300, locked_rotor_a=10)
    assert start_doubt((house(small, pump, **known),)).endswith("pump alone still dips 18 %.")


def test_motors_that_all_stand_on_guesses_are_named_once() -> None:
    """Five of 8.4 kVA: 42 / (42 + 80) = 34 % on 20 kVA behind 0.25, and none is too hard alone."""
    names = ("a", "b", "c", "d", "e")
    doubt = start_doubt((house(*(motor(n, 300, locked_rotor_a=35) for n in names)),))
    assert doubt.startswith("a, b, c and 2 more, starting together, may not start on ")
    assert doubt.endswith("The starting figures of all 5 and the set’s reactance are a guess.")
    plate = motor("e", 300, locked_rotor_a=35, figure_source="nameplate")
    known = {"reactance_pu": 0.25}
    some = start_doubt(
        (house(*(motor(n, 300, locked_rotor_a=35) for n in names[:4]), plate, **known),)
    )
    assert some.endswith(" The starting figures of a, b, c and d are a guess.")
    pair = (motor(n, 300, locked_rotor_a=90) for n in "ab")
    assert start_doubt((house(*pair, **known),)).endswith(
        " The starting figures of both are a guess."
    )


@pytest.mark.parametrize(
    ("load_class", "limit", "changes", "fails"),
    [
        ("must_serve", 17.5, {}, True),
        ("important", 17.5, {}, True),
        ("comfort", 17.5, {}, False),
        ("must_serve", 18.5, {}, False),
        ("must_serve", None, {}, False),
        ("must_serve", 17.5, {"figure_source": "guess"}, False),
        ("must_serve", 17.5, {"start_share": 0.4}, False),
        ("must_serve", 17.5, {"locked_rotor_a": None, "horsepower": 10}, False),
    ],
)
def test_a_start_surely_past_the_makers_limit_does_not_hold(
    load_class: str, limit: float | None, changes: dict[str, object], fails: bool
) -> None:
    """75 A x 240 V = 18 kVA, by the plate."""
    plate = {"locked_rotor_a": 75, "figure_source": "nameplate"} | changes
    pump = motor("pump", 300, **plate)
    site = with_parts(
        backed_up_site(),
        generators=(generator(rated_kw=20.0, rated_kva=20.0, start_kva_limit=limit),),
        circuits=(circuit("p", "backed", 5, 7, appliances=(pump,), load_class=load_class),),
    )
    run = simulate(site, scenario(outage_h=(2, 5)))
    said = starts_surely_past(starts_of(run), run.scenario)
    assert bool(said) is fails
    assert judged(run).fits is not fails
    if fails:
        assert judged(run).sentence.startswith(
            "Does not hold. pump asks 18.0 kVA as it starts (locked-rotor amps); the maker of "
        )
        assert next_step(site, run.scenario).sentence.startswith("Make the start sure")


def test_each_mend_of_a_start_is_entered_in_a_field_of_its_motor():
    """Delays of all but the smallest; a guessed start is read first; a known one is softened."""
    one = house(*(motor(f"m{n}", locked_rotor_a=40 + n) for n in range(5)), reactance_pu=0.25)
    forced = next(s for s in one.starts if s.kind == "forced")
    assert forced.status == "over"
    places = start_places(one, forced)
    assert {p.field for p in places} == {"restart_delay_s"}
    assert [p.appliance_id for p in places] == ["m4", "m3", "m2", "m1"]
    assert places[0].words == "Enter the delay of m4"
    for source, field in (("nameplate", "start_share"), ("guess", "locked_rotor_a")):
        hard = house(motor("hard", locked_rotor_a=200, figure_source=source))
        alone = next(s for s in hard.starts if s.kind == "alone")
        assert alone.status == "over"
        assert [(p.appliance_id, p.field) for p in start_places(hard, alone)] == [("hard", field)]
