"""A feeder under its calculated load, and which part of a supply such a finding names."""

from __future__ import annotations

import pytest

from server.domain.supply import EnergyGroup
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import HOUSE, of_kind


@pytest.fixture(scope="module")
def farm():
    return read_site_file((DEMOS / "flower-farm.json").read_bytes())


def over(site):
    return {
        (f.element_id, f.where): f
        for f in check_site(site).findings
        if f.code == "demand-above-rating"
    }


def named(site):
    return {element_id for element_id, _ in over(site)}


def test_the_breaker_is_named_and_not_the_switch_it_feeds(farm):
    """93 A on a double-throw and a panel of 100 A each, behind a breaker of 80 A (215.3)."""
    found = over(farm)
    assert not {"switchable-throw", "swing"} & named(farm)
    side = found["feeder-swing-normal", "Double-throw switch on NORMAL"]
    assert side.section == "215.2(A)(1), 215.3"
    assert "calculated to carry 93 A" in side.text
    assert "Its breaker is 80 A." in side.text
    assert "use a 100 A breaker with wire for it, 2 copper or larger." in side.mend
    assert (side.limit, side.severity) == (80, "warning")


def test_a_panel_is_held_to_its_bus_and_its_feeder_to_the_breaker(farm):
    """149.4 A: over the bus of 125 A (408.30), and over the feeder's 100 A (215.3) before that."""
    where = "Double-throw switch on BACKED-UP"
    found = over(farm)
    assert "Its bus is rated 125 A." in found["backed", where].text
    assert found["backed", where].section == "408.30"
    assert "Its breaker is 100 A." in found["feeder-transfer", where].text
    assert "175 A breaker with wire for it, 2/0 copper" in found["feeder-transfer", where].mend
    # Without a breaker of its own it is the breaker ahead that is named.
    assert "feeder-backed" not in named(farm)


def test_both_sizes_are_given_where_the_load_is_above_the_device(farm):
    """100 A: 1 copper at 60 °C (110 A). 151.9 A on 175 A: 2/0 copper at 75 °C (175 A)."""
    wired = {w.feeder_id: w for w in check_site(farm).wiring}
    transfer = wired["feeder-transfer"]
    assert (transfer.advice.size, transfer.advice.device_a) == ("1", 100)
    assert (transfer.load_advice.size, transfer.load_advice.device_a) == ("2/0", 175)
    assert wired["feeder-generator"].load_advice.device_a == 175
    assert wired["feeder-shed"].load_advice is None


def test_a_set_s_feeder_is_held_to_all_that_transfers_or_to_what_management_leaves(farm):
    """702.4: 149.4 A on the set's 70 A breaker; with all under management nothing is over."""
    found = over(farm)["feeder-generator", "Double-throw switch on BACKED-UP"]
    assert "Its breaker is 70 A." in found.text
    assert found.section == "702.4"
    assert "listed load management" in found.mend
    role = {"outage_role": "managed", "energy_group_id": "m"}
    managed = tuple(c.model_copy(update=role) for c in farm.circuits)
    manager = EnergyGroup(id="m", name="Manager", off_on_generator=True)
    site = with_parts(farm, circuits=managed, energy_groups=(manager,))
    assert not {"generator", "feeder-generator"} & named(site)
    assert (
        next(w for w in check_site(site).wiring if w.feeder_id == "feeder-generator").load_advice
        is None
    )


def test_a_set_that_a_person_loads_has_no_finding_on_its_feeder():
    """702.4: by hand the person chooses what runs together; the set itself is still compared."""
    base = builders.interlock_site(scenarios=(), floor_area_ft2=1200, zones=HOUSE)
    heavy = of_kind("strip", "main", (9, 11), "heat-strip", load_w=30_000, breaker_a=150)
    site = with_parts(base, circuits=(*base.circuits, heavy))
    sets = {g.id for g in site.generators}
    ours = {f.id for f in site.feeders if f.from_id in sets}
    assert sets & named(site)
    assert not ours & named(site)
    assert all(w.load_advice is None for w in check_site(site).wiring if w.feeder_id in ours)


def test_a_device_of_full_rating_carries_the_continuous_part_at_100_percent(farm):
    """215.3 exception: shed leg 15.5 A, 18.0 A with 25 % of its continuous part, behind 16 A."""

    def behind_16(*, full_rated):
        change = {"breaker_a": 16, "full_rated": full_rated}
        return with_parts(
            farm,
            feeders=tuple(
                f.model_copy(update=change) if f.id == "feeder-shed" else f for f in farm.feeders
            ),
        )

    assert "feeder-shed" in named(behind_16(full_rated=False))
    assert "feeder-shed" not in named(behind_16(full_rated=True))


def test_the_wire_of_a_mend_is_for_the_breaker_it_names_in_each_position(farm):
    """112 A: Table 310.16 at 75 °C, 2 copper carries 115 A, 125 A by 240.4(B); 3/0 copper 200 A."""
    mats = {"mats-east": (7, 9), "mats-west": (8, 10)}

    def at_240(c):
        if c.id not in mats:
            return c
        things = tuple(a.model_copy(update={"volts": 240, "load_w": 3600}) for a in c.appliances)
        place = {"poles": 2, "spaces": mats[c.id], "breaker_a": 20, "appliances": things}
        return c.model_copy(update=place)

    found = over(with_parts(farm, circuits=tuple(at_240(c) for c in farm.circuits)))
    normal = found["feeder-transfer", "Double-throw switch on NORMAL"].mend
    assert "use a 125 A breaker with wire for it, 2 copper or larger." in normal
    backed = found["feeder-transfer", "Double-throw switch on BACKED-UP"].mend
    assert "use a 200 A breaker with wire for it, 3/0 copper or larger." in backed


def test_a_device_past_the_tables_is_told_with_its_feeder(farm):
    site = with_parts(
        farm,
        feeders=tuple(
            f.model_copy(update={"breaker_a": 1600}) if f.id == "feeder-shed" else f
            for f in farm.feeders
        ),
    )
    past = "its device of 1,600 A is past what can be worked out here, 1 to 1,200 A of device."
    assert check_site(site).missing == (f"Ground wire of Feeder to potting shed: {past}",)
