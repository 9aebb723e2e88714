"""A run that holds while draws of the same day do not."""

from __future__ import annotations

import pytest

from server.advise import next_step as module
from server.advise.next_step import next_step
from server.domain.behaviour import Cycle
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.ensemble import run_draws
from server.simulate.odds import odds_of
from server.simulate.run import simulate
from tests.builders import appliance, circuit, generator, scenario, whole_house_site, with_parts

DRAWS = 40
RATED_A = 10_000 / 240


def by_turns() -> tuple[Site, Scenario]:
    """Two of 25 A run 10 min of each hour when they please: 50 A of 41.7 where they meet."""
    now_and_then = Cycle(on_min=10, off_min=50)
    two = [
        appliance(part, 6000, volts=240, behaviour=now_and_then, figure_source="nameplate")
        for part in ("oven", "kiln")
    ]
    site = with_parts(
        whole_house_site(kind="manual"),
        generators=(generator(rated_kw=10, start="by_hand"),),
        circuits=tuple(
            circuit(f"c-{a.id}", "main", 4 * i + 1, 4 * i + 3, breaker_a=40, appliances=(a,))
            for i, a in enumerate(two)
        ),
    )
    for seed in range(1, 30):
        day = scenario("out", outage_h=(1, 4), seed=seed)
        one = with_parts(site, scenarios=(day,))
        if simulate(one, day).verdict.fits:
            return one, day
    raise AssertionError("no draw in which they do not meet")


def passed(site: Site, day: Scenario) -> int:
    """Draws in which a leg of anything passes the set, counted by hand from its peaks."""
    made = run_draws(site, day, draws=range(DRAWS))
    limit = next(i for i, p in enumerate(simulate(site, day).limits) if "generator" in p.point.id)
    return int((made.peaks_a[:, limit, :2].max(axis=1) > RATED_A + 0.01).sum())


@pytest.fixture(autouse=True)
def in_amps_alone(monkeypatch):
    """Without the word of the code on the set, which goes before draws."""
    module._in_run.cache_clear()
    monkeypatch.setattr(module, "barred_step", lambda run, ids: None)
    yield
    module._in_run.cache_clear()


@pytest.fixture
def drawn(monkeypatch):
    monkeypatch.setattr(
        module,
        "kept_odds",
        lambda site, day: odds_of(site, day, run_draws(site, day, draws=range(DRAWS))),
    )


@pytest.mark.usefixtures("drawn")
def test_draws_that_fail_are_told_with_what_lessens_them_most() -> None:
    site, day = by_turns()
    hits = passed(site, day)
    assert 0 < hits < DRAWS
    step = next_step(site, day)
    assert step.sentence.startswith(
        f"In the draw shown all holds, but a limit is passed in {hits} of {DRAWS} draws."
    )
    assert "Nothing need be changed" not in step.sentence
    assert f"a limit is then passed in 0 instead of {hits}" in step.sentence
    assert step.lever is not None


def test_without_draws_nothing_is_said_of_them() -> None:
    site, day = by_turns()
    assert "draw" not in next_step(site, day).sentence.replace("drawn", "")


@pytest.mark.usefixtures("drawn")
def test_where_no_draw_fails_the_step_stays_as_it_is() -> None:
    site, day = by_turns()
    alone = with_parts(site, circuits=site.circuits[:1])
    assert "Nothing need be changed" in next_step(alone, day).sentence
