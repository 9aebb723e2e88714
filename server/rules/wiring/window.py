"""The design currents for which drop, and not ampacity, asks for the next size."""

from __future__ import annotations

from server.domain.working import Term, Working
from server.rules.editions import Rulebook
from server.rules.tables import Metal
from server.rules.wiring.drop import Stretch, voltage_drop


def step_window(
    *,
    smaller: str,
    larger: str,
    run_ft: float,
    metal: Metal,
    volts: float,
    drop_share: float,
    rules: Rulebook,
) -> Working:
    """Design currents for which drop alone asks for the next size.

    The value is the current above which ``smaller`` passes the limit; the last term is the one
    up to which ``larger`` holds it.

    >>> from server.rules.editions import rulebook
    >>> w = step_window(smaller="4/0", larger="250", run_ft=280, metal="aluminum", volts=240,
    ...     drop_share=0.03, rules=rulebook("2023"))
    >>> round(w.value, 1), round(w.terms[-1].value, 1)
    (128.6, 151.8)
    """
    ends = []
    for size in (smaller, larger):
        one_amp = voltage_drop(
            amps=1.0, stretches=[Stretch(run_ft, size, metal)], volts=volts, rules=rules
        )
        ends.append(drop_share * volts / one_amp.dc_v)
    return Working(
        title=f"Where drop asks for {larger} {metal} instead of {smaller}",
        value=ends[0],
        unit="A",
        formula="limit × volts × 1000 / (2 × ohm per 1000 ft × feet)",
        terms=(
            Term("Run", run_ft, "ft"),
            Term("Limit", drop_share, "", rules.figure("drop_run_advice").cite.words),
            Term(f"{smaller} holds up to", ends[0], "A"),
            Term(f"{larger} holds up to", ends[1], "A"),
        ),
        source=rules.title,
    )
