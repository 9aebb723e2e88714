"""Each panel and source check, on a site that has it and on one beside it that has not."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from server.domain.finding import Finding, finding_words
from server.domain.site import Site
from server.domain.supply import EnergyGroup
from tests import builders
from tests.builders import circuit, with_parts
from tests.rules.check_sites import of_kind, plain, solar_site, wired_shed
from tests.rules.hazard_sites import sun
from tests.rules.sound import checked

CASES: list[tuple[str, str, Callable[[bool], Site]]] = []


def case(what: str, code: str):
    """File a maker of a site: with True the one that has the fault, with False the other."""

    def keep(make: Callable[[bool], Site]) -> Callable[[bool], Site]:
        CASES.append((what, code, make))
        return make

    return keep


def changed(site: Site, part: str, part_id: str, **changes) -> Site:
    parts = tuple(
        p.model_copy(update=changes) if p.id == part_id else p for p in getattr(site, part)
    )
    return with_parts(site, **{part: parts})


@case("spaces", "few-spare-spaces")
def spaces(bad: bool) -> Site:
    site = plain(circuit("c", "main", 1, 3, load_w=100))
    return changed(site, "panels", "main", spaces=3 if bad else 20)


@case("tandems", "tandem-not-permitted")
def tandems(bad: bool) -> Site:
    half = circuit("half", "main", 9, load_w=100, half="a", breaker_type="tandem")
    site = plain(half)
    return changed(site, "panels", "main", tandem_spaces=() if bad else (9,))


@case("multiwire ties", "multiwire-not-adjacent")
def apart(bad: bool) -> Site:
    left = circuit("left", "main", 2, load_w=100, multiwire_partner_id="right")
    right = circuit("right", "main", 8 if bad else 4, load_w=100, multiwire_partner_id="left")
    return plain(left, right)


@case("multiwire ties", "multiwire-roles-differ")
def one_off(bad: bool) -> Site:
    left = circuit("left", "main", 2, multiwire_partner_id="right", outage_role="off")
    role = "on" if bad else "off"
    right = circuit("right", "main", 4, multiwire_partner_id="left", outage_role=role)
    return plain(left, right)


@case("multiwire ties", "multiwire-managed-apart")
def one_managed(bad: bool) -> Site:
    left = circuit("left", "main", 2, multiwire_partner_id="right", energy_group_id="cars")
    own = None if bad else "cars"
    right = circuit("right", "main", 4, multiwire_partner_id="left", energy_group_id=own)
    manager = EnergyGroup(id="cars", name="Car manager", setting_a=40)
    return plain(left, right, energy_groups=(manager,))


@case("multiwire ties", "multiwire-one-pole-ground-fault")
def sensing(bad: bool) -> Site:
    kind = "gfci" if bad else "standard"
    left = circuit("left", "main", 2, multiwire_partner_id="right", breaker_type=kind)
    right = circuit("right", "main", 4, multiwire_partner_id="left")
    return plain(left, right)


@case("multiwire ties", "multiwire-split")
def split(bad: bool) -> Site:
    base = builders.backed_up_site(scenarios=())
    left = circuit("left", "main", 6, multiwire_partner_id="right")
    right = circuit("right", "backed" if bad else "main", 8, multiwire_partner_id="left")
    return with_parts(base, circuits=(left, right))


@case("interlock position", "interlock-place-taken")
def interlock(bad: bool) -> Site:
    base = builders.interlock_site(scenarios=())
    taken = tuple(circuit(f"t{n}", "main", n) for n in ((2, 4) if bad else (6,)))
    return with_parts(base, circuits=(*base.circuits, *taken))


@case("interlock position", "interlock-without-main")
def lugs(bad: bool) -> Site:
    return changed(
        builders.interlock_site(scenarios=()), "panels", "main", main_a=None if bad else 100
    )


@case("panel protected at its rating", "panel-above-rating")
def rated(bad: bool) -> Site:
    return changed(plain(), "panels", "main", rating_a=100 if bad else 200)


@case("busbar rule for solar", "solar-busbar")
def bus(bad: bool) -> Site:
    return solar_site(spaces=(2, 4) if bad else (38, 40))


@case("solar side", "solar-on-generator")
def side(bad: bool) -> Site:
    base = builders.backed_up_site(scenarios=())
    return with_parts(base, solar=(sun("backed" if bad else "main"),))


@case("generator conductors 115 %", "generator-conductors")
def conductors(bad: bool) -> Site:
    base = builders.backed_up_site(scenarios=())
    return changed(
        base, "feeders", "set-ats-generator", ampacity_a=85 if bad else 100, breaker_a=90
    )


@case("transfer switch rating", "breaker-above-switch")
def switch(bad: bool) -> Site:
    base = builders.backed_up_site(scenarios=())
    return changed(base, "transfer_switches", "ats", rating_a=80 if bad else 100)


@case("service-rated", "switch-not-service-rated")
def service_rated(bad: bool) -> Site:
    base = builders.whole_house_site(scenarios=())
    return changed(base, "transfer_switches", "ats", service_rated=not bad)


@case("overcurrent of motors", "motor-device-large")
def motor(bad: bool) -> Site:
    pump = of_kind(
        "pump", "main", (9, 11), "well-pump", breaker_a=60 if bad else 20, horsepower=1.0
    )
    return plain(pump)


@case("cooling units from MCA and MOCP", "cooling-device-large")
def mocp(bad: bool) -> Site:
    unit = of_kind("ac", "main", (9, 11), "central-air", breaker_a=50 if bad else 30)
    (load,) = unit.appliances
    plate = load.model_copy(update={"min_circuit_a": 19.0, "max_device_a": 30.0})
    return plain(unit.model_copy(update={"appliances": (plate,)}))


@case("cooling units from MCA and MOCP", "cooling-device-small")
def mca(bad: bool) -> Site:
    unit = of_kind("ac", "main", (9, 11), "central-air", breaker_a=15 if bad else 30)
    (load,) = unit.appliances
    plate = load.model_copy(update={"min_circuit_a": 19.0, "max_device_a": 30.0})
    return plain(unit.model_copy(update={"appliances": (plate,)}))


@case("EV and other continuous circuits", "device-below-load")
def charger(bad: bool) -> Site:
    return plain(of_kind("car", "main", (9, 11), "car-charger-48", breaker_a=50 if bad else 60))


@case("neutral bond at exactly one place", "two-neutral-bonds")
def two_bonds(bad: bool) -> Site:
    return changed(builders.backed_up_site(scenarios=()), "panels", "backed", neutral_bonded=bad)


@case("neutral bond at exactly one place", "no-neutral-bond")
def no_bond(bad: bool) -> Site:
    return changed(plain(), "panels", "main", neutral_bonded=not bad)


@case("three-wire ranges and dryers", "old-three-wire-not-at-service")
def three_wire(bad: bool) -> Site:
    base = builders.backed_up_site(scenarios=(), floor_area_ft2=1500)
    dryer = of_kind("dry", "backed" if bad else "main", (9, 11), "dryer")
    return with_parts(
        base,
        circuits=(*base.circuits, dryer.model_copy(update={"grounding": "three_wire_old"})),
    )


@case("three-wire under a new service-rated switch", "old-three-wire-not-at-service")
def three_wire_under_a_switch(bad: bool) -> Site:
    base = builders.whole_house_site(scenarios=()) if bad else plain()
    dryer = of_kind("dry", "main", (9, 11), "dryer")
    return with_parts(
        base,
        circuits=(*base.circuits, dryer.model_copy(update={"grounding": "three_wire_old"})),
    )


@case("detached buildings", "detached-building")
def detached(bad: bool) -> Site:
    base = builders.backed_up_site(scenarios=())
    return changed(base, "panels", "backed", detached_building=bad)


@case("detached buildings", "detached-neutral-bonded")
def detached_bonded(bad: bool) -> Site:
    base = builders.backed_up_site(scenarios=())
    return changed(base, "panels", "backed", detached_building=True, neutral_bonded=bad)


@case("interrupting ratings asked for", "interrupting-rating-asked")
def interrupting(bad: bool) -> Site:
    return changed(plain(), "panels", "main", interrupting_a=None if bad else 10_000)


@case("interrupting ratings asked for", "fault-current-asked")
def fault(bad: bool) -> Site:
    return changed(plain(), "services", "grid", fault_current_a=None if bad else 9_000)


@case("withstand ratings asked for", "withstand-asked")
def withstand(bad: bool) -> Site:
    base = builders.backed_up_site(scenarios=())
    return changed(base, "transfer_switches", "ats", withstand_a=None if bad else 22_000)


@case("fault current above a rating", "fault-current-above-rating")
def above_rating(bad: bool) -> Site:
    site = changed(plain(), "services", "grid", fault_current_a=22_000)
    return changed(site, "panels", "main", interrupting_a=10_000 if bad else 22_000)


@case("emergency disconnect", "emergency-disconnect")
def disconnect(bad: bool) -> Site:
    return plain(code_edition="2020" if bad else "2017")


@case("surge protection", "surge-protection")
def surge(bad: bool) -> Site:
    return plain(code_edition="2020" if bad else "2017")


@case("surge protection", "surge-protection-feeders")
def surge_of_feeders(bad: bool) -> Site:
    return builders.backed_up_site(scenarios=(), code_edition="2023" if bad else "2020")


@case("arc-fault that a move triggers", "arc-fault-on-a-move")
def arc_fault(bad: bool) -> Site:
    base = builders.backed_up_site(scenarios=())
    plugs = of_kind("den", "backed", (9,), "plugs")
    kind = "standard" if bad else "dual_function"
    return with_parts(
        base, circuits=(*base.circuits, plugs.model_copy(update={"breaker_type": kind}))
    )


@case("ground-fault that a move triggers", "ground-fault-on-a-move")
def ground_fault(bad: bool) -> Site:
    base = builders.backed_up_site(scenarios=())
    plugs = of_kind("counter", "backed", (9,), "kitchen-plugs")
    kind = "standard" if bad else "gfci"
    return with_parts(
        base, circuits=(*base.circuits, plugs.model_copy(update={"breaker_type": kind}))
    )


@case("standby-source signs", "standby-sign")
def sign(bad: bool) -> Site:
    return builders.backed_up_site(scenarios=()) if bad else plain()


@case("standby-source signs", "inlet-sign")
def inlet(bad: bool) -> Site:
    return builders.interlock_site(scenarios=()) if bad else builders.backed_up_site(scenarios=())


@case("wire of a feeder", "wire-too-small")
def wire(bad: bool) -> Site:
    return wired_shed("6" if bad else "1/0", run_ft=60)


@case("raceway fill", "raceway-too-full")
def raceway(bad: bool) -> Site:
    return wired_shed("1/0", run_ft=60, raceway="PVC 40", raceway_trade_size="1" if bad else "2")


@case("device against the stated ampacity", "device-above-ampacity")
def stated(bad: bool) -> Site:
    base = builders.backed_up_site(scenarios=())
    return changed(base, "feeders", "main-ats-utility", ampacity_a=85 if bad else 95)


def found(site: Site, code: str) -> list[Finding]:
    return [f for f in checked(site).findings if f.code == code]


@pytest.mark.parametrize(("what", "code", "make"), CASES, ids=[f"{w}: {c}" for w, c, _ in CASES])
def test_a_site_that_has_it_and_one_that_has_not(what, code, make):
    (finding, *_) = found(make(True), code)
    assert not found(make(False), code)
    assert finding.text
    assert finding.mend
    assert finding.section
    assert finding.source
    assert finding.why
    assert finding.who
    assert (finding.value is None) == (finding.limit is None)


def test_every_case_has_words_for_why_and_who():
    assert {code for _, code, _ in CASES} <= set(finding_words())


@pytest.mark.parametrize("size", [(5, 9), (4, 5)])
def test_a_two_pole_breaker_that_is_not_on_two_spaces_under_each_other_is_refused(size):
    with pytest.raises(ValueError, match="two spaces under each other"):
        circuit("x", "main", *size, load_w=100)


def test_a_panel_without_any_pair_for_its_interlock_warns():
    base = builders.interlock_site(scenarios=())
    full = tuple(circuit(f"t{n}", "main", n) for n in range(2, 21) if n not in (3, 5, 7))
    site = with_parts(base, circuits=(*base.circuits, *full))
    assert [f.severity for f in found(site, "interlock-place-taken")] == ["warning"]


def test_only_panels_on_a_feeder_are_named_for_surge_protection():
    (finding,) = found(builders.backed_up_site(scenarios=()), "surge-protection-feeders")
    assert finding.text.endswith("new or replaced: Panel backed.")
    assert finding.section == "215.18"
    assert not found(plain(), "surge-protection-feeders")


@pytest.mark.parametrize(("edition", "asked"), [("2017", True), ("2020", False), ("2023", False)])
def test_a_portable_set_of_a_dwelling_has_no_sign_since_2020(edition: str, asked: bool) -> None:
    """702.7(A): permanently installed sources, for one- and two-family dwellings."""
    site = builders.interlock_site(scenarios=(), code_edition=edition)
    assert bool(found(site, "standby-sign")) is asked
    assert found(builders.backed_up_site(scenarios=(), code_edition=edition), "standby-sign")
