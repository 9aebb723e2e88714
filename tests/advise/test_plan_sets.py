"""Plans of houses with several sets: each tells of what it feeds, and of its own fuel."""

from __future__ import annotations

from datetime import timedelta

from server.advise.outage_plan import OutagePlan, outage_plan
from server.domain.behaviour import SumpPump
from server.domain.catalogue import KINDS
from server.domain.scenario import Delivery, OwnSet
from server.domain.supply import FuelTank
from server.simulate.run import simulate
from tests.builders import START, appliance, circuit, with_parts
from tests.simulate.test_own_sets import two


def planned(*own: OwnSet, start: str = "automatic", changed=(), **changes) -> OutagePlan:
    """A house with a pit and oxygen on one set, a barn on another whose 2 gal end soon."""
    site, day = two(*own, **changes)
    pit = appliance("pit", 800, behaviour=SumpPump(cycle_gal=6.0, reserve_gal=1.0, pump_gpm=30.0))
    oxygen = KINDS["oxygen-concentrator"].appliance("oxygen")
    tank = FuelTank(capacity_gal=2.0, fill_share=1.0, reserve_share=0.0)
    sets = tuple(
        g.model_copy(update={"start": start, "tank": tank if g.id == "other" else g.tank})
        for g in site.generators
    )
    things = (
        circuit("sump", "backed", 11, appliances=(pit,)),
        circuit("med", "backed", 13, appliances=(oxygen,), load_class="must_serve"),
        *changed,
    )
    site = with_parts(site, generators=sets, circuits=(*site.circuits, *things), scenarios=(day,))
    plan = outage_plan(simulate(site, day))
    assert plan is not None
    return plan


def texts(plan: OutagePlan) -> list[str]:
    return [t.text for t in (*plan.before, *plan.during, *plan.after)]


def test_the_fuel_of_one_set_says_nothing_of_people_on_another() -> None:
    told = texts(planned(OwnSet(set_id="set", state="fails")))
    (bring,) = [t for t in told if "gal more at hand: Barn set needs" in t]
    assert "Oxygen" not in bring
    assert "let it run fewer hours of the day" in bring
    (moved,) = [t for t in told if t.startswith("Take whoever needs Oxygen concentrator")]
    assert "The fuel ends" not in moved


def test_the_end_of_its_own_fuel_moves_whoever_hangs_on_it() -> None:
    """1 gal is there, a twentieth of 20: an hour at the most, of four."""
    told = texts(planned(OwnSet(set_id="set", fuel_share=0.05)))
    (bring,) = [t for t in told if "gal more at hand: House set needs" in t]
    assert "pit and Oxygen concentrator hang on it, so let it run all hours" in bring
    (moved,) = [t for t in told if t.startswith("Take whoever needs Oxygen concentrator")]
    assert "The fuel ends about Thu 26 Nov" in moved


def test_a_pit_is_told_with_the_start_of_the_set_that_feeds_it_alone() -> None:
    plan = planned(start="by_hand", pit_inflow_gpm=2.0)
    starts = {t.text[6:15].strip(): t.text for t in plan.during if t.text.startswith("Start ")}
    assert "The pit of pit runs over" in starts["House set"]
    assert "pit" not in starts["Barn set"].replace("Circuit", "")


def test_only_what_a_set_carries_takes_turns_on_it() -> None:
    """Three kilns of 9 kW are more than 20 kW; the fourth is put on by hand, at no hour."""
    kilns = tuple(
        circuit(f"kiln-{n}", "barn", 5 + 4 * n, 7 + 4 * n, load_w=9000, breaker_a=50)
        for n in range(3)
    )
    spare = circuit("spare", "barn", 17, 19, load_w=9000, breaker_a=50, outage_role="by_hand")
    told = texts(planned(changed=(*kilns, spare)))
    (turns,) = [t for t in told if "run only one of them at a time on Barn set" in t]
    assert all(c.name in turns for c in kilns)
    assert "Circuit mow" in turns
    assert "Circuit spare" not in turns
    assert not [c for c in "bcd" if f"Circuit {c}" in turns]


def test_fuel_that_comes_for_two_running_sets_speaks_of_both() -> None:
    """Half a gallon for each tank at 13:30, half an hour into the outage."""
    came = Delivery(at=START + timedelta(hours=1.5), gallons=0.5)
    told = texts(planned(start="by_hand", deliveries=(came,)))
    (due,) = [t for t in told if t.startswith("Fuel is due: ")]
    assert due.startswith("Fuel is due: 0.5 gal for House set and 0.5 gal for Barn set.")
    assert "House set and Barn set run then, and this run counts the fuel as in their tanks" in due
