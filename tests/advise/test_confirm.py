from __future__ import annotations

from datetime import date

from server.advise.begin.choices import Choices, Thing
from server.advise.begin.site import begin_site
from server.advise.confirm import ToConfirm, to_confirm
from server.domain.site import Site
from server.domain.supply import FuelPoint, FuelTank
from server.simulate.run import simulate
from tests.builders import (
    appliance,
    backed_up_site,
    circuit,
    double_throw_site,
    generator,
    scenario,
    with_parts,
)

THINGS = tuple(Thing(kind_id=i) for i in ("toaster", "dryer", "range-oven", "refrigerator"))


def begun(way: str, **choices: object) -> Site:
    made = Choices.model_validate({"way": way, "name": "x", "things": THINGS} | choices)
    return begin_site(made, today=date(2026, 1, 1))


def names(site: Site) -> list[str]:
    return [guess.name for guess in to_confirm(site)]


def test_sources_come_first_and_then_the_largest_loads():
    found = to_confirm(begun("backed-up-panel"))
    assert [g.part_id for g in found[:2]] == ["service", "generator"]
    amps = [g.value / 240 for g in found[2:4]]
    assert amps == sorted(amps, reverse=True)
    assert found[2].name == "Range, four burners"
    assert (found[0].value, found[0].unit) == (200, "A")


def test_what_was_told_of_a_set_is_kept_apart_from_what_was_taken():
    def read(**choices: object) -> str:
        site = begun("whole-house", **choices)
        return next(g.where for g in to_confirm(site) if g.part_id == "generator")

    part_told = read(generator_kw=12, tank_gal=500)
    assert part_told.endswith(
        "the cans there. Told: its size, its tank. Taken, for nobody told: its fuel."
    )
    assert "is taken" not in part_told
    assert "Told: its size. Taken" in read(generator_kw=12)
    assert "Told: its fuel. Taken, for nobody told: its size." in read(fuel="natural_gas")
    assert "Told" not in read()


def test_a_size_that_was_told_carries_no_doubt_into_a_run():
    def rated(site: Site) -> set[str]:
        limits = simulate(site, scenario(outage_h=(2, 10))).limits
        working = next(r.point.working for r in limits if r.point.kind == "generator")
        return {term.source for term in working.terms if term.name == "rated"}

    assert rated(begun("backed-up-panel", generator_kw=20)) == {"nameplate"}
    assert rated(begun("backed-up-panel", fuel="propane")) == {"guess"}
    site = begun("backed-up-panel", generator_kw=20)
    run = simulate(site, scenario(outage_h=(2, 10)))
    assert not [g for g in to_confirm(site, run) if g.name == "Standby generator"]


def test_a_120_volt_load_ranks_by_its_amps():
    found = names(begun("nothing", service_a=200))
    assert found.index("Toaster") < found.index("Refrigerator")
    assert found.index("Clothes dryer") < found.index("Toaster")


def test_what_is_read_off_leaves_the_list():
    site = begun("nothing")
    assert "Utility service" in names(site)
    assert "Utility service" not in names(begun("nothing", service_a=150))
    circuit = site.circuit("clothes-dryer")
    read = [a.model_copy(update={"figure_source": "nameplate"}) for a in circuit.appliances]
    mended = circuit.model_copy(update={"appliances": tuple(read)})
    circuits = tuple(mended if c.id == circuit.id else c for c in site.circuits)
    assert "Clothes dryer" not in names(with_parts(site, circuits=circuits))


def test_solar_drawn_ahead_of_the_switch_is_the_first_thing_to_confirm():
    site = begun("whole-house", solar=True, solar_kw=8)
    first = to_confirm(site)[0]
    assert first.part_id == "solar"
    assert "hazard" in first.where
    told = names(begun("backed-up-panel", solar=True, solar_kw=8))
    assert "Roof solar" not in told
    assert "Inverter of Roof solar" in told
    assert "Roof solar" in names(begun("backed-up-panel", solar=True))


def test_heat_loss_is_asked_for_only_where_something_heats_or_cools():
    assert "Heat loss of house" not in names(begun("nothing"))
    warm = (*THINGS, Thing(kind_id="heat-pump"))
    assert "Heat loss of house" in names(begun("nothing", things=warm))


def test_a_house_without_guesses_has_nothing_to_confirm():
    site = double_throw_site(solar=True)
    sure = [
        c.model_copy(
            update={
                "appliances": tuple(
                    a.model_copy(update={"figure_source": "measured"}) for a in c.appliances
                )
            }
        )
        for c in site.circuits
    ]
    assert to_confirm(with_parts(site, circuits=tuple(sure))) == ()


def _ranked(site: Site) -> dict[str, ToConfirm]:
    return {g.name: g for g in to_confirm(site, simulate(site, scenario(outage_h=(2, 10))))}


def _backed(**changes: object) -> Site:
    pump = appliance("pump", 900, name="Pump", load_type="motor")
    heater = appliance("heater", 1500, name="Heater")
    dark = appliance("dark", 1800, name="Dark heater")
    return backed_up_site(
        circuits=(
            circuit("p", "backed", 1, appliances=(pump,)),
            circuit("h", "backed", 2, appliances=(heater,)),
            circuit("x", "backed", 4, appliances=(dark,), outage_role="off"),
        ),
        **changes,
    )


def test_a_run_ranks_what_fills_its_limits_and_says_how_much():
    found = _ranked(_backed())
    assert list(found).index("Start of Pump") < list(found).index("Heater")
    assert "12.5 of the" in found["Heater"].why
    assert "whose limit is" in found["Heater"].why


def test_what_is_off_in_the_outage_is_not_named():
    assert "Dark heater" in [g.name for g in to_confirm(_backed())]
    site = _backed()
    run = simulate(site, scenario(outage_h=(0, 24)))
    assert "Dark heater" not in [g.name for g in to_confirm(site, run)]


def test_start_figures_and_reactance_are_named_until_they_are_read():
    found = _ranked(_backed())
    reactance = found["How far Generator set sags when a motor starts (its transient reactance)"]
    assert reactance.value == 0.25
    assert "volts dip" in reactance.why
    assert found["Start of Pump"].circuit_id == "p"
    known = _ranked(_backed(generators=(generator(reactance_pu=0.2),)))
    assert "How far Generator set sags when a motor starts (its transient reactance)" not in known


def test_what_a_set_burns_is_named_with_what_is_there_until_it_is_read():
    tank = FuelTank(capacity_gal=20, fill_share=1.0)
    found = _ranked(_backed(generators=(generator(tank=tank),)))
    assert "gal, and 20 gal are there" in found["What Generator set burns"].why
    points = tuple(FuelPoint(load_kw=kw, rate_per_h=0.5 + kw / 10) for kw in (0, 5, 10))
    for count in (2, 3):
        read = _ranked(_backed(generators=(generator(tank=tank, fuel_points=points[-count:]),)))
        assert ("What Generator set burns" in read) == (count < 3)
