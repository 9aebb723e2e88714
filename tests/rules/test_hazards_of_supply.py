from __future__ import annotations

from typing import Any

import pytest

from server.domain.site import Site
from server.domain.supply import DoubleThrow
from server.rules.hazard_table import SEVERITIES
from server.rules.hazards import hazards
from server.rules.overcurrent import devices_above
from server.rules.reach import above
from tests.builders import (
    EVERY_SITE,
    appliance,
    backed_up_site,
    circuit,
    double_throw_site,
    feeder,
    generator,
    handle_set_site,
    interlock_site,
    normal_only_site,
    panel,
    portable,
    service,
    set_120_only_site,
    two_services_site,
    whole_house_site,
    with_parts,
)
from tests.rules.hazard_sites import codes, sun, the

# --- neutral bonds ---------------------------------------------------------------------------


def test_a_bonded_generator_on_an_unswitched_neutral_is_a_second_bond() -> None:
    site = with_parts(interlock_site(), generators=(portable(neutral_bonded=True),))
    found = the(site, "two-neutral-bonds")
    assert (found.severity, found.section) == ("blocking", "250.24(B), 250.30")
    assert "Generator set and Panel main" in found.text
    assert "do not remove or add a strap on our advice" in found.mend


def test_a_bonded_generator_on_a_handle_set_is_a_second_bond() -> None:
    site = with_parts(handle_set_site(), generators=(portable(neutral_bonded=True),))
    assert codes(site) == ["two-neutral-bonds"]


def test_the_old_main_panel_still_bonded_under_a_service_rated_switch_blocks() -> None:
    site = with_parts(whole_house_site(), panels=(panel("main", neutral_bonded=True),))
    assert "Panel main and Transfer switch" in the(site, "two-neutral-bonds").text


def test_a_second_bond_that_nobody_has_looked_at_says_that_it_is_a_guess() -> None:
    def text(**main: object) -> str:
        site = with_parts(whole_house_site(), panels=(panel("main", neutral_bonded=True, **main),))
        return the(site, "two-neutral-bonds").text

    guess = "That they are joined at Panel main is a guess: nobody has looked there yet."
    assert guess in text(figure_source="guess")
    assert "guess" not in text()


@pytest.mark.parametrize(("bonded", "blocked"), [(True, ["two-neutral-bonds"]), (False, [])])
def test_the_bond_belongs_in_a_service_disconnect_ahead_of_the_panel(bonded, blocked) -> None:
    """250.24(B), 250.142(B): what follows the disconnect is a feeder, the main panel a subpanel."""
    base = normal_only_site()
    feeders = tuple(f.model_copy(update={"breaker_a": 200}) for f in base.feeders)
    site = with_parts(base, panels=(panel("main", neutral_bonded=bonded),), feeders=feeders)
    assert codes(site) == blocked
    if bonded:
        words = "Panel main and the service disconnect of Feeder grid-main"
        assert words in the(site, "two-neutral-bonds").text
    old = circuit("old", "main", 9, 11, grounding="three_wire_old")
    assert "old-three-wire-not-at-service" in codes(with_parts(site, circuits=(old,)))


@pytest.mark.parametrize(
    ("main_a", "bonded", "blocked"),
    [
        (100, True, ["two-neutral-bonds"]),
        (100, False, []),
        (None, True, []),
        (None, False, ["no-neutral-bond"]),
    ],
)
def test_a_breaker_ahead_of_an_interlock_is_the_disconnect_where_the_panel_has_a_main(
    main_a, bonded, blocked
) -> None:
    """250.24(B), 250.142(B), from memory; without a main in the panel the interlock holds it."""
    base = interlock_site()
    feeders = tuple(
        f.model_copy(update={"breaker_a": 100} if f.from_id == "grid" else {}) for f in base.feeders
    )
    main = panel("main", rating_a=100, main_a=main_a, neutral_bonded=bonded)
    site = with_parts(base, panels=(main,), feeders=feeders)
    assert codes(site) == blocked
    if main_a and bonded:
        words = "Panel main and the service disconnect of Feeder grid-lock-utility"
        assert words in the(site, "two-neutral-bonds").text


def test_a_bonded_subpanel_blocks() -> None:
    site = backed_up_site()
    bonded = site.panel("backed").model_copy(update={"neutral_bonded": True})
    assert "two-neutral-bonds" in codes(with_parts(site, panels=(site.panel("main"), bonded)))


def test_no_bond_at_all_blocks() -> None:
    site = with_parts(normal_only_site(), panels=(panel("main"),))
    assert the(site, "no-neutral-bond").severity == "blocking"


def switched(site: Site) -> Site:
    switch = site.transfer_switches[0].model_copy(update={"switches_neutral": True, "poles": 3})
    return with_parts(site, transfer_switches=(switch, *site.transfer_switches[1:]))


