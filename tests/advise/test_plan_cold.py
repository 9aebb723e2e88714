"""What of a plan speaks of cold boxes and medicine, and of gas that a tank may not give."""

from __future__ import annotations

from server.advise.outage_plan import outage_plan
from server.advise.plan_ahead import named
from server.advise.plan_cold import boxes, look_words
from server.advise.tank_gas import tank_gas
from tests.advise.test_tank_gas import run_with
from tests.builders import backed_up_site, with_parts
from tests.rules.check_sites import of_kind


def test_medicine_is_kept_shut_with_the_food_and_looked_at_by_its_own_words():
    base = backed_up_site()
    drugs = of_kind("bedroom", "backed", (15,), "medicine-refrigerator")
    meals = of_kind("kitchen", "backed", (17,), "refrigerator")
    site = with_parts(base, circuits=(drugs, meals))
    medicine, food = drugs.appliances[0].name, meals.appliances[0].name
    assert boxes(site) == [medicine, food]
    words = look_words(site)
    assert f"medicine in {medicine}: " in words
    assert "pharmacist" in words
    assert f"food in {food}." in words
    assert look_words(with_parts(base, circuits=())) == ""


def test_an_order_names_all_it_is_about():
    assert named([f"c{n}" for n in range(20)] * 2) == ", ".join(f"c{n}" for n in range(20))


def test_a_tank_that_gives_too_little_is_filled_before_and_spared_in_its_hardest_hour():
    plan = outage_plan(run_with(250, 0))
    assert plan is not None
    (fill,) = [t.text for t in plan.before if t.text.startswith("Gallons enough")]
    # 135,200 of the 139,470 Btu/h at K 100: K is 97, 57 % full, so the next twentieth is 60.
    assert "above 60 %" in fill
    (spare,) = [t for t in plan.during if t.text.startswith("Carry less on")]
    assert f"{spare.at:%H:%M}" == "23:00"
    fine = outage_plan(run_with(500, 0))
    assert fine is not None
    assert not [t for t in (*fine.before, *fine.during) if "Carry less" in t.text]


def test_the_words_of_a_tank_are_of_its_season():
    (cold,) = tank_gas(run_with(250, 0))
    (warm,) = tank_gas(run_with(60, 84))
    assert "before the cold" in cold.mend
    assert "cold" not in warm.mend
