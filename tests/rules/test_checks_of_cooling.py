"""Compressor units: plate, breaker, wire."""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from tests.rules.check_sites import codes, found, of_kind, plain


def unit(kind="central-air", *, mca=None, mocp=None, breaker_a=30, **changes):
    return plain(
        of_kind("ac", "main", (1, 3), kind, breaker_a=breaker_a, min_circuit_a=mca,
                max_device_a=mocp).model_copy(update=changes)
    )  # fmt: skip


@pytest.mark.parametrize(("breaker_a", "warned"), [(35, False), (40, True)])
def test_a_breaker_is_not_above_the_plate(breaker_a, warned):
    site = unit(mca=21.5, mocp=35, breaker_a=breaker_a)
    assert ("cooling-device-large" in codes(site)) == warned
    assert "cooling-plate-asked" not in codes(site)
    if warned:
        finding = found(site, "cooling-device-large")
        assert (finding.severity, finding.value, finding.limit) == ("warning", 40, 35)
        assert finding.mend == "Use a breaker of 35 A."


def test_the_plate_may_allow_more_than_the_share_of_its_amps():
    """3,500 W at 0.95 and 240 V is 15.4 A; 225 % is 34.5 A."""
    assert "cooling-device-large" in codes(unit(breaker_a=45))
    assert "cooling-device-large" not in codes(unit(breaker_a=45, mca=27, mocp=45))


def test_the_plates_maximum_rounds_down_to_a_standard_breaker():
    assert "30 A" in found(unit(mca=21, mocp=33.6, breaker_a=40), "cooling-device-large").mend


@pytest.mark.parametrize(("breaker_a", "warned"), [(20, True), (25, False)])
def test_a_breaker_below_the_circuit_of_the_plate_warns(breaker_a, warned):
    assert ("cooling-device-small" in codes(unit(mca=21.5, mocp=35, breaker_a=breaker_a))) == warned


def test_half_a_plate_is_asked_for():
    assert "cooling-plate-asked" in codes(unit(mca=21.5))
    assert "cooling-plate-asked" in codes(unit(mocp=35))


@pytest.mark.parametrize(
    ("size", "severity"), [("14", "warning"), ("12", "note"), ("10", None)]
)  # 14: 15/20 A; 12: 20/25 A; 10: 30/35 A in the 60 and 75 °C columns
def test_wire_is_held_to_the_circuit_of_the_plate(size, severity):
    site = unit(mca=21.5, mocp=35, breaker_a=35, wire_size=size)
    got = [f.severity for f in check_site(site).findings if f.code == "branch-wire-small"]
    assert got == ([severity] if severity else [])
    assert "breaker-above-wire" not in codes(site)


def test_wire_without_a_plate_is_held_to_125_percent_of_the_compressor():
    """15.4 A x 1.25 = 19.2 A: 14 copper carries 15 A, 12 copper 20 A."""
    assert found(unit(wire_size="14"), "branch-wire-small").limit == pytest.approx(19.19, abs=0.01)
    assert "branch-wire-small" not in codes(unit(wire_size="12"))


def test_a_hermetic_condensing_unit_follows_440_not_the_motor_rule():
    """A 1 1/2 hp cooler: its 25 A breaker would be above 250 % of nothing but its own plate."""
    cooler = unit("walk-in-cooler", breaker_a=30)
    assert "motor-device-large" not in codes(cooler)
    assert found(cooler, "cooling-device-large").section == "440.22(A)"
    assert "motor-device-large" in codes(
        plain(of_kind("fan", "main", (1, 3), "dust-collector", breaker_a=60))
    )


@pytest.mark.parametrize(
    ("edition", "mca", "mocp", "smallest"),
    [("2017", 9, 12, 15), ("2020", 9, 12, 15), ("2023", 11, 12, 10), ("2023", 5, 9, 10)],
)
def test_a_plate_below_every_breaker_is_read_again(edition, mca, mocp, smallest):
    """240.6(A): 15 A is the smallest breaker to 2020, and 10 A a size of fuses; then 10 A."""
    site = unit(mca=mca, mocp=mocp, breaker_a=15)
    finding = found(site, "cooling-device-large", edition=edition)
    assert f"allows a breaker of {mocp} A at most" in finding.text
    assert f"is of a standard rating, {smallest} A the smallest: read" in finding.mend
    assert finding.advised is None