def test_a_switched_neutral_asks_for_one_bond_at_the_generator() -> None:
    site = switched(backed_up_site())
    found = the(site, "no-neutral-bond")
    assert found.element_id == "set"
    assert codes(with_parts(site, generators=(generator(neutral_bonded=True),))) == []


def test_two_poles_cannot_open_the_neutral() -> None:
    site = switched(backed_up_site())
    two = site.transfer_switches[0].model_copy(update={"poles": 2})
    site = with_parts(site, transfer_switches=(two,), generators=(generator(neutral_bonded=True),))
    assert codes(site) == ["two-neutral-bonds", "neutral-without-a-pole"]
    found = the(site, "neutral-without-a-pole")
    assert "says it switches the neutral but has two poles" in found.text


def test_a_two_pole_double_throw_joins_its_neutrals_whatever_it_says() -> None:
    site = double_throw_site()
    two = site.double_throws[0].model_copy(update={"poles": 2})
    assert codes(with_parts(site, double_throws=(two,))) == [
        "neutral-without-a-pole",
        "parallel-neutral",
    ]


def test_two_services_keep_a_bond_each() -> None:
    assert codes(two_services_site()) == []
    west = two_services_site().transfer_switches[1].model_copy(update={"service_rated": False})
    site = two_services_site()
    unbonded = with_parts(site, transfer_switches=(site.transfer_switches[0], west))
    assert the(unbonded, "no-neutral-bond").element_id == "ats-west"


# --- old cables, tandems ---------------------------------------------------------------------


def test_an_old_three_wire_circuit_starts_at_the_service() -> None:
    site = backed_up_site()
    for panel_id, blocked in (("main", False), ("backed", True)):
        old = circuit("old", panel_id, 9, 11, grounding="three_wire_old")
        found = codes(with_parts(site, circuits=(*site.circuits, old)))
        assert found == (["old-three-wire-not-at-service"] if blocked else [])


@pytest.mark.parametrize(("permitted", "warned"), [((), True), ((9,), False), ((10,), True)])
def test_a_tandem_where_none_is_permitted_warns(permitted: tuple[int, ...], warned: bool) -> None:
    site = with_parts(
        normal_only_site(),
        panels=(panel("main", neutral_bonded=True, tandem_spaces=permitted),),
        circuits=(circuit("t", "main", 9, half="a", breaker_type="tandem"),),
    )
    assert codes(site) == (["tandem-not-permitted"] if warned else [])


# --- double-throws ---------------------------------------------------------------------------


def test_resting_on_backed_up_behind_an_automatic_switch_warns() -> None:
    found = the(double_throw_site(resting="backed_up"), "rests-on-backed-up")
    assert found.severity == "warning"
    assert "with nobody there" in found.text
    assert found.section == "702.4"


def test_resting_on_backed_up_behind_a_manual_switch_is_no_hazard() -> None:
    site = double_throw_site(resting="backed_up")
    manual = site.transfer_switches[0].model_copy(update={"kind": "manual"})
    assert codes(with_parts(site, transfer_switches=(manual,))) == []


def test_two_feeds_with_joined_neutrals_warn() -> None:
    found = the(double_throw_site(switches_neutral=False), "parallel-neutral")
    assert found.severity == "warning"


def test_chained_double_throws_are_walked_once_each() -> None:
    site = backed_up_site()
    throws, feeders, here = [], list(site.feeders), "ats"
    for number in range(20):
        throw = DoubleThrow(
            id=f"t{number}", name=f"Throw {number}", rating_a=100, poles=3, switches_neutral=True
        )
        throws.append(throw)
        feeders += [feeder(here, throw.id, side) for side in ("normal", "backed_up")]
        here = throw.id
    chain = with_parts(
        site,
        double_throws=tuple(throws),
        feeders=(*feeders, feeder(here, "swing")),
        panels=(*site.panels, panel("swing")),
    )
    reads = 0

    class Counted(dict[str, Any]):
        def get(self, key: str, default: Any = None) -> Any:
            nonlocal reads
            reads += 1
            return super().get(key, default)

    chain.__dict__["feeders_into"] = Counted(chain.feeders_into)
    assert len(set(devices_above(chain, "swing"))) == 2
    assert "ats" in above(chain, "swing")
    assert reads < 100
    reads = 0
    hazards(chain)
    assert reads < 5_000


# --- must-serve ------------------------------------------------------------------------------


def must_serve(site: Site, panel_id: str, **changes: Any) -> Site:
    extra = circuit("vital", panel_id, 9, load_class="must_serve", **changes)
    return with_parts(site, circuits=(*site.circuits, extra))


