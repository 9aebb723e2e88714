"""The heavier leg decides whether a demand fits."""

from __future__ import annotations

import pytest

from server.domain.errors import InputError
from server.rules.check import check_site
from server.rules.demand.inputs import Dwelling, Load
from server.rules.demand.optional import optional
from server.rules.demand.report import demand_of
from server.rules.demand.selected import selected
from server.rules.demand.standard import standard
from server.rules.editions import rulebook
from tests import builders
from tests.builders import with_parts
from tests.reference.test_annex_d import D1B
from tests.rules.check_sites import of_kind, plain

RULES = rulebook("2023")


def chargers(*legs):
    loads = tuple(
        Load(f"Charger {i}", "individual", 1800, volts=120, leg=leg) for i, leg in enumerate(legs)
    )
    return Dwelling("House", 1500, loads=loads, existing_a=100)


@pytest.mark.parametrize("method", [standard, optional])
def test_seven_chargers_on_one_leg_do_not_fit_100_a(method):
    """Seven of 15 A are 105 A on the one leg before anything else."""
    one_leg = method(chargers(*["L1"] * 7), RULES)
    assert one_leg.fits is False
    assert one_leg.standard_a > 100
    spread = method(chargers(*["L1", "L2"] * 3, "L1"), RULES)
    assert spread.fits


def test_what_is_selected_on_a_set_is_compared_leg_by_leg():
    dwelling = Dwelling("Set", 0, existing_a=30)
    loads = tuple(Load(f"Load {i}", "individual", 1800, volts=120, leg="L1") for i in range(3))
    sheet = selected(dwelling, loads, RULES)
    assert sheet.amps == pytest.approx(22.5)
    assert (sheet.legs.l1_a, sheet.legs.l2_a, sheet.fits) == (45, 0, False)


def test_the_printed_example_takes_its_device_from_line_b():
    """Annex D1(b): 99 A on line A, 104 A on line B, so the next standard device is 110 A."""
    assert standard(D1B, rulebook("2017")).standard_a == 110


def test_a_leg_that_is_none_is_refused_and_no_load_is_lost_from_the_legs():
    with pytest.raises(InputError, match="L1 or L2"):
        Load("Lamp", "individual", 100, volts=120, leg="l1")  # type: ignore[arg-type]


def test_a_leg_too_heavy_under_a_total_that_fits_is_told_with_both():
    """220.82 compares its total; the legs beside it are those of the standard method."""
    mats = tuple(of_kind(f"c{n}", "main", (4 * n + 1,), "heat-mats", load_w=1500) for n in range(8))
    base = plain(services=(builders.service(main_a=100),))
    wide = tuple(p.model_copy(update={"spaces": 60}) for p in base.panels)
    site = with_parts(base, panels=wide, circuits=mats)
    sheet = demand_of(site, "grid", rules=RULES).sheet("optional")
    assert sheet is not None
    assert sheet.amps < 100 < sheet.leg_a
    told = next(
        f
        for f in check_site(site).findings
        if f.code == "demand-above-rating" and f.element_id == "grid"
    )
    assert told.severity == "warning"
    assert "Over both legs evenly" in told.text
