from __future__ import annotations

import pytest

from server.domain.catalogue import KINDS, Kind
from server.domain.kind_search import kinds_found, words_of

WATER_HEATERS = {
    "water-heater",
    "water-heater-heat-pump",
    "gas-water-heater",
    "tankless-electric",
    "tankless-gas",
}
CHARGERS = {f"car-charger-{size}" for size in (24, 32, 40, 48, 120)}
STOVES = {
    *("range-oven", "wall-oven", "cooktop", "induction-cooktop", "gas-range", "pellet-stove"),
}


@pytest.mark.parametrize(
    ("typed", "kind_id"),
    [
        ("dry", "dryer"),
        ("dr", "dryer"),
        ("wat hea", "water-heater"),
        ("hea wat", "water-heater"),
        ("fridge", "refrigerator"),
        ("EV", "car-charger-32"),
        ("48", "car-charger-48"),
        ("  Microwave ", "microwave"),
        ("1/2 well", "well-pump-half-hp"),
    ],
)
def test_few_letters_find_the_likeliest_kind(typed: str, kind_id: str):
    assert kinds_found(typed)[0].id == kind_id


def test_whole_name_finds_its_own_kind_first():
    assert {k.id: kinds_found(k.name)[0].id for k in KINDS.values()} == {k: k for k in KINDS}


@pytest.mark.parametrize("typed", ["", "  ", "zzz", "dryer zzz", "-"])
def test_what_is_not_there_is_not_found(typed: str):
    assert kinds_found(typed) == ()


@pytest.mark.parametrize("kind", [k for k in KINDS.values() if k.also], ids=lambda k: k.id)
def test_every_other_word_finds_its_kind_and_is_not_in_its_name(kind: Kind):
    own = words_of(kind.model_copy(update={"also": ""}))
    for word in kind.also.split():
        assert kind in kinds_found(word)
        assert word not in own


@pytest.mark.parametrize(
    ("typed", "kind_ids"),
    [
        ("cpap", {"sleep-apnea-machine"}),
        ("EV charger", CHARGERS),
        ("ev", CHARGERS | {"evaporative-cooler"}),
        ("car", CHARGERS),
        ("stove", STOVES),
        ("mini-split", {"mini-split", "mini-split-cooling"}),
        ("insulin", {"medicine-refrigerator"}),
        ("hot shower", WATER_HEATERS),
        ("internet", {"internet-gear"}),
    ],
)
def test_all_that_a_word_may_mean_is_found(typed: str, kind_ids: set[str]):
    assert {k.id for k in kinds_found(typed)} == kind_ids


def test_every_air_conditioner_is_found_by_ac():
    units = {k.id for k in KINDS.values() if "conditioner" in k.name and k.group != "Water"}
    assert len(units) == 5
    assert units <= {k.id for k in kinds_found("AC")}
