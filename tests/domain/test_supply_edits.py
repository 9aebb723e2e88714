from __future__ import annotations

import pytest

from server.domain.current_path import current_path, supply_part
from server.domain.errors import EditError, NotFoundError, SiteFileError
from server.domain.scenario import SwitchMove
from server.domain.site import Site
from server.domain.supply_edits import can_bypass, put_parts, removal, remove_part
from server.domain.topology import bus_of_panel
from tests.builders import (
    EVERY_SITE,
    START,
    backed_up_site,
    double_throw_site,
    panel,
    scenario,
    whole_house_site,
    with_parts,
)


@pytest.mark.parametrize("name", sorted(EVERY_SITE))
def test_every_part_stands_once_after_all_that_feeds_it(name: str):
    site = EVERY_SITE[name]()
    steps = current_path(site)
    ids = [step.part.id for step in steps]
    groups = ("services", "generators", "transfer_switches", "double_throws", "panels", "feeders")
    everything = [p.id for group in (*groups, "solar", "batteries") for p in getattr(site, group)]
    assert sorted(ids) == sorted(everything)
    for feeder in site.feeders:
        assert ids.index(feeder.from_id) < ids.index(feeder.id) < ids.index(feeder.to_id)


def test_path_goes_from_the_service_down_and_a_set_stands_before_its_switch():
    ids = [step.part.id for step in current_path(double_throw_site(solar=True))]
    nodes = [
        i for i in ids if i in {"grid", "main", "sun", "set", "ats", "backed", "throw", "swing"}
    ]
    assert nodes == ["grid", "main", "sun", "set", "ats", "backed", "throw", "swing"]


def test_a_part_that_is_not_there_is_not_found():
    with pytest.raises(NotFoundError):
        supply_part(backed_up_site(), "shed")


def test_panel_that_feeds_others_is_not_removed_alone():
    site = backed_up_site()
    told = removal(site, "main")
    assert told.dark == ("Transfer switch",)
    with pytest.raises(EditError, match="Transfer switch would be fed by nothing"):
        remove_part(site, "main")


def test_removing_with_all_below_says_and_takes_everything_that_goes_dark():
    site = backed_up_site()
    told = removal(site, "main", then="below")
    assert {"Transfer switch", "Panel backed"} <= set(told.parts)
    assert told.circuits == ("Circuit a", "Circuit b", "Circuit c", "Circuit d")
    left = remove_part(site, "main", then="below")
    assert (left.panels, left.transfer_switches, left.circuits, left.feeders) == ((), (), (), ())
    assert [s.id for s in left.services] == ["grid"]
    assert [g.id for g in left.generators] == ["set"]


def test_last_panel_of_a_path_goes_with_its_circuits_and_feeder():
    site = double_throw_site()
    told = removal(site, "swing")
    assert told.dark == ()
    assert told.circuits == ("Circuit e", "Circuit f")
    left = remove_part(site, "swing")
    assert "swing" not in left.panel_by_id
    assert all(f.to_id != "swing" for f in left.feeders)


def test_switch_taken_out_leaves_its_panel_fed_from_the_utility_side():
    site = backed_up_site()
    assert can_bypass(site, "ats") == "Panel main"
    left = remove_part(site, "ats", then="bypass")
    (feeder,) = left.feeders_into["backed"]
    assert (feeder.from_id, feeder.breaker_a, feeder.spaces) == ("main", 100, (2, 4))
    assert bus_of_panel(left)["backed"].kind == "normal"
    assert left.circuits == site.circuits
    assert left.generators == site.generators


def test_double_throw_taken_out_forgets_its_throws():
    move = SwitchMove(switch_id="throw", at=START, position="backed_up")
    site = double_throw_site()
    site = with_parts(site, scenarios=(scenario(switch_moves=(move,)),))
    assert removal(site, "throw", then="bypass").moves == 1
    left = remove_part(site, "throw", then="bypass")
    assert left.scenarios[0].switch_moves == ()
    assert bus_of_panel(left)["swing"].kind == "normal"


def test_whole_house_switch_taken_out_leaves_the_panel_on_the_service():
    left = remove_part(whole_house_site(), "ats", then="bypass")
    (feeder,) = left.feeders_into["main"]
    assert feeder.from_id == "grid"


@pytest.mark.parametrize("part_id", ["main", "grid", "set"])
def test_nothing_runs_past_what_is_no_switch(part_id: str):
    site = backed_up_site()
    assert can_bypass(site, part_id) is None
    with pytest.raises(EditError, match="Nothing runs past"):
        remove_part(site, part_id, then="bypass")


def test_feeder_that_alone_feeds_a_panel_is_not_removed():
    site = backed_up_site()
    with pytest.raises(EditError, match="Panel backed would be fed by nothing"):
        remove_part(site, "ats-backed")


def test_generator_that_feeds_a_switch_is_not_removed_alone():
    with pytest.raises(EditError, match="Transfer switch would be fed by nothing"):
        remove_part(backed_up_site(), "set")


def test_solar_goes_alone():
    site = double_throw_site(solar=True)
    assert remove_part(site, "sun").solar == ()


def test_handle_set_taken_away_leaves_its_circuits():
    site = EVERY_SITE["handle_set"]()
    left = remove_part(site, "handles")
    assert left.circuits == site.circuits
    assert left.transfer_switches == ()


@pytest.mark.parametrize("name", sorted(EVERY_SITE))
@pytest.mark.parametrize("then", ["alone", "below", "bypass"])
def test_whatever_is_removed_leaves_a_site_that_can_be_computed(name: str, then: str):
    site = EVERY_SITE[name]()
    for step in current_path(site):
        told = removal(site, step.part.id, then=then)
        try:
            left = remove_part(site, step.part.id, then=then)
        except EditError:
            assert told.dark or then == "bypass"
            continue
        assert isinstance(left, Site)
        before = {s.part.id for s in current_path(site)}
        after = {s.part.id for s in current_path(left)}
        names = {site.name_of[i] for i in before - after}
        assert names == {told.name, *told.parts}
        assert {c.name for c in site.circuits} - {c.name for c in left.circuits} == set(
            told.circuits
        )


def test_panel_without_a_feeder_is_refused():
    with pytest.raises(SiteFileError, match="fed by nothing"):
        put_parts(backed_up_site(), [("panels", panel("shed"))])
