"""Intervals behind the state table, and their corners."""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.domain.scenario import HandWindow, SwitchMove, Window
from server.domain.supply import TransferSwitch
from server.simulate.run import simulate
from server.simulate.timeline import build_timeline, holds
from tests.builders import (
    START,
    backed_up_site,
    double_throw_site,
    feeder,
    generator,
    interlock_site,
    panel,
    scenario,
    two_services_site,
    with_parts,
)


def window(first_h: float, last_h: float) -> Window:
    return Window(start=START + timedelta(hours=first_h), end=START + timedelta(hours=last_h))


def test_no_outage_means_nothing_runs() -> None:
    timeline = build_timeline(backed_up_site(), scenario())
    assert timeline.running == {"set": ()}
    assert timeline.giving == {"set": ()}
    assert timeline.on_generator == {"ats": ()}
    assert timeline.edges() == []


def test_an_automatic_transfer_second_by_second() -> None:
    timeline = build_timeline(backed_up_site(), scenario(outage_h=(2, 5)))
    assert timeline.giving["set"] == ((7210.0, 18000.0 + 900.0),)
    assert timeline.on_generator["ats"] == ((7215.0, 18600.0),)
    assert timeline.moving["ats"] == ((7215.0, 7216.0), (18600.0, 18601.0))
    assert timeline.edges() == [
        7200.0, 7210.0, 7215.0, 7216.0, 18000.0, 18600.0, 18601.0, 18900.0
    ]  # fmt: skip


def test_two_switches_of_one_set_return_each_in_their_own_time() -> None:
    base = two_services_site()
    slow = base.transfer_switches[1].model_copy(update={"return_delay_min": 30.0})
    site = with_parts(base, transfer_switches=(base.transfer_switches[0], slow))
    timeline = build_timeline(site, scenario(outage_h=(1, 2)))
    assert timeline.on_generator["ats-east"][0][1] == 7200 + 600
    assert timeline.on_generator["ats-west"][0][1] == 7200 + 1800
    assert timeline.giving["set"][0][1] == 7200 + 1800 + 300


def test_a_set_of_one_house_leaves_the_other_alone() -> None:
    base = two_services_site()
    site = with_parts(
        base,
        generators=(generator(), generator("other", start_delay_s=30)),
        feeders=tuple(
            feeder("other", "ats-west", "generator") if f.id == "set-ats-west-generator" else f
            for f in base.feeders
        ),
    )
    timeline = build_timeline(site, scenario(outage_h=(1, 2)))
    assert timeline.on_generator["ats-east"][0][0] == 3615
    assert timeline.on_generator["ats-west"][0][0] == 3635


def test_an_automatic_switch_behind_a_set_started_by_hand() -> None:
    site = backed_up_site(generators=(generator(start="by_hand"),))
    timeline = build_timeline(site, scenario(outage_h=(1, 3), hand_start_min=12))
    assert timeline.on_generator["ats"] == ((3600 + 720 + 5, 10800 + 600),)


def test_a_hand_switch_waits_for_the_set_and_the_person() -> None:
    site = interlock_site()
    timeline = build_timeline(site, scenario(outage_h=(1, 3), hand_start_min=12))
    assert timeline.on_generator["lock"] == ((3600 + 720, 10800 + 1200),)


def test_a_person_quicker_than_the_set_waits_for_it() -> None:
    base = backed_up_site(generators=(generator(start_delay_s=60),))
    hand = TransferSwitch(id="ats", name="By hand", kind="manual", rating_a=100)
    site = with_parts(base, transfer_switches=(hand,))
    timeline = build_timeline(site, scenario(outage_h=(1, 3), hand_start_min=0))
    assert timeline.on_generator["ats"][0][0] == 3660


def test_a_stop_that_swallows_the_outage_keeps_the_switch_on_the_grid() -> None:
    day = scenario(outage_h=(2, 3), generator_stops=(window(1, 4),))
    timeline = build_timeline(backed_up_site(), day)
    assert timeline.on_generator["ats"] == ()
    assert timeline.giving["set"] == ()


def test_a_stop_cuts_giving_until_the_set_is_up_again() -> None:
    day = scenario(outage_h=(2, 5), generator_stops=(window(3, 3.5),))
    timeline = build_timeline(backed_up_site(), day)
    assert timeline.giving["set"] == ((7210.0, 10800.0), (12610.0, 18900.0))
    assert timeline.running["set"] == ((7210.0, 10800.0), (12600.0, 18900.0))
    assert timeline.on_generator["ats"] == ((7215.0, 18600.0),)


def test_a_stop_in_the_cool_down_ends_it() -> None:
    day = scenario(outage_h=(2, 5), generator_stops=(window(5.2, 6),))
    timeline = build_timeline(backed_up_site(), day)
    assert timeline.running["set"] == ((7210.0, 5.2 * 3600),)


@pytest.mark.parametrize("stop", [(4, 5), (4, 5.1), (5.05, 5.1)])
def test_a_set_that_stands_as_the_utility_is_back_is_not_started_again(
    stop: tuple[float, float],
) -> None:
    """A hand switch is thrown back 20 min after; until then nobody starts the set for nothing."""
    day = scenario(outage_h=(2, 5), generator_stops=(window(*stop),), hand_return_min=20)
    timeline = build_timeline(interlock_site(), day)
    assert timeline.giving["set"][-1][1] == stop[0] * 3600.0
    assert timeline.running["set"] == timeline.giving["set"]
    assert [e.text for e in timeline.events if "again" in e.text or "cooling" in e.text] == []
    (key,) = timeline.on_generator
    assert timeline.on_generator[key][0][1] == 5 * 3600.0 + 1200.0


