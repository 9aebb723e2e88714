"""Which sheet counts in a switch position, for findings, pages and the terminal alike."""

from __future__ import annotations

from dataclasses import replace

import pytest

from server.domain.site import Site
from server.rules.check import check_site
from server.rules.demand.lightest import lightest
from server.rules.demand.report import demand_of
from server.rules.demand.worksheet import Worksheet
from server.rules.editions import rulebook
from server.rules.wiring.feeder import governing
from tests.builders import backed_up_site
from tests.rules.test_managers import MANAGER, changed

RULES = rulebook("2023")


def of_set(kw: float, setting_a: float) -> dict[str, Worksheet]:
    return {s.method: s for s in demand_of(held(kw, setting_a), "set", rules=RULES).sheets}


def held(kw: float, setting_a: float) -> Site:
    manager = MANAGER.model_copy(update={"setting_a": setting_a})
    site = changed(backed_up_site(), "d", manager, outage_role="managed", energy_group_id="m")
    sets = tuple(g.model_copy(update={"rated_kw": kw}) for g in site.generators)
    return site.model_copy(update={"generators": sets})


def test_a_set_is_held_to_what_its_manager_lets_on_without_a_quarter_more() -> None:
    """25 A of a leg transfer in full; 22 A by the setting, which ask for 27.5 A of wire alone.

    The set gives 23 A: 5.52 kW over 240 V.
    """
    by_method = of_set(5.52, 22)
    assert by_method["full"].leg_a == pytest.approx(25)
    assert by_method["managed"].leg_a == pytest.approx(22)
    assert by_method["managed"].needed_a == pytest.approx(27.5)
    sheets = tuple(by_method.values())
    counted = lightest("generator", sheets)
    assert counted is not None
    assert counted.method == "managed"
    assert governing(demand_of(held(5.52, 22), "set", rules=RULES)).method == "managed"
    wire = lightest("feeder", sheets)
    assert wire is not None
    assert wire.method == "full"


@pytest.mark.parametrize(("kw", "over"), [(5.52, False), (5.04, True)])
def test_a_set_whose_manager_holds_it_below_its_limit_is_not_past_it(kw: float, over: bool) -> None:
    found = check_site(held(kw, 22), edition="2023", recheck=False).findings
    past = [f for f in found if f.code == "demand-above-rating" and f.element_id == "set"]
    assert bool(past) is over


def test_a_sheet_that_lacks_an_answer_does_not_go_before_one_that_lacks_none() -> None:
    by_method = of_set(5.52, 22)
    lacking = replace(by_method["managed"], missing=("Floor area.",))
    whole = replace(by_method["full"], missing=())
    assert lightest("generator", (whole, lacking)) is whole
    both = (replace(by_method["full"], missing=("Floor area.",)), lacking)
    assert lightest("generator", both) is lacking
    assert lightest("generator", ()) is None


def test_what_a_hand_selects_beside_what_transfers_by_itself_counts_where_it_is_more() -> None:
    full = of_set(5.52, 22)["full"]
    selected = replace(full, method="selected", leg_a=full.leg_a + 1.0)
    assert lightest("generator", (full, selected)) is selected
    assert lightest("generator", (full, replace(selected, leg_a=1.0))) is full
