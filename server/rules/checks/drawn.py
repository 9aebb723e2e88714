"""What an appliance draws where it stands: its plate, or a motor by the table, over the volts."""

from __future__ import annotations

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.site import Site
from server.rules.demand.circuit_loads import by_current
from server.rules.demand.ratings import VOLTS, system_volts
from server.rules.leg import LEG_V
from server.rules.motor_table import interpolated_full_load_a


def between_legs_v(site: Site, circuit: Circuit) -> float:
    """Volts between the legs of the panel a circuit is in, 240 or 208 (220.5(A)). [V]

    240 where there is one leg only: what asks for two does not run there at all.
    """
    wye = VOLTS["120/208"]
    return wye if system_volts(site, circuit.panel_id) == wye else VOLTS["120/240"]


def nameplate_a(appliance: Appliance, between_v: float) -> float:
    """Amps of an appliance fully on, ``between_v`` volts between the legs. [A]

    What is rated by its current draws the same at lower volts.
    """
    fed_v = float(appliance.volts) if by_current(appliance) else _fed_v(appliance, between_v)
    return appliance.load_w / appliance.power_factor / fed_v


def full_load_a(motor: Appliance, between_v: float) -> float | None:
    """Table full-load amps of a single-phase motor, None for a size outside the table. [A]

    ``between_v`` is between the legs. The table is 430.248, between its rows in proportion.
    """
    return interpolated_full_load_a(motor.horsepower or 0.0, _fed_v(motor, between_v))


def _fed_v(appliance: Appliance, between_v: float) -> float:
    return LEG_V if appliance.volts == LEG_V else between_v