@pytest.mark.parametrize("edition", ["2023", "2026"])
def test_a_breaker_of_10_a_is_standard_from_2023(edition):
    """Table 240.6(A), 2023: expertce.com; thebuildingcodeforum.com 34619."""
    site = unit(mca=9, mocp=12, breaker_a=15)
    finding = found(site, "cooling-device-large", edition=edition)
    assert finding.mend == "Use a breaker of 10 A, if one is made for its panel."
    fitted = unit(mca=9, mocp=12, breaker_a=10)
    assert not {"cooling-device-large", "breaker-not-standard"} & codes(fitted, edition=edition)
    assert "breaker-not-standard" in codes(fitted, edition="2020")


@pytest.mark.parametrize(
    ("kind", "plate", "section"),
    [("central-air", None, "440.32, 440.33"), ("central-air", 21.5, "440.4(B), 440.35")],
)
def test_the_wire_of_a_compressor_cites_its_own_125_percent(kind, plate, section):
    """440.32 of one compressor, 440.35 where the plate tells; from memory."""
    assert found(unit(kind, mca=plate, wire_size="14"), "branch-wire-small").section == section


def test_the_wire_of_a_motor_cites_430_22():
    well = of_kind("w", "main", (1, 3), "well-pump", breaker_a=20, horsepower=3)
    site = plain(well.model_copy(update={"wire_size": "14"}))
    assert found(site, "branch-wire-small").section == "430.22"


@pytest.mark.parametrize(
    ("plate", "severity"),
    [
        ({"min_circuit_a": 1, "max_device_a": 200}, "warning"),
        ({"min_circuit_a": 1, "max_device_a": 30}, "note"),
        ({"min_circuit_a": 30, "max_device_a": 20}, "warning"),
        ({"min_circuit_a": 20, "max_device_a": 40}, None),
        ({"min_circuit_a": 20, "max_device_a": 30}, None),
    ],
)
def test_a_plate_that_no_unit_has_is_to_be_read_again(plate, severity):
    """3,500 W at 240 V is 14.6 A: an MCA is above that, an MOCP not above 225 % (440.22(A))."""
    own = of_kind("x", "main", (1, 3), "central-air", load_w=3_500, power_factor=1.0, **plate)
    found = [f for f in check_site(plain(own)).findings if f.code == "cooling-plate-asked"]
    assert [f.severity for f in found] == ([severity] if severity else [])


def test_watts_far_below_the_plate_are_doubted_too():
    """33.6 A / 1.25 = 26.9 A, 6,451 VA at 240 V; 3,500 W draws 14.6 A (440.33)."""
    own = of_kind("x", "main", (1, 3), "central-air", load_w=3_500, power_factor=1.0,
                  min_circuit_a=33.6, max_device_a=50)  # fmt: skip
    one = found(plain(own), "cooling-plate-asked")
    assert one.severity == "note"
    assert "no less than 26.9 A" in one.text
    assert "watts of 14.6 A" in one.text
    agreed = own.model_copy(
        update={"appliances": (own.appliances[0].model_copy(update={"load_w": 6_451}),)}
    )
    assert "cooling-plate-asked" not in codes(plain(agreed))


def test_figures_that_look_exchanged_are_asked_about_and_judge_no_breaker():
    """An MCA is 125 % of what it draws, an MOCP at most 225 % (440.22(A), 440.33)."""
    told = codes(unit(mca=35, mocp=21.5, breaker_a=30))
    assert not {"cooling-device-large", "cooling-device-small"} & set(told)
    one = found(unit(mca=35, mocp=21.5, breaker_a=30), "cooling-plate-asked")
    assert one.severity == "warning"
    assert "as if the two were exchanged" in one.text
    assert one.mend.startswith("Is the smaller of the two its MCA?")


def test_a_unit_on_a_cord_is_asked_about_them_too():
    site = unit("room-air", mca=40, mocp=20, breaker_a=20)
    assert "cooling-plate-asked" in codes(site)
    assert "cooling-plate-asked" not in codes(unit("room-air", mca=20, mocp=40, breaker_a=20))
