"""A use that an outage cuts, with power back before it would have ended, is told."""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.domain.behaviour import DailyStart, Stage, Timed
from server.domain.catalogue import KINDS
from server.domain.finding import Finding
from server.domain.scenario import ApplianceEvent, Window
from server.simulate.run import simulate
from tests.builders import START, appliance, circuit, normal_only_site, scenario, with_parts

DINNER = Timed(stages=(Stage(minutes=25, share=1),), starts=(DailyStart(hour=18),))


def cut(out_min: tuple[float, float], at_min: float | None, restart: str = "by_hand"):
    """Notes of a run from 12:00; the outage and the booked start in minutes after 18:00."""
    made = appliance("top", 3000, name="Burners", behaviour=DINNER, restart=restart)
    site = with_parts(normal_only_site(), circuits=(circuit("c", "main", 1, appliances=(made,)),))
    six = START + timedelta(hours=6)
    off, back = (six + timedelta(minutes=m) for m in out_min)
    events = ()
    if at_min is not None:
        events = (ApplianceEvent(appliance_id="top", at=six + timedelta(minutes=at_min)),)
    day = scenario(span_h=12, outages=(Window(start=off, end=back),), events=events)
    found: list[Finding] = [f for f in simulate(site, day).findings if f.code == "uses-cut-short"]
    return found


@pytest.mark.parametrize(
    ("out_min", "at_min", "moment"),
    [
        ((0, 6), None, "18:00"),
        ((0, 6), 2, "18:02"),
        ((10, 10 + 1 / 3), 2, "18:10"),
    ],
    ids=["a habit that begins in it", "a start booked in it", "one under way"],
)
def test_a_use_cut_by_a_short_outage_is_told_with_its_moment(out_min, at_min, moment):
    (note,) = cut(out_min, at_min)
    assert (note.severity, note.element_id, note.value) == ("note", "top", 1)
    assert f"Burners, Thu 26 Nov {moment}. What they would draw" in note.text
    assert note.text.startswith("Lost power in" if moment == "18:10" else "Were due while dead")
    assert note.why


@pytest.mark.parametrize(
    ("out_min", "at_min", "restart"),
    [
        ((0, 1 / 3), None, "by_itself"),
        ((0, 1 / 3), None, "by_hand"),
        ((0, 60), 2, "by_hand"),
        ((-5, -4), 2, "by_hand"),
        ((28, 30), 2, "by_hand"),
    ],
    ids=[
        "comes on by itself",
        "begun once it is back",
        "out past its end",
        "before it",
        "after it",
    ],
)
def test_what_is_taken_up_again_or_ends_in_the_outage_is_not(out_min, at_min, restart):
    assert cut(out_min, at_min, restart) == []


def test_a_burner_with_a_knob_comes_on_as_power_returns_and_an_oven_does_not() -> None:
    """3 kW for 25 min from 18:00, out from 18:05 to 18:10: 20 of the 25 minutes, or the first 5."""
    assert KINDS["range-burners"].restart == KINDS["cooktop"].restart == "by_itself"
    assert KINDS["range-oven"].restart == KINDS["induction-cooktop"].restart == "by_hand"
    six = START + timedelta(hours=6)
    off, back = six + timedelta(minutes=5), six + timedelta(minutes=10)
    for kind, minutes in (("range-burners", 20), ("range-oven", 5)):
        made = KINDS[kind].appliance("top", load_w=3000).model_copy(update={"behaviour": DINNER})
        one = circuit("c", "main", 1, 3, appliances=(made,))
        site = with_parts(normal_only_site(), circuits=(one,))
        run = simulate(site, scenario(span_h=12, outages=(Window(start=off, end=back),)))
        used_kwh = sum(b.energy_kwh for b in run.bus_results)
        assert used_kwh == pytest.approx(3.0 * minutes / 60, rel=1e-4)
