from __future__ import annotations

from datetime import date

from server.advise.begin.choices import Choices, Thing
from server.advise.begin.site import begin_site
from server.advise.confirm import to_confirm
from server.domain.site import Site
from tests.builders import double_throw_site, with_parts

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
    assert "Roof solar" not in names(begun("backed-up-panel", solar=True, solar_kw=8))
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