def test_overlapping_stops_are_one_hole() -> None:
    stops = (window(3, 3.5), window(3.25, 4), window(4, 4.1))
    timeline = build_timeline(backed_up_site(), scenario(outage_h=(2, 5), generator_stops=stops))
    assert timeline.running["set"][1][0] == pytest.approx(4.1 * 3600)


def test_moves_to_where_a_throw_already_stands_are_no_moves() -> None:
    moves = tuple(
        SwitchMove(switch_id="throw", at=START + timedelta(hours=h), position=p)
        for h, p in ((3, "normal"), (1, "normal"), (2, "backed_up"), (2.5, "backed_up"))
    )
    timeline = build_timeline(double_throw_site(), scenario(switch_moves=moves))
    assert timeline.throws["throw"][1:] == ((7200.0, "backed_up"), (10800.0, "normal"))
    assert len(timeline.moving["throw"]) == 2
    assert [timeline.position("throw", h * 3600) for h in (0, 2, 2.9, 3)] == [
        "normal",
        "backed_up",
        "backed_up",
        "normal",
    ]


def test_hand_windows_are_kept_by_circuit() -> None:
    windows = tuple(HandWindow(circuit_id="c", window=window(h, h + 1)) for h in (1, 3))
    timeline = build_timeline(interlock_site(), scenario(hand_windows=windows))
    assert timeline.hand == {"c": ((3600.0, 7200.0), (10800.0, 14400.0))}


def test_of_one_instant_what_causes_is_told_before_what_follows() -> None:
    site = backed_up_site()
    exercised = Window(start=START + timedelta(minutes=50), end=START + timedelta(minutes=70))
    stop = Window(start=START + timedelta(hours=1.9), end=START + timedelta(hours=2.5))
    day = scenario(outage_h=(1, 2), generator_exercise=(exercised,), generator_stops=(stop,))
    told = [(e.at, e.text) for e in build_timeline(site, day).events]
    hour = [text for at, text in told if at == START + timedelta(hours=1)]
    assert hour[0] == "The utility goes out"
    assert "is up to speed" in hour[1]
    back = [text for at, text in told if at == START + timedelta(hours=2)]
    assert back[0] == "The utility is back"
    assert back[1].endswith("goes back to the utility")


def test_events_outside_the_span_are_left_out_and_in_order() -> None:
    timeline = build_timeline(backed_up_site(), scenario(span_h=3, outage_h=(2, 5)))
    assert [e.text for e in timeline.events] == [
        "The utility goes out",
        "Generator set is up to speed",
        "Transfer switch goes over to the generator",
    ]
    assert [e.at for e in timeline.events] == sorted(e.at for e in timeline.events)


def test_a_panel_alone_on_a_set_has_it_in_outages_only() -> None:
    base = backed_up_site()
    site = with_parts(
        base,
        transfer_switches=(),
        panels=(panel("main"), panel("barn")),
        feeders=(feeder("grid", "main"), feeder("set", "barn")),
        circuits=(),
    )
    timeline = build_timeline(site, scenario(outage_h=(2, 5)))
    assert timeline.giving["set"] == ((7210.0, 18300.0),)


def test_interval_ends_are_not_in_it() -> None:
    assert holds(((1.0, 2.0),), 1.0)
    assert not holds(((1.0, 2.0),), 2.0)
    assert not holds((), 0.0)


def test_a_dry_stretch_found_again_within_itself_is_told_once() -> None:
    """Marching again may find the same end of the fuel a few milliseconds later."""
    site = backed_up_site()
    (made,) = site.generators
    dry = ((10_800.0, 14_400.0), (10_800.004, 14_400.0), (16_200.0, 18_000.0))
    timeline = build_timeline(site, scenario(outage_h=(2, 5)), empty={made.id: dry})
    said = [e.at for e in timeline.events if e.text.endswith("runs out of fuel")]
    assert said == [START + timedelta(hours=3), START + timedelta(hours=4.5)]


@pytest.mark.parametrize(
    ("back_h", "stops_h"), [(8.0, 8.0 + 5 / 60), (5.0, 6.0 + 5 / 60), (None, 6.0 + 5 / 60)]
)
def test_a_set_alone_behind_a_double_throw_runs_until_it_is_thrown_back(
    back_h: float | None, stops_h: float
) -> None:
    """The utility is back at 6 h; the set cools for 5 min once nothing hangs on it."""
    base = double_throw_site()
    feeders = tuple(f for f in base.feeders if f.to_input != "backed_up")
    site = with_parts(
        base,
        generators=(*base.generators, generator("other")),
        feeders=(*feeders, feeder("other", "throw", "backed_up", breaker_a=60)),
    )
    moves = [SwitchMove(switch_id="throw", at=START + timedelta(hours=3), position="backed_up")]
    if back_h is not None:
        at = START + timedelta(hours=back_h)
        moves.append(SwitchMove(switch_id="throw", at=at, position="normal"))
    day = scenario(span_h=12, outage_h=(2, 6), switch_moves=tuple(moves))
    ((begin, end),) = build_timeline(site, day).giving["other"]
    assert begin == 2 * 3600.0 + 10.0
    assert end == pytest.approx(stops_h * 3600.0)
    live = simulate(site, day)
    row = next(i for i, c in enumerate(site.circuits) if c.id == "e")
    dark_min = live.service[row].dark_min
    if back_h == 8.0:
        assert dark_min == pytest.approx((3600.0 + 2 * 5.0) / 60.0)
