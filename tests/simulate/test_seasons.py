"""What keeps to a season rests out of it, and may work the longer the further in it is."""

from __future__ import annotations

import numpy as np
import pytest

from server.domain.behaviour import Cycle, Hourly
from server.domain.scenario import Weather
from tests.simulate.houses import asked_w, run_of, taken_w


class TestSeason:
    """Outdoors 30 °F at 03:00 and 70 °F at 15:00."""

    day = Weather(low_f=30, high_f=70)

    @pytest.mark.parametrize(
        ("gate", "hour_on", "hour_off"),
        [({"only_below_f": 40.0}, 3, 15), ({"only_above_f": 60.0}, 15, 3)],
    )
    @pytest.mark.parametrize("model", [Hourly(shares=(0.5,) * 24), Cycle(on_min=5, off_min=5)])
    def test_works_only_in_its_weather(
        self, model: Hourly | Cycle, gate: dict[str, float], hour_on: int, hour_off: int
    ) -> None:
        run = run_of(model.model_copy(update=gate), weather=self.day)
        first = run.scenario.start.hour

        def of_hour(hour: int) -> float:
            at = (hour - first) % 24 * 60
            return float(asked_w(run)[at : at + 60].mean())

        assert of_hour(hour_on) == pytest.approx(500, abs=60)
        assert of_hour(hour_off) == 0.0

    @pytest.mark.parametrize(
        ("gate", "outdoor_f", "duty"),
        [
            ({"only_below_f": 65, "full_at_f": 15}, 40, 0.5),
            ({"only_below_f": 65, "full_at_f": 15}, 55, 0.2),
            ({"only_below_f": 65, "full_at_f": 15}, 10, 1.0),
            ({"only_below_f": 65, "full_at_f": 15}, 66, 0.0),
            ({"only_above_f": 65, "full_at_f": 90}, 85, 0.8),
            ({"only_above_f": 65, "full_at_f": 90}, 95, 1.0),
            ({"only_above_f": 65, "full_at_f": 90}, 64, 0.0),
        ],
    )
    def test_its_time_on_grows_in_a_line_from_the_edge_of_its_season(
        self, gate: dict[str, float], outdoor_f: float, duty: float
    ) -> None:
        """Mats 65 to 15 °F: half way at 40; a fan 65 to 90 °F: 20 of 25 degrees at 85."""
        weather = Weather(low_f=outdoor_f, high_f=outdoor_f)
        run = run_of(Cycle(on_min=20, off_min=25, **gate), weather=weather, span_h=336)
        assert taken_w(run).mean() == pytest.approx(1000 * duty, rel=0.03)

    @pytest.mark.parametrize(
        "gate",
        [
            {},
            {"only_below_f": 65, "only_above_f": 20},
            {"only_below_f": 15},
            {"only_above_f": 20},
        ],
        ids=["no season", "two edges", "warmer than the edge", "colder than the edge"],
    )
    def test_what_does_not_rest_from_somewhere_on_needs_one_edge_before_it(
        self, gate: dict[str, float]
    ) -> None:
        with pytest.raises(ValueError, match="one edge of its season"):
            Cycle(on_min=20, off_min=25, full_at_f=15, **gate)

    def test_without_one_the_weather_changes_nothing(self) -> None:
        free = [
            run_of(Cycle(on_min=5, off_min=5), weather=w)
            for w in (Weather(low_f=50, high_f=50), self.day)
        ]
        assert np.array_equal(taken_w(free[0]), taken_w(free[1]))
