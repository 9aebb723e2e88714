from __future__ import annotations

from datetime import timedelta

import pytest

from server.domain.edits import (
    free_spaces,
    move_circuit,
    new_id,
    put_circuit,
    put_scenario,
    remove_circuit,
    remove_scenario,
    set_pinned,
    with_changes,
)
from server.domain.errors import EditError, NotFoundError, SiteFileError
from server.domain.panel import leg_of_space
from server.domain.scenario import ApplianceEvent, HandWindow, KeptOff, Window
from tests.builders import (
    START,
    backed_up_site,
    circuit,
    double_throw_site,
    handle_set_site,
    normal_only_site,
    panel,
    scenario,
    with_parts,
)


def test_new_ids_are_readable_and_free() -> None:
    assert new_id("Well pump", set()) == "well-pump"
    assert new_id("Well pump", {"well-pump", "well-pump-2"}) == "well-pump-3"
    assert new_id("  Ünter & über  ", set()) == "nter-ber"
    assert new_id("!!!", set()) == "part"


@pytest.mark.parametrize("name", ["x" * 80, "Lights " * 11, "№ 5"])
def test_new_ids_are_valid_ids(name: str) -> None:
    taken: set[str] = set()
    for _ in range(3):
        taken.add(new_id(name, taken))
        circuit(sorted(taken)[-1], "main", 1)
    assert len(taken) == 3


def test_a_new_circuit_goes_last_and_a_changed_one_keeps_its_place() -> None:
    site = normal_only_site()
    grown = put_circuit(site, circuit("z", "main", 20))
    assert [c.id for c in grown.circuits] == ["a", "b", "c", "z"]
    renamed = put_circuit(grown, grown.circuit("b").model_copy(update={"name": "Renamed"}))
    assert [c.id for c in renamed.circuits] == ["a", "b", "c", "z"]
    assert renamed.circuit("b").name == "Renamed"


def test_edits_leave_the_old_site_alone() -> None:
    site = normal_only_site()
    put_circuit(site, circuit("z", "main", 20))
    assert len(site.circuits) == 3


def test_an_edit_that_cannot_be_computed_names_its_field() -> None:
    with pytest.raises(SiteFileError) as caught:
        put_circuit(normal_only_site(), circuit("z", "main", 1))
    (problem,) = caught.value.problems
    assert problem.field == "circuits.3.spaces"
    assert "both in space 1" in problem.message


def test_other_fields_can_be_replaced() -> None:
    assert with_changes(normal_only_site(), people=7).people == 7
    with pytest.raises(SiteFileError, match="people"):
        with_changes(normal_only_site(), people=0)


def test_removing_a_circuit_removes_all_that_points_at_it() -> None:
    site = handle_set_site()
    window = Window(start=START, end=START + timedelta(hours=1))
    site = with_parts(
        site,
        circuits=(
            site.circuit("a").model_copy(update={"multiwire_partner_id": "b"}),
            site.circuit("b").model_copy(update={"multiwire_partner_id": "a"}),
            site.circuit("c"),
        ),
        scenarios=(
            scenario(
                events=(ApplianceEvent(appliance_id="a-load", at=START),),
                hand_windows=(HandWindow(circuit_id="a", window=window),),
                kept_off=(KeptOff(circuit_id="a"), KeptOff(circuit_id="b")),
            ),
        ),
    )
    left = remove_circuit(site, "a")
    assert [c.id for c in left.circuits] == ["b", "c"]
    assert left.circuit("b").multiwire_partner_id is None
    assert [h.circuit_id for h in left.transfer_switches[0].handles] == ["b"]
    assert left.scenarios[0].events == ()
    assert left.scenarios[0].hand_windows == ()
    assert [k.circuit_id for k in left.scenarios[0].kept_off] == ["b"]


def test_removing_what_is_not_there_says_so() -> None:
    with pytest.raises(NotFoundError, match="no circuit 'ghost'"):
        remove_circuit(normal_only_site(), "ghost")
    with pytest.raises(NotFoundError, match="no scenario 'ghost'"):
        remove_scenario(normal_only_site(), "ghost")


def test_scenarios_are_added_replaced_and_removed() -> None:
    site = put_scenario(normal_only_site(), scenario("night"))
    assert [s.id for s in site.scenarios] == ["day", "night"]
    site = put_scenario(site, scenario("day", span_h=3))
    assert site.scenario("day").span_h == 3
    assert [s.id for s in remove_scenario(site, "day").scenarios] == ["night"]


def test_free_spaces_leave_out_circuits_feeders_and_solar() -> None:
    site = double_throw_site(solar=True)
    free = free_spaces(site, site.panel("main"))
    assert free == set(range(1, 21)) - {1, 2, 4, 6, 8, 18, 20}
    assert 1 in free_spaces(site, site.panel("main"), leaving=frozenset({"a"}))


def test_half_a_space_is_not_a_free_space() -> None:
    site = with_parts(normal_only_site(), circuits=(circuit("a", "main", 5, half="a"),))
    assert 5 not in free_spaces(site, site.panel("main"))


def test_a_moved_circuit_keeps_its_leg_where_it_can() -> None:
    site = backed_up_site()
    moved = move_circuit(site, "c", "main").circuit("c")
    assert moved.panel_id == "main"
    assert moved.spaces == (3,)
    assert leg_of_space(3) == leg_of_space(site.circuit("c").spaces[0])