@pytest.mark.parametrize(
    ("panel_id", "words"),
    [
        ("main", "for the whole outage"),
        ("swing", "until somebody throws its switch"),
        ("backed", None),
    ],
)
def test_a_must_serve_circuit_on_a_bus_that_goes_dead_warns(
    panel_id: str, words: str | None
) -> None:
    site = must_serve(double_throw_site(), panel_id)
    if words is None:
        assert codes(site) == []
    else:
        found = the(site, "must-serve-goes-dead")
        assert found.severity == "warning"
        assert words in found.text


def test_a_must_serve_circuit_resting_on_backed_up_is_fed() -> None:
    site = must_serve(double_throw_site(resting="backed_up"), "swing")
    assert "must-serve-goes-dead" not in codes(site)


def test_a_must_serve_circuit_on_a_handle_warns() -> None:
    site = handle_set_site()
    vital = site.circuit("a").model_copy(update={"load_class": "must_serve"})
    site = with_parts(site, circuits=(vital, *site.circuits[1:]))
    assert "turns its transfer handle" in the(site, "must-serve-goes-dead").text


@pytest.mark.parametrize("role", ["off", "by_hand", "managed"])
def test_a_must_serve_circuit_that_is_not_always_on_warns(role: str) -> None:
    site = must_serve(whole_house_site(), "main", outage_role=role)
    no_manager = ["no-load-manager"] if role == "managed" else []
    assert sorted(codes(site)) == sorted(["must-serve-not-always-on", *no_manager])


# --- ratings and systems ---------------------------------------------------------------------


@pytest.mark.parametrize(("fault_a", "warned"), [(10_000, False), (22_000, True)])
def test_fault_current_above_the_rating_warns(fault_a: float, warned: bool) -> None:
    site = with_parts(
        normal_only_site(),
        services=(service(fault_current_a=fault_a),),
        panels=(panel("main", neutral_bonded=True, interrupting_a=10_000),),
    )
    assert codes(site) == (["fault-current-above-rating"] if warned else [])


def test_fault_current_above_the_withstand_of_a_switch_warns() -> None:
    site = whole_house_site(services=(service(fault_current_a=22_000),))
    weak = site.transfer_switches[0].model_copy(update={"withstand_a": 10_000})
    assert (
        "22,000 A"
        in the(with_parts(site, transfer_switches=(weak,)), "fault-current-above-rating").text
    )


def test_240_v_circuits_are_named_dead_on_a_120_v_set() -> None:
    found = the(set_120_only_site(), "dead-on-120v-set")
    assert found.severity == "note"
    assert found.text.endswith("so these stay dead on it: Circuit c.")


def test_a_two_pole_circuit_of_120_v_things_is_not_called_dead() -> None:
    lamp = circuit("lamps", "main", 5, 7, appliances=(appliance("lamp", 60),))
    assert codes(with_parts(set_120_only_site(), circuits=(lamp,))) == []


@pytest.mark.parametrize("systems", [("120/208", "120/240"), ("120/240", "120/208")])
def test_a_set_of_another_system_than_the_service_warns(systems: tuple[str, str]) -> None:
    ours, theirs = systems
    site = whole_house_site(
        services=(service(system=ours),), generators=(generator(system=theirs),)
    )
    assert codes(site) == ["system-mismatch"]


def test_a_set_that_feeds_no_circuit_is_no_mismatch() -> None:
    site = with_parts(backed_up_site(), circuits=(circuit("a", "main", 1, load_w=100),))
    assert codes(site) == []


# --- order -----------------------------------------------------------------------------------


def test_blocking_findings_come_first() -> None:
    site = double_throw_site(resting="backed_up", switches_neutral=False)
    site = with_parts(site, solar=(sun("backed", grid_following=False),))
    severities = [f.severity for f in hazards(site)]
    assert severities == sorted(severities, key=SEVERITIES.index)
    assert set(severities) == {"blocking", "warning", "note"}


def test_every_finding_names_something_on_the_site() -> None:
    for build in EVERY_SITE.values():
        site = build()
        assert all(f.element_id in site.name_of for f in hazards(site))


@pytest.mark.parametrize("bonded", [True, False])
def test_an_interlock_marked_service_rated_is_in_the_case_of_its_panel(bonded: bool) -> None:
    """One case, one joint (250.24, from memory); it stands for it where the panel is not told."""
    base = interlock_site()
    locks = tuple(t.model_copy(update={"service_rated": True}) for t in base.transfer_switches)
    main = base.panel("main").model_copy(update={"neutral_bonded": bonded})
    site = with_parts(base, transfer_switches=locks, panels=(main,))
    assert not {"two-neutral-bonds", "no-neutral-bond"} & set(codes(site))
