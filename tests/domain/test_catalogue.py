from __future__ import annotations

import pytest
from pydantic import ValidationError

from server.domain.behaviour import Charger, RoomUnit, Tank
from server.domain.catalogue import KINDS, forgotten, kinds_by_group, read_kinds
from tests.builders import circuit, normal_only_site, with_parts

GOOD = """
[[kind]]
id = "lamp"
name = "Lamp"
group = "Lights and alarms"
load_w = 60
breaker_a = 15
source = "common practice, no source"
behaviour = { model = "constant" }
"""

NEC_430_248_230V = {0.5: 4.9, 1.0: 8.0, 1.5: 10.0, 2.0: 12.0, 3.0: 17.0}
"""Full-load amps at 230 V, NEC Table 430.248, as printed at paigewire.com/resources/430-148."""
NEC_430_248_115V = {0.333: 7.2, 0.5: 9.8, 0.75: 13.8, 1.0: 16.0}
"""The same at 115 V, from memory."""
SOURCES = (
    "common practice",
    "NEC Table",
    "DOE ",
    "from memory",
    "A pump-trade",
    "A co-op",
    "a guess",
)


def test_there_are_kinds_enough_for_a_house() -> None:
    assert len(KINDS) >= 120
    assert len(kinds_by_group()) == 14


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
def test_every_kind_makes_an_appliance_that_fits_a_circuit(kind: object) -> None:
    made = kind.appliance("one")  # type: ignore[attr-defined]
    assert made.kind == kind.id  # type: ignore[attr-defined]
    assert made.figure_source == "guess"
    spaces = (1, 3) if made.volts == 240 else (1,)
    assert circuit("c", "main", *spaces, appliances=(made,)).appliances == (made,)


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
def test_every_kind_fits_the_breaker_it_names(kind: object) -> None:
    made = kind.appliance("one")  # type: ignore[attr-defined]
    amps = made.load_w / made.power_factor / made.volts
    allowed = kind.breaker_a * (0.8 if kind.continuous else 1.0)  # type: ignore[attr-defined]
    assert amps <= allowed + 1e-9


@pytest.mark.parametrize(
    "kind",
    [k for k in KINDS.values() if k.source.startswith("NEC Table 430.248") and k.volts == 240],
    ids=lambda k: k.id,
)
def test_motors_draw_the_table_amps(kind: object) -> None:
    amps = kind.load_w / kind.power_factor / kind.volts  # type: ignore[attr-defined]
    assert amps == pytest.approx(NEC_430_248_230V[kind.horsepower], rel=0.02)  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    "kind",
    [k for k in KINDS.values() if k.source.startswith("NEC Table 430.248") and k.volts == 120],
    ids=lambda k: k.id,
)
def test_small_motors_draw_no_more_than_the_table_amps(kind: object) -> None:
    amps = kind.load_w / kind.power_factor / kind.volts  # type: ignore[attr-defined]
    table_a = NEC_430_248_115V[kind.horsepower]  # type: ignore[attr-defined]
    assert 0.65 * table_a <= amps <= 1.02 * table_a


def test_every_figure_says_where_it_is_from_or_that_it_is_from_nowhere() -> None:
    vague = [
        k.id
        for k in KINDS.values()
        if not k.source.startswith(SOURCES) and " A at 240 V" not in k.source
    ]
    assert vague == []


def test_other_halves_follow_a_kind_of_their_own_volts() -> None:
    halves = [k for k in KINDS.values() if k.goes_with]
    assert halves
    for half in halves:
        whole = KINDS[half.goes_with or ""]
        assert whole.volts == half.volts
        assert whole.whole_name
        assert whole.goes_with is None


def test_only_what_harms_within_a_day_has_a_time_it_can_wait() -> None:
    harms = {"must_serve", "important"}
    assert all(k.load_class in harms for k in KINDS.values() if k.gap_min is not None)


