"""``threebus simulate --draws``."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from server.cli import app
from server.domain.site import Site
from server.domain.supply import FuelPoint, FuelTank
from server.exchange.sitefile import write_site_file
from server.paths import DEMOS
from tests.builders import backed_up_site, circuit, generator, normal_only_site, with_parts


def called(*arguments: object):
    return CliRunner().invoke(app, ["simulate", *map(str, arguments)])


def written(tmp_path: Path, site: Site) -> Path:
    path = tmp_path / "site.json"
    path.write_bytes(write_site_file(site))
    return path


def test_the_table_gives_median_95th_worst_and_how_often_each_limit_is_passed(tmp_path):
    hot = circuit("hot", "main", 9, 11, load_w=60_000, breaker_a=300)
    site = normal_only_site(circuits=(*normal_only_site().circuits, hot))
    result = called(written(tmp_path, site), "--draws", 7)
    assert result.exit_code == 3
    lines = result.output.splitlines()
    head = next(line for line in lines if line.startswith("Limit "))
    row = next(line for line in lines if line.startswith("Service grid, main "))
    assert head.split() == ["Limit", "Limit", "A", "Median", "95th", "Worst", "Passed"]
    assert row.split()[-8:] == ["200.0", "L1", "270.0", "270.0", "270.0", "7", "of", "7"]
    words = " ".join(result.output.split())
    assert "A limit is passed in 7 out of 7 draws (likely 65 to 100 %)." in words
    assert "A tripped breaker is a message." in words
    assert "Simulated peaks" in words


def test_what_holds_in_every_draw_ends_with_0_and_says_what_is_served(tmp_path):
    site = backed_up_site()
    medical = circuit("cpap", "backed", 9, load_w=60, load_class="must_serve", own_battery_min=30)
    site = with_parts(site, circuits=(*site.circuits, medical))
    result = called(written(tmp_path, site), "--scenario", "day", "--draws", 3)
    assert result.exit_code == 0
    words = " ".join(result.output.split())
    assert "Served in every draw: Circuit cpap." in words
    assert "A limit is passed in none out of 3 draws" in words
    out = " ".join(
        called(written(tmp_path, site), "--scenario", "out", "--draws", 3).output.split()
    )
    assert "Circuit cpap asks for power and gets none in every draw" in out


def test_fuel_that_ends_early_is_said_and_ends_with_3(tmp_path):
    small = generator(tank=FuelTank(capacity_gal=5))
    path = written(tmp_path, backed_up_site(generators=(small,)))
    result = called(path, "--scenario", "out", "--draws", 4)
    assert result.exit_code == 3
    words = " ".join(result.output.split())
    assert "Generator set runs out of fuel in every draw" in words


def test_json_is_that_of_the_api_and_the_same_seed_gives_the_same(tmp_path):
    path = written(tmp_path, backed_up_site())
    one, two, other = (
        json.loads(called(path, "--draws", 5, "--json", "--seed", seed).stdout)
        for seed in (3, 3, 4)
    )
    assert one == two
    assert (one["seed"], other["seed"]) == (3, 4)
    assert set(one["limits"][0]["crossed"]) >= {"hits", "draws", "share", "standard_error"}
    assert one["cautions"]


@pytest.mark.parametrize("path", sorted(DEMOS.glob("*.json")), ids=lambda p: p.stem)
def test_every_line_fits_80_columns(path):
    result = called(path, "--draws", 3, "--all")
    assert result.exit_code in {0, 3}
    assert max(map(len, result.output.splitlines())) <= 80


def test_gas_that_is_surely_not_there_is_said_and_ends_with_3(tmp_path):
    points = tuple(FuelPoint(load_kw=kw, rate_per_h=100.0 + 10.0 * kw) for kw in (0, 5, 10))
    told = {"fuel": "natural_gas", "fuel_points": points, "gas_meter_btu_h": 90_000}
    path = written(tmp_path, backed_up_site(generators=(generator(**told),)))
    result = called(path, "--scenario", "out", "--draws", 3)
    assert result.exit_code == 3
    words = " ".join(result.output.split())
    assert "In every draw alike: Generator set burns" in words
    found = json.loads(called(path, "--scenario", "out", "--draws", 3, "--json").stdout)
    assert "meter and pipe carry 90,000 Btu/h" in found["short"][0]