def test_a_moved_circuit_takes_the_other_leg_rather_than_none() -> None:
    site = backed_up_site()
    tight = with_parts(
        site,
        panels=(site.panel("main").model_copy(update={"spaces": 6}), site.panel("backed")),
        circuits=(circuit("a", "main", 3), circuit("x", "backed", 3)),
    )
    assert move_circuit(tight, "x", "main").circuit("x").spaces == (1,)


def test_a_two_pole_circuit_takes_two_spaces_under_each_other() -> None:
    moved = move_circuit(backed_up_site(), "d", "main").circuit("d")
    assert moved.spaces == (5, 7)
    assert {leg_of_space(s) for s in moved.spaces} == {"L1", "L2"}


def test_a_move_to_chosen_spaces_is_taken_as_said() -> None:
    assert move_circuit(backed_up_site(), "c", "main", spaces=(12,)).circuit("c").spaces == (12,)
    again = move_circuit(backed_up_site(), "c", "backed", spaces=(9,))
    assert again.circuit("c").spaces == (9,)


def test_a_move_to_taken_or_wrong_spaces_is_refused() -> None:
    with pytest.raises(SiteFileError, match="both in space 1"):
        move_circuit(backed_up_site(), "c", "main", spaces=(1,))
    with pytest.raises(EditError, match="two spaces under each other"):
        move_circuit(backed_up_site(), "d", "main", spaces=(3, 4))
    with pytest.raises(EditError, match="2-pole breaker takes 2 spaces"):
        move_circuit(backed_up_site(), "d", "main", spaces=(3,))


def test_a_full_panel_says_what_is_needed() -> None:
    site = backed_up_site()
    full = with_parts(
        site,
        panels=(site.panel("main").model_copy(update={"spaces": 4}), site.panel("backed")),
        circuits=(*(c for c in site.circuits), circuit("x", "main", 3)),
    )
    with pytest.raises(EditError) as one_pole:
        move_circuit(full, "b", "main")
    assert str(one_pole.value) == (
        "Panel main has no free place for Circuit b: it needs a space. Free one first."
    )
    with pytest.raises(EditError) as two_pole:
        move_circuit(full, "d", "main")
    assert "it needs two spaces under each other" in str(two_pole.value)
    assert two_pole.value.field == "panel_id"


def test_a_pinned_circuit_stays_in_its_panel() -> None:
    site = set_pinned(backed_up_site(), "b", pinned=True)
    with pytest.raises(EditError, match=r"Circuit b is pinned. Unpin it first."):
        move_circuit(site, "b", "main")
    assert move_circuit(site, "b", "backed", spaces=(9,)).circuit("b").spaces == (9,)
    assert move_circuit(set_pinned(site, "b", pinned=False), "b", "main").circuit("b")


def pair_site() -> object:
    site = backed_up_site()
    return with_parts(
        site,
        circuits=(
            circuit("a", "main", 1),
            circuit("b", "backed", 1, multiwire_partner_id="c"),
            circuit("c", "backed", 3, multiwire_partner_id="b"),
        ),
    )


def test_a_multiwire_partner_moves_along_onto_the_opposite_leg() -> None:
    moved = move_circuit(pair_site(), "b", "main")  # type: ignore[arg-type]
    b, c = moved.circuit("b"), moved.circuit("c")
    assert b.panel_id == c.panel_id == "main"
    assert leg_of_space(b.spaces[0]) != leg_of_space(c.spaces[0])


def test_a_pair_put_on_one_leg_by_hand_brings_its_partner_to_the_other() -> None:
    moved = move_circuit(pair_site(), "b", "main", spaces=(7,))  # type: ignore[arg-type]
    legs = {leg_of_space(moved.circuit(i).spaces[0]) for i in ("b", "c")}
    assert legs == {"L1", "L2"}


def test_a_pair_does_not_move_where_only_one_leg_is_free() -> None:
    site = pair_site()
    lead = circuit("x", "main", 3)
    tight = with_parts(
        site,  # type: ignore[arg-type]
        panels=(panel("main", spaces=6, main_a=200, neutral_bonded=True), panel("backed")),
        circuits=(lead, *site.circuits[1:]),  # type: ignore[attr-defined]
    )
    with pytest.raises(EditError, match="on L2, across from its multiwire partner"):
        move_circuit(tight, "b", "main")


def test_a_pinned_partner_holds_the_pair() -> None:
    site = set_pinned(pair_site(), "c", pinned=True)  # type: ignore[arg-type]
    with pytest.raises(EditError, match="Circuit c is pinned"):
        move_circuit(site, "b", "main")


def test_a_moved_tandem_half_takes_a_whole_space() -> None:
    site = backed_up_site()
    site = with_parts(site, circuits=(*site.circuits, circuit("t", "backed", 9, half="b")))
    moved = move_circuit(site, "t", "main").circuit("t")
    assert moved.half is None


def test_a_move_of_a_tandem_breaker_leaves_its_type_behind() -> None:
    site = backed_up_site()
    tandem = circuit("t", "backed", 9, half="b", breaker_type="tandem")
    site = with_parts(site, circuits=(*site.circuits, tandem))
    assert move_circuit(site, "t", "main").circuit("t").breaker_type == "standard"


def test_a_move_to_an_unknown_panel_says_so() -> None:
    with pytest.raises(NotFoundError, match="no panel 'barn'"):
        move_circuit(backed_up_site(), "b", "barn")


def test_there_and_back_loses_nothing_but_the_place() -> None:
    site = double_throw_site()
    there = move_circuit(site, "e", "backed")
    back = move_circuit(there, "e", "swing", spaces=(1,))
    assert back == site
    assert panel("swing", rating_a=100) == back.panel("swing")
