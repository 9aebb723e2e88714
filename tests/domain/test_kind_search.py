from __future__ import annotations

import pytest

from server.domain.catalogue import KINDS
from server.domain.kind_search import ALSO, kinds_found


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


def test_other_words_belong_to_kinds_of_the_catalogue():
    assert set(ALSO) <= set(KINDS)
    for kind_id, words in ALSO.items():
        for word in words.split():
            assert KINDS[kind_id] in kinds_found(word)
