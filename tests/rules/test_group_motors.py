"""Several motors on one circuit: 430.24 and 240.4(G) from memory, 430.53(C)(4) as on eng-tips.com.

Table 430.248 at 230 V: 1 hp 8 A, 1-1/2 hp 10 A.
"""

from __future__ import annotations

import pytest

from server.domain.catalogue import KINDS
from tests.rules.check_sites import codes, found, of_kind, plain


def pumps(*horsepower, breaker_a, wire_size):
    each = [
        KINDS["irrigation-pump"].appliance(f"pump-{at}", load_w=1300, horsepower=hp)
        for at, hp in enumerate(horsepower)
    ]
    base = of_kind("pumps", "main", (1, 3), "irrigation-pump", breaker_a=breaker_a)
    return plain(
        base.model_copy(
            update={"appliances": tuple(each), "wire_size": wire_size, "breaker_a": breaker_a}
        )
    )


@pytest.mark.parametrize(
    ("horsepower", "breaker_a", "together_a", "most_a"),
    [
        ((1.0, 1.0), 60.0, 28, 25.0),  # 8 x 2.5 = 20, and 8
        ((1.5, 1.5, 1.0), 45.0, 43, 40.0),  # 10 x 2.5 = 25, 10 and 8
    ],
)
def test_their_breaker_is_that_of_the_largest_with_the_amps_of_the_others(
    horsepower, breaker_a, together_a, most_a
):
    one = found(pumps(*horsepower, breaker_a=breaker_a, wire_size="6"), "motor-device-large")
    assert f"the others, {together_a} A." in one.text
    assert (one.limit, one.advised.amps) == (most_a, most_a)
    within = pumps(*horsepower, breaker_a=most_a, wire_size="6")
    assert "motor-device-large" not in codes(within)


def test_their_wire_is_held_to_its_ampacity_and_not_to_the_rule_of_small_conductors():
    """10 + 10 x 1.25 + 8 = 30.5 A on 10 copper, of 35 A at 75 C, behind 40 A."""
    site = pumps(1.5, 1.5, 1.0, breaker_a=40.0, wire_size="10")
    assert "breaker-above-wire" not in codes(site)
    small = found(site, "branch-wire-small")
    assert (small.severity, small.value, small.limit) == ("note", 30.0, pytest.approx(30.5))
    assert "breaker-above-wire" in codes(pumps(1.5, 20.0, breaker_a=40.0, wire_size="10"))