def test_food_waits_as_long_as_a_closed_box_keeps_it() -> None:
    """USDA FSIS, Keep Your Food Safe During Emergencies: 4 h closed, 24 h half full."""
    assert KINDS["refrigerator"].gap_min == 4 * 60
    assert KINDS["freezer"].gap_min == 24 * 60


def test_what_shares_a_breaker_is_small_enough_to() -> None:
    for kind in KINDS.values():
        if kind.shares is not None:
            assert kind.volts == 120
            assert kind.load_w / kind.power_factor <= 20 * 120


def test_what_people_forget_is_asked() -> None:
    asked = {k.id for k in KINDS.values() if k.prompt}
    for kind_id in ("garage-door", "gate-opener", "internet-gear", "septic-alarm", "radon-fan"):
        assert kind_id in asked
    assert all(k.prompt.endswith("?") for k in KINDS.values() if k.prompt)


def test_a_prompt_falls_silent_once_the_thing_is_there() -> None:
    site = normal_only_site()
    assert "radon-fan" in {k.id for k in forgotten(site)}
    fan = circuit("fan", "main", 9, appliances=(KINDS["radon-fan"].appliance("fan-1"),))
    grown = with_parts(site, circuits=(*site.circuits, fan))
    assert "radon-fan" not in {k.id for k in forgotten(grown)}


def test_names_and_figures_can_be_overridden() -> None:
    made = KINDS["water-heater"].appliance(
        "tank", "Attic tank", load_w=3800, figure_source="nameplate"
    )
    assert (made.name, made.load_w, made.figure_source) == ("Attic tank", 3800, "nameplate")
    assert isinstance(made.behaviour, Tank)


def test_a_heating_unit_can_serve_another_zone() -> None:
    made = KINDS["heat-pump"].appliance("unit", zone_id="upstairs")
    assert isinstance(made.behaviour, RoomUnit)
    assert made.behaviour.zone_id == "upstairs"
    assert isinstance(KINDS["car-charger-32"].appliance("car", zone_id="x").behaviour, Charger)


def test_an_override_that_does_not_fit_is_refused() -> None:
    with pytest.raises(ValidationError):
        KINDS["well-pump"].appliance("pump", load_w=-5)
    with pytest.raises(ValidationError):
        KINDS["well-pump"].appliance("pump", colour="blue")


def test_the_catalogue_cannot_be_changed_in_place() -> None:
    with pytest.raises(TypeError):
        KINDS["lamp"] = KINDS["lighting"]  # type: ignore[index]


def test_a_sound_catalogue_is_read() -> None:
    assert read_kinds(GOOD)["lamp"].load_w == 60


def test_a_half_of_no_kind_is_refused() -> None:
    with pytest.raises(ValueError, match="goes with 'moon'"):
        read_kinds(GOOD + 'goes_with = "moon"\n')


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('source = "common practice, no source"\n', ""),
        ('source = "common practice, no source"', 'source = ""'),
        ('group = "Lights and alarms"', 'group = "Attic"'),
        ("load_w = 60", "load_w = nan"),
        ("load_w = 60", "load_w = -60"),
        ("load_w = 60", "load_w = 60\nwatts = 60"),
        ("load_w = 60", "load_w = 60\npart_120_w = 10"),
        ('model = "constant"', 'model = "magic"'),
    ],
)
def test_a_broken_catalogue_is_refused_as_it_is_read(old: str, new: str) -> None:
    assert old in GOOD
    with pytest.raises(ValidationError):
        read_kinds(GOOD.replace(old, new))


def test_two_kinds_of_one_id_are_refused() -> None:
    with pytest.raises(ValueError, match="two kinds 'lamp'"):
        read_kinds(GOOD + GOOD)


@pytest.mark.parametrize(
    "kind", [k for k in KINDS.values() if k.gap_min and k.behaviour.model == "sump"]
)
def test_a_pump_waits_no_longer_than_its_pit_takes_to_fill(kind):
    """What stands above the float at the rate of the water: 10 gal at 0.3 gal/min in 33 min."""
    assert kind.gap_min <= kind.behaviour.reserve_gal / kind.behaviour.inflow_gpm
