"""Circuits that people keep off while the generator runs."""

from __future__ import annotations

import pytest

from server.domain.scenario import KeptOff
from server.simulate.ensemble import run_draws
from server.simulate.run import simulate
from tests.builders import backed_up_site, scenario

SITE = backed_up_site()


def off(*circuit_ids: str):
    kept = tuple(KeptOff(circuit_id=c) for c in circuit_ids)
    return scenario("out", outage_h=(2, 5), kept_off=kept)


def test_it_draws_nothing_from_the_set_and_all_from_the_utility() -> None:
    run, plain = simulate(SITE, off("d")), simulate(SITE, off())
    row = next(i for i, c in enumerate(SITE.circuits) if c.id == "d")
    assert run.circuit_w[row, 125:290].max() == 0.0
    assert run.circuit_w[row, 110] == plain.circuit_w[row, 110] == 2400
    # Of 4.8 kW the 2.4 kW circuit is left out; the switch goes back ten minutes after the grid is.
    (set_,) = (s for s in run.sources if s.kind == "generator")
    (whole,) = (s for s in plain.sources if s.kind == "generator")
    assert set_.in_kwh == pytest.approx(whole.in_kwh / 2, rel=1e-6)


def test_what_it_wanted_counts_as_unserved_and_its_gap_is_that_of_the_outage() -> None:
    run = simulate(SITE, off("d"))
    service = {s.circuit_id: s for s in run.service}
    assert service["d"].unserved_min == pytest.approx(190, abs=1)
    assert service["d"].longest_gap_min == pytest.approx(190, abs=1)
    assert service["c"].unserved_min < 1
    # Its breaker has power all the while: only the time to start and transfer is dead.
    assert service["d"].dead_min == pytest.approx(service["c"].dead_min)


def test_the_limit_that_was_passed_holds_then_in_every_draw() -> None:
    site = backed_up_site(generators=(SITE.generators[0].model_copy(update={"rated_kw": 5.0}),))
    assert not simulate(site, off()).verdict.fits
    assert simulate(site, off("d")).verdict.fits
    over = run_draws(site, off("d"), draws=range(3)).peaks_a
    assert over.shape[0] == 3
