"""The circuits that 210.11(C) has every dwelling have, said once where one is not entered."""

from __future__ import annotations

from server.rules.check import check_site
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import of_kind, plain

CODE = "dwelling-circuits-missing"
OF_A_HOUSE = ("lighting", "kitchen-plugs", "kitchen-plugs", "washer", "bath-plugs")


def house(*kinds, area_ft2=1500, **of_site):
    own = tuple(
        of_kind(f"c{n}", "main", (2 * n + 1,), kind, breaker_a=20) for n, kind in enumerate(kinds)
    )
    return plain(*own).model_copy(update={"floor_area_ft2": area_ft2, **of_site})


def told(site):
    return [f.text for f in check_site(site, recheck=False).findings if f.code == CODE]


def test_a_dwelling_that_has_them_all_is_let_be():
    assert told(house(*OF_A_HOUSE)) == []


def test_each_that_is_not_entered_is_named_in_one_note():
    """210.11(C)(1) to (3): two or more for small appliances, one for laundry, one for bathrooms."""
    (text,) = told(house("lighting", "kitchen-plugs"))
    assert "kitchen counters have 1 of at least 2" in text
    assert "laundry outlets have none and bathroom outlets have none" in text
    (text,) = told(house("lighting", "kitchen-plugs", "kitchen-plugs", "washer"))
    assert ": bathroom outlets have none." in text


def test_a_refrigerator_of_its_own_is_none_of_the_two():
    """210.52(B)(1) exception 2: its circuit stands beside those of the counters."""
    (text,) = told(house("lighting", "kitchen-plugs", "refrigerator", "washer", "bath-plugs"))
    assert "kitchen counters have 1 of at least 2" in text


def test_a_bathroom_may_be_told_by_its_name():
    site = house("lighting", "kitchen-plugs", "kitchen-plugs", "washer", "plugs")
    bath = site.circuits[-1].model_copy(update={"area": "Upstairs bath"})
    assert told(with_parts(site, circuits=(*site.circuits[:-1], bath))) == []


def test_without_rooms_or_their_area_nothing_is_said():
    assert told(house("kitchen-plugs", "washer")) == []
    assert told(house("lighting", area_ft2=None)) == []
    assert told(house("lighting", area_ft2=0)) == []


def test_a_workshop_is_no_dwelling():
    site = house("lighting", "plugs")
    shop = tuple(c.model_copy(update={"place": "outbuilding"}) for c in site.circuits)
    assert told(with_parts(site, circuits=shop)) == []


def test_laundry_that_several_dwellings_share_is_enough_for_each():
    """210.52(F) exception 1, from memory."""
    own = tuple(
        of_kind(f"{unit}{n}", unit, (2 * n + 1,), kind, breaker_a=20)
        for unit in ("up", "down")
        for n, kind in enumerate(k for k in OF_A_HOUSE if k != "washer")
    )
    wash = of_kind("wash", "up", (2,), "washer", breaker_a=20)
    panels = tuple(
        builders.panel(i, main_a=100, dwelling=i.title(), floor_area_ft2=700)
        for i in ("up", "down")
    )
    site = plain(*own, panels=panels, feeders=tuple(builders.feeder("grid", p.id) for p in panels))
    assert len(told(site)) == 2
    wash = wash.model_copy(update={"place": "common_area"})
    assert told(with_parts(site, circuits=(*site.circuits, wash))) == []
