"""Circuits that share a neutral are proposed together, where one handle ties them."""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.advise.levers import Lever, apply_lever, lever_words
from server.domain.edits import move_circuit, set_pinned
from server.domain.errors import EditError
from server.domain.pairs import for_pairs, in_role, pair_of, proposed_move
from server.domain.scenario import HandWindow, KeptOff, Window
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from server.rules.editions import rulebook
from server.rules.mends.recheck import offers
from server.simulate.run import simulate
from tests.builders import backed_up_site, circuit, panel, with_parts


def pair_site(spaces=40, *others):
    return with_parts(
        backed_up_site(),
        panels=(panel("main", spaces=spaces, main_a=200, neutral_bonded=True), panel("backed")),
        circuits=(
            *others,
            circuit("b", "backed", 1, multiwire_partner_id="c"),
            circuit("c", "backed", 3, multiwire_partner_id="b"),
        ),
    )


def places(site):
    return (site.circuit("b").spaces[0], site.circuit("c").spaces[0])


def test_a_pair_is_put_side_by_side():
    """Space 3 is taken: 1 and 4 are free and of opposite legs, but no one handle ties them."""
    site = pair_site(40, circuit("x", "main", 3))
    assert places(move_circuit(site, "b", "main")) == (5, 7)
    assert places(move_circuit(site, "b", "main", spaces=(9,)))[1] in (7, 11)


def test_a_pair_that_no_handle_can_tie_is_moved_by_hand_but_not_proposed():
    """Free are 1, on L1, and 7 and 8, on L2: none of them above another."""
    site = pair_site(8, circuit("x", "main", 3), circuit("y", "main", 5), circuit("z", "main", 6))
    assert places(move_circuit(site, "b", "main")) == (1, 7)
    with pytest.raises(EditError, match="one handle must tie them"):
        proposed_move(site, "b", "main")


def test_a_lever_names_and_moves_both():
    site = pair_site()
    lever = Lever("move", "b", to="main")
    assert lever_words(site, lever) == "Move Circuit b and Circuit c to Panel main"
    moved, _ = apply_lever(site, site.scenarios[0], lever)
    assert {moved.circuit(i).panel_id for i in "bc"} == {"main"}


def test_one_handle_opens_both():
    site = pair_site()
    assert [c.outage_role for c in pair_of(in_role(site, "c", "off"), "b")] == ["off", "off"]
    lever = Lever("off", "c")
    assert lever_words(site, lever).startswith("Keep Circuit c and Circuit b off")


def test_what_stands_alone_is_its_own_pair():
    site = backed_up_site()
    assert pair_of(site, "c") == (site.circuit("c"),)


def farm_by_hand():
    farm = read_site_file((DEMOS / "flower-farm.json").read_bytes())
    by_hand = tuple(t.model_copy(update={"kind": "manual"}) for t in farm.transfer_switches)
    return with_parts(farm, transfer_switches=by_hand)


def offers_for_its_set(site):
    """What is offered for each finding of a set loaded past its rating, in its order."""
    rules = rulebook(site.code_edition)
    return [
        (finding, offers(site, finding, rules))
        for finding in check_site(site).findings
        if finding.code == "demand-above-rating" and finding.element_id == "generator"
    ]


def test_a_mend_that_moves_one_of_a_pair_names_both_and_clears():
    """The farm by hand: the counters go to the main panel together, one above the other."""
    found = offers_for_its_set(farm_by_hand())
    assert found
    for finding, ways in found:
        (moved,) = [o for o in ways if o.words.endswith("moved to Main panel")]
        assert "Kitchen counter, left; and Kitchen counter, right moved to" in moved.words
        left = [(f.code, f.element_id, f.where) for f in check_site(moved.site).findings]
        assert (finding.code, finding.element_id, finding.where) not in left


def test_a_pinned_or_must_serve_partner_keeps_a_pair_out_of_a_mend():
    site = set_pinned(farm_by_hand(), "counter-right", pinned=True)
    moves = [
        o.words for _, offers in offers_for_its_set(site) for o in offers if "moved" in o.words
    ]
    assert moves
    assert not any("Kitchen counter" in words for words in moves)


def test_the_hand_of_a_scenario_goes_to_both_of_a_pair():
    """One handle opens and closes both, whichever of them a scenario names."""
    site = pair_site()
    scenario = site.scenarios[0]
    window = Window(start=scenario.start, end=scenario.start + timedelta(hours=1))
    told = scenario.model_copy(
        update={
            "kept_off": (KeptOff(circuit_id="c"),),
            "hand_windows": (HandWindow(circuit_id="b", window=window),),
        }
    )
    both = for_pairs(site, told)
    assert [k.circuit_id for k in both.kept_off] == ["c", "b"]
    assert [(w.circuit_id, w.window) for w in both.hand_windows] == [("b", window), ("c", window)]
    assert for_pairs(site, both) is both
    assert for_pairs(site, scenario) is scenario
    assert simulate(site, told).scenario == both
