"""The neutral of a worksheet by 220.61, and the 120 V part of a dryer."""

from __future__ import annotations

import pytest

from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from server.rules.demand.inputs import Dwelling, Load
from server.rules.demand.optional import optional
from server.rules.demand.standard import standard
from server.rules.editions import rulebook
from tests.builders import with_parts
from tests.rules.check_sites import found
from tests.rules.test_demand_site import house, house_circuit, line

RULES = rulebook("2023")


def bare(*loads, **changes):
    return Dwelling("Shed", 0, 0, 0, loads=loads, whole=False, is_service=False, **changes)


def light(name, amps, leg, **changes):
    return Load(name, "individual", amps * 120, volts=120, leg=leg, **changes)


def test_rows_that_lean_to_different_legs_do_not_add_up_on_the_neutral():
    """10 and 1 A on L1 against 6 and 5 A on L2: rows give 10 + 5 A, yet no leg has more than 11."""
    loads = (light("a", 10, "L1"), light("b", 1, "L1"), light("c", 6, "L2"), light("d", 5, "L2"))
    legs = standard(bare(*loads), RULES).legs
    assert (legs.l1_a, legs.l2_a) == (pytest.approx(11), pytest.approx(11))
    assert legs.neutral_a == pytest.approx(11)
    last = legs.rows[-1]
    assert last.neutral_a == pytest.approx(11 - 15)
    assert last.section == "220.61(A)"


def test_the_motor_of_the_fuller_leg_alone_is_raised_on_the_neutral():
    """12 A of motor on L1; 20 A of heat on L2: L1 15 A with its 25 %, L2 20 A, neutral 20 A."""
    legs = standard(
        bare(light("motor", 12, "L1", motor_va=1440), light("heat", 20, "L2")), RULES
    ).legs
    assert (legs.l1_a, legs.neutral_a) == (pytest.approx(15), pytest.approx(20))


@pytest.mark.parametrize("path", sorted(DEMOS.glob("*.json")), ids=lambda p: p.stem)
def test_no_neutral_of_a_demo_is_above_its_heavier_leg(path):
    for element in check_site(read_site_file(path.read_bytes())).demand:
        for sheet in element.sheets:
            assert sheet.legs is not None
            assert sheet.legs.neutral_a <= max(sheet.legs.l1_a, sheet.legs.l2_a) + 1e-6


def test_a_dryer_puts_its_motor_on_one_leg():
    """5,600 VA of which 480 VA turn the drum from L2: 21.3 A on both, 4 A more on L2."""
    dryer = Load("Dryer", "dryer", 5_600, leg="L2", neutral_va=480)
    legs = standard(bare(dryer), RULES).legs
    row = next(r for r in legs.rows if r.label == "Dryer")
    assert row.l1_a == pytest.approx(5120 / 240)
    assert row.l2_a == pytest.approx(5120 / 240 + 480 / 120)
    # 220.61(B)(1): 70 % of the dryer, as before.
    assert row.neutral_a == pytest.approx(0.7 * 5600 / 240)
    assert "480 VA of it from L2" in row.note


def test_a_dryer_without_a_120_v_part_stays_even():
    rows = standard(bare(Load("Dryer", "dryer", 5_600)), RULES).legs.rows
    row = next(r for r in rows if r.label == "Dryer")
    assert row.l1_a == row.l2_a == pytest.approx(5600 / 240)


@pytest.mark.parametrize("method", [standard, optional])
def test_a_flat_may_have_60_a_where_a_one_family_dwelling_has_100(method):
    """230.79(C), (D), as quoted in forums.mikeholt.com thread 143299."""
    flat = Dwelling("Flat", 300, one_family=False)
    alone = Dwelling("House", 300)
    assert (method(flat, RULES).least_a, method(alone, RULES).least_a) == (60, 100)
    cited = [a.source for a in method(flat, RULES).amp_lines if a.label.startswith("Least")]
    assert all("230.79(D)" in c for c in cited)


def test_a_service_of_one_of_two_flats_is_held_to_60_a():
    site = read_site_file((DEMOS / "two-family.json").read_bytes())
    sheets = [s for d in check_site(site).demand if d.kind == "service" for s in d.sheets]
    assert {s.least_a for s in sheets if s.method != "measured"} <= {60, None}
    down, up = site.services
    small = with_parts(site, services=(down.model_copy(update={"main_a": 50}), up))
    finding = found(small, "service-under-100")
    assert (finding.limit, finding.section) == (60, "230.79(D)")
    assert "other than a one-family dwelling" in finding.text


@pytest.mark.parametrize("edition", ["2017", "2020", "2023", "2026"])
def test_a_120_v_car_plug_says_what_its_edition_asks(edition):
    plug = house_circuit("plug", "main", (13,), "car-charger-120")
    site = with_parts(house(), circuits=(*house().circuits, plug))
    report = check_site(site, edition=edition).demand
    sheet = next(d for d in report if d.element_id == "grid").sheet("standard")
    name = plug.appliances[0].name
    note = line(sheet, name).note
    assert ("220.57 asks 7,200 VA" in note and "120 V plug" in note) == (edition == "2023")
