"""What a plan says of the breakers behind a double-throw that is thrown by hand."""

from __future__ import annotations

from datetime import timedelta

from server.advise.plan_throws import throws
from server.domain.scenario import SwitchMove
from server.domain.topology import buses
from server.simulate.run import simulate
from server.simulate.verdict import moment
from tests.builders import START, double_throw_site, scenario, with_parts


def test_a_throw_names_its_breakers_and_leaves_open_what_stays_off():
    site = double_throw_site()
    behind = next(bus for bus in buses(site) if bus.root_id == "throw").circuit_ids
    names = [site.circuit(i).name for i in behind]
    moves = tuple(
        SwitchMove(switch_id="throw", at=START + timedelta(hours=h), position=position)
        for h, position in ((3, "backed_up"), (7, "normal"))
    )
    day = scenario("out", span_h=8, outage_h=(2, 6), switch_moves=moves)
    run = simulate(with_parts(site, scenarios=(day,)), day)
    assert names
    for _, task in throws(run, set()):
        assert all(name in task.text for name in names)
        assert "close them one at a time." in task.text
    (_, there), (_, back) = throws(run, set(behind[:1]))
    assert f"{names[0]} stays off until the end" in there.text
    assert "stays off" not in back.text


def test_a_throw_that_is_made_again_names_the_first_and_not_its_breakers_once_more():
    site = double_throw_site()
    behind = next(bus for bus in buses(site) if bus.root_id == "throw").circuit_ids
    names = [site.circuit(i).name for i in behind]
    moves = tuple(
        SwitchMove(switch_id="throw", at=START + timedelta(hours=h), position=position)
        for h, position in ((3, "backed_up"), (4, "normal"), (5, "backed_up"), (7, "normal"))
    )
    day = scenario("out", span_h=8, outage_h=(2, 6), switch_moves=moves)
    run = simulate(with_parts(site, scenarios=(day,)), day)
    first, back, again, last = (task.text for _, task in throws(run, set()))
    assert all(name in words for name in names for words in (first, back))
    assert not any(name in words for name in names for words in (again, last))
    hour = START + timedelta(hours=3)
    assert again.endswith(f"throw it to backed-up, then close them as at {moment(hour)}.")
    # With a circuit that stays off the words at the return differ, and are told in full.
    *_, last = (task.text for _, task in throws(run, set(behind[:1])))
    assert all(name in last for name in names)
