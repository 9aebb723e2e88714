"""What an appliance draws where it stands: its plate, or a motor by the table, over the volts."""

from __future__ import annotations

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.site import Site
from server.rules.demand.ratings import VOLTS, system_volts
from server.rules.tables import read_toml

ONE_LEG_V = 120
TABLE_V = {120.0: 115, 208.0: 208, 240.0: 230}
"""The column of the table of motors for the volts a motor is fed at (430.6(A)(1)). [V]"""


def between_legs_v(site: Site, circuit: Circuit) -> float:
    """Volts between the legs of the panel a circuit is in, 240 or 208 (220.5(A)). [V]

    240 where there is one leg only: what asks for two does not run there at all.
    """
    wye = VOLTS["120/208"]
    return wye if system_volts(site, circuit.panel_id) == wye else VOLTS["120/240"]


def nameplate_a(appliance: Appliance, between_v: float) -> float:
    """Amps of an appliance fully on, ``between_v`` volts between the legs. [A]"""
    return appliance.load_w / appliance.power_factor / _fed_v(appliance, between_v)


def full_load_a(motor: Appliance, between_v: float) -> float | None:
    """Table full-load amps of a single-phase motor, None for a size not in the table. [A]

    ``between_v`` is between the legs. The table is 430.248.
    """
    table = read_toml("motors")
    column = table["table"]["volts"].index(TABLE_V[_fed_v(motor, between_v)])
    for row in table["rows"]:
        if abs(row["hp"] - (motor.horsepower or 0.0)) < 0.01:
            return float(row["full_load_a"][column])
    return None


def _fed_v(appliance: Appliance, between_v: float) -> float:
    return float(ONE_LEG_V) if appliance.volts == ONE_LEG_V else between_v
