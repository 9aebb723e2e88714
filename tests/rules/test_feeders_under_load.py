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


def test_the_breaker_says_what_behind_it_is_held_to_it_too(farm):
    """The sheets hold a switch and a panel of 100 A to the 80 A ahead, and so it is said."""
    found = over(farm)
    side = found["feeder-swing-normal", "Double-throw switch on NORMAL"]
    assert (
        " Double-throw switch and Switchable panel behind it are held to it too, as it is less "
        "than their own rating." in side.text
    )
    where = "Double-throw switch on BACKED-UP"
    transfer = found["feeder-transfer", where].text
    # The switch of 100 A is no more than the breaker of 100 A, and has a finding of its own.
    assert "Backed-up panel behind it is held to it too, as it is less than its own" in transfer
    assert "held to it too" not in found["feeder-generator", where].text
    assert "held to it too" not in found["backed", where].text


def test_what_behind_a_breaker_is_no_more_than_it_or_within_it_is_not_named():
    def site(rating_a, load_w):
        oven = builders.circuit("oven", "sub", 1, 3, load_w=load_w, breaker_a=100)
        return builders.normal_only_site(
            panels=(
                builders.panel("main", main_a=200, neutral_bonded=True),
                builders.panel("sub", rating_a=rating_a),
            ),
            feeders=(
                builders.feeder("grid", "main"),
                builders.feeder("main", "sub", breaker_a=60),
            ),
            circuits=(oven, builders.circuit("old", "main", 1, load_w=1200)),
            scenarios=(),
        )

    def text(rating_a, load_w):
        return {f.element_id: f.text for f in check_site(site(rating_a, load_w)).findings
                if f.code == "demand-above-rating"}.get("main-sub", "")  # fmt: skip

    assert "Panel sub behind it is held to it too" in text(100, 16_800)
    assert text(60, 16_800)
    assert "held to it too" not in text(60, 16_800)
    assert not text(100, 9_600)


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
