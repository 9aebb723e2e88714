"""How many examples a property is tried on, in the daily run and in the long one."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

LONGER = 10
"""The long run tries so many times as many, and others each time."""


def effort(examples: int) -> settings:
    """Settings for a property that takes so many examples in the daily run.

    There they are the same every time, so that a change breaks it and never chance; where
    ``THREEBUS_LONG`` is set they are more, and new ones.
    """
    long = bool(os.environ.get("THREEBUS_LONG"))
    return settings(
        max_examples=examples * LONGER if long else examples,
        derandomize=not long,
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )
