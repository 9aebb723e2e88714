from __future__ import annotations

import pytest

from server.domain.panel import leg_of_space
from server.domain.supply import TransferSwitch
from server.domain.topology import (
    bus_of_circuit,
    bus_of_panel,
    buses,
    generator_can_energise,
    root_of,
    sources_above,
)
from tests.builders import (
    EVERY_SITE,
    backed_up_site,
    circuit,
    double_throw_site,
    feeder,
    generator,
    handle_set_site,
    interlock_site,
    normal_only_site,
    panel,
    two_services_site,
    whole_house_site,
    with_parts,
)


def kinds(site: object) -> list[tuple[str, str]]:
    return [(b.kind, b.root_id) for b in buses(site)]  # type: ignore[arg-type]


def test_a_panel_under_the_service_is_normal() -> None:
    assert kinds(normal_only_site()) == [("normal", "grid")]


def test_a_panel_behind_a_transfer_switch_is_backed_up() -> None:
    assert kinds(backed_up_site()) == [("normal", "grid"), ("backed_up", "ats")]


def test_a_panel_behind_a_double_throw_is_switchable() -> None:
    found = buses(double_throw_site())
    assert [b.kind for b in found] == ["normal", "backed_up", "switchable"]
    assert found[2].panel_ids == ("swing",)
    assert found[2].circuit_ids == ("e", "f")


@pytest.mark.parametrize("kind", ["automatic", "manual"])
def test_a_whole_house_switch_leaves_no_normal_bus(kind: str) -> None:
    assert kinds(whole_house_site(kind=kind)) == [("backed_up", "ats")]


def test_an_interlock_leaves_no_normal_bus() -> None:
    assert kinds(interlock_site()) == [("backed_up", "lock")]


def test_each_handle_is_a_small_switchable_bus() -> None:
    found = buses(handle_set_site())
    assert [(b.kind, b.circuit_ids) for b in found] == [
        ("normal", ("c",)),
        ("switchable", ("a",)),
        ("switchable", ("b",)),
    ]
    assert [b.id for b in found[1:]] == ["handles:a", "handles:b"]
    assert found[1].name == "Handle, Circuit a"


def test_two_switches_make_two_buses_told_apart_by_name() -> None:
    names = [b.name for b in buses(two_services_site())]
    assert names == ["Backed-up, East switch", "Backed-up, West switch"]


def test_a_panel_on_a_generator_alone_is_generator_only() -> None:
    site = normal_only_site()
    shed = with_parts(
        site,
        generators=(generator(),),
        panels=(*site.panels, panel("shed")),
        feeders=(*site.feeders, feeder("set", "shed")),
    )
    assert kinds(shed) == [("normal", "grid"), ("generator", "set")]


def test_a_subpanel_belongs_to_the_bus_of_its_feed() -> None:
    site = backed_up_site()
    nested = with_parts(
        site,
        panels=(*site.panels, panel("shed"), panel("loft")),
        feeders=(
            *site.feeders,
            feeder("backed", "shed", spaces=(18, 20)),
            feeder("shed", "loft", spaces=(18, 20)),
        ),
        circuits=(*site.circuits, circuit("z", "loft", 1)),
    )
    assert bus_of_panel(nested)["loft"].id == "ats"
    assert bus_of_circuit(nested)["z"].id == "ats"
    assert root_of(nested, "loft") == "ats"


def test_several_panels_share_one_bus() -> None:
    site = backed_up_site()
    wide = with_parts(
        site,
        panels=(*site.panels, panel("second")),
        feeders=(*site.feeders, feeder("ats", "second")),
    )
    assert buses(wide)[1].panel_ids == ("backed", "second")


def test_one_generator_behind_two_switches_is_seen_by_both_panels() -> None:
    site = two_services_site()
    assert sources_above(site, "p-east") == {"east", "set"}
    assert sources_above(site, "p-west") == {"west", "set"}


def test_a_switchable_panel_sees_every_source_of_both_feeds() -> None:
    assert sources_above(double_throw_site(), "swing") == {"grid", "set"}


def test_a_source_is_its_own_source() -> None:
    assert sources_above(normal_only_site(), "grid") == {"grid"}


def test_a_generator_energises_what_is_below_its_switch_only() -> None:
    site = double_throw_site()
    assert not generator_can_energise(site, "main")
    assert generator_can_energise(site, "backed")
    assert generator_can_energise(site, "swing")


def test_a_generator_energises_the_old_main_panel_under_a_whole_house_switch() -> None:
    assert generator_can_energise(whole_house_site(), "main")


def test_a_panel_below_two_switches_in_a_row_takes_the_nearer_root() -> None:
    site = backed_up_site()
    second = TransferSwitch(id="ats2", name="Second switch", rating_a=60)
    chained = with_parts(
        site,
        generators=(*site.generators, generator("small")),
        transfer_switches=(*site.transfer_switches, second),
        panels=(*site.panels, panel("inner")),
        feeders=(
            *site.feeders,
            feeder("backed", "ats2", "utility", spaces=(18, 20)),
            feeder("small", "ats2", "generator"),
            feeder("ats2", "inner"),
        ),
    )
    assert bus_of_panel(chained)["inner"].id == "ats2"
    assert sources_above(chained, "inner") == {"grid", "set", "small"}


@pytest.mark.parametrize("build", EVERY_SITE.values(), ids=EVERY_SITE)
def test_every_circuit_is_on_exactly_one_bus(build: object) -> None:
    site = build()  # type: ignore[operator]
    listed = [c for b in buses(site) for c in b.circuit_ids]
    assert sorted(listed) == sorted(c.id for c in site.circuits)


def test_legs_alternate_by_row() -> None:
    assert [leg_of_space(n) for n in range(1, 9)] == ["L1", "L1", "L2", "L2"] * 2
