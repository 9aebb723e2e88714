"""The series of a run as a table."""

from __future__ import annotations

import csv
import io

import pytest

from server.domain.cautions import PLANNING_AID
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.simulate.run import simulate
from server.simulate.series import series_csv
from tests.builders import backed_up_site, normal_only_site, scenario, service


def rows_of(run):  # type: ignore[no-untyped-def]
    return list(csv.reader(io.StringIO("".join(series_csv(run)), newline="")))


def test_one_row_a_step_and_three_columns_a_shared_point() -> None:
    run = simulate(backed_up_site(), scenario(outage_h=(2, 5)))
    rows = rows_of(run)
    shared = [p for p in run.points if p.kind != "circuit_breaker"]
    assert len(rows) == 1 + run.steps
    assert len(rows[0]) == 1 + 3 * len(shared) + 1
    assert rows[0][-1] == str(PLANNING_AID)
    assert {row[-1] for row in rows[1:]} == {""}
    assert all(len(row) == len(rows[0]) for row in rows)
    assert rows[0][1] == "Service grid, main L1 A"
    assert rows[1][0] == "2026-11-26 12:00:00"
    assert rows[61][0] == "2026-11-26 13:00:00"
    row = next(i for i, p in enumerate(run.points) if p.id == "generator:set")
    column = rows[0].index("Generator set L2 A")
    assert float(rows[1 + 180][column]) == pytest.approx(run.amps[row, 1, 180], abs=0.005)


def test_seconds_are_kept_for_short_steps() -> None:
    rows = rows_of(simulate(normal_only_site(), scenario(span_h=1, step_s=10)))
    assert [row[0][-8:] for row in rows[1:4]] == ["12:00:00", "12:00:10", "12:00:20"]


@pytest.mark.parametrize("name", ["=1+1", "+1", "-1", "@cmd", "\uff1d1"])
def test_a_name_cannot_become_a_formula(name: str) -> None:
    run = simulate(normal_only_site(services=(service(name=name),)), scenario(span_h=1))
    assert all(cell[:1] not in "=+-@" for cell in rows_of(run)[0])


def test_names_with_commas_and_quotes_come_back() -> None:
    run = simulate(normal_only_site(services=(service(name='A "b", c'),)), scenario(span_h=1))
    assert rows_of(run)[0][1] == 'A "b", c, main L1 A'


def test_what_is_stored_stands_behind_the_amps() -> None:
    farm = read_site_file((DEMOS / "flower-farm.json").read_bytes())
    run = simulate(farm, farm.scenario("holiday-peak"))
    rows = rows_of(run)
    column = rows[0].index("Refrigerator temperature °F")
    row = next(i for i, w in enumerate(run.watched) if w.name == "Refrigerator")
    assert float(rows[1 + 99][column]) == pytest.approx(run.level[row, 99], abs=0.005)
    assert rows[0][-2] == "Generator, 16 kW propane fuel left gal"


def test_a_name_is_not_cut_in_two_by_another_separator() -> None:
    run = simulate(normal_only_site(services=(service(name="x;=1"),)), scenario(span_h=1))
    assert '"x;=1, main L1 A"' in next(series_csv(run))
