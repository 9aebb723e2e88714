"""Every behaviour model is explained, with every figure it takes."""

from __future__ import annotations

from typing import get_args

import pytest

from server.domain.base import Part
from server.domain.behaviour import Behaviour, Stage
from server.domain.model_notes import CONTROL_NOTES, MODEL_NOTES, ModelNote
from server.domain.stores import ColdBox, Tub, WellPump
from server.physics.newton import BTU_PER_WH, crossing_h
from server.physics.water_heater import heat_kwh

MODELS: dict[str, type[Part]] = {
    m.model_fields["model"].default: m for m in get_args(get_args(Behaviour)[0])
}


def test_every_model_is_explained_once() -> None:
    assert sorted(note.id for note in MODEL_NOTES) == sorted(MODELS)


@pytest.mark.parametrize("note", MODEL_NOTES, ids=lambda n: n.id)
def test_every_figure_of_a_model_is_explained(note: ModelNote) -> None:
    fields = set(MODELS[note.id].model_fields) - {"model"}
    assert sorted(name for name, _, _ in note.params) == sorted(fields)


def test_controls_have_names_of_their_own() -> None:
    names = [control.name for control in CONTROL_NOTES]
    assert len(names) == len(set(names)) >= 6


def test_the_cases_worked_by_hand_come_out() -> None:
    """The figures in ``check`` of each note."""
    stages = (
        Stage(minutes=16, share=1.0),
        Stage(minutes=28, share=1.0, cycle_on_s=60, cycle_off_s=180),
        Stage(minutes=5, share=0.07),
    )
    on = [s.cycle_on_s / (s.cycle_on_s + s.cycle_off_s) if s.cycle_on_s else 1.0 for s in stages]
    kwh = 5.4 * sum(s.minutes * s.share * o for s, o in zip(stages, on, strict=True)) / 60
    assert kwh == pytest.approx(2.1, abs=0.05)
    assert heat_kwh(gallons=50, rise_f=70) == pytest.approx(8.5, abs=0.05)
    assert crossing_h(68, 20, 1 / 25, 55) == pytest.approx(7.9, abs=0.05)
    box = ColdBox()
    keeps_h = crossing_h(box.kept_f, box.room_f, 1 / box.time_constant_h, 40)
    assert keeps_h == pytest.approx(4.0, abs=0.01)
    assert crossing_h(0, box.room_f, 1 / 57, 40) == pytest.approx(48, abs=0.5)
    assert crossing_h(0, box.room_f, 1 / 28, 40) == pytest.approx(24, abs=0.5)
    assert WellPump(draws_gal_by_hour=(0.0,) * 24).drawdown_gal == pytest.approx(11.3, abs=0.05)
    assert Tub().loss_btuh_per_f * 82 / BTU_PER_WH == pytest.approx(500, rel=0.01)
    assert 350 * 8.33 / Tub().loss_btuh_per_f == pytest.approx(140, rel=0.01)
    assert ColdBox().duty(1000) == pytest.approx(4 * 33 / (1.4 * 3412.142))
