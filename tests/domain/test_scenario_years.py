"""A scenario begins early enough for all that happens in it, to the last year."""

from __future__ import annotations

from datetime import datetime

import pytest
from pydantic import ValidationError

from server.domain.scenario import Scenario
from tests.builders import scenario


def begun(start: str) -> Scenario:
    return Scenario.model_validate(scenario("late").model_dump() | {"start": start, "outages": ()})


def test_the_last_year_is_left_for_what_is_put_off():
    assert begun("2199-12-31T23:59:59").start == datetime(2199, 12, 31, 23, 59, 59)
    with pytest.raises(ValidationError, match="Give a year from 1900 to 2199"):
        begun("2200-01-01T00:00:00")
