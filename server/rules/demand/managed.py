"""What fits beside a load: vehicle equipment, and the room an energy-management setting leaves."""

from __future__ import annotations

from server.domain.errors import InputError
from server.domain.working import Term, Working
from server.rules.demand.worksheet import round_half_up
from server.rules.editions import Rulebook
from server.rules.ranges import within


def room_under_setting(
    *, uncontrolled_va: float, setting_a: float, volts: float, rules: Rulebook
) -> Working:
    """Amps a power-control setting on the whole supply leaves for the loads it controls.

    The setting less the calculated load it does not control, to the nearest ampere.

    >>> from server.rules.editions import rulebook
    >>> room_under_setting(uncontrolled_va=17_040, setting_a=100, volts=240,
    ...     rules=rulebook("2026")).value
    29.0

    Raises
    ------
    InputError   When the load that is not controlled is already above the setting.
    """
    within(uncontrolled_va, 0, 1_000_000, field="uncontrolled_va", unit="VA")
    within(setting_a, 1, 6000, field="setting_a", unit="A")
    uncontrolled_a = round_half_up(uncontrolled_va / volts)
    if uncontrolled_a > setting_a:
        raise InputError(
            f"The loads not controlled come to {uncontrolled_a} A, above the setting of "
            f"{setting_a:g} A.",
            field="setting_a",
        )
    figure = rules.figure("managed_setting")
    return Working(
        title="Left for the controlled loads",
        value=float(setting_a - uncontrolled_a),
        unit="A",
        formula="setting − loads not controlled",
        terms=(
            Term("Setting", setting_a, "A", figure.cite.words),
            Term("Not controlled", uncontrolled_va, "VA"),
            Term("Volts", volts, "V"),
            Term("Not controlled", uncontrolled_a, "A"),
        ),
        source=figure.cite.words,
    )
