"""What plugs in or is wired in."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from server.domain.base import Amps, FigureSource, Id, Name, Note, Part, PowerFactor, Seconds, Watts
from server.domain.behaviour import Behaviour, Constant

LoadType = Literal["resistance", "motor", "electronic"]
Restart = Literal["by_itself", "by_hand"]


class Appliance(Part):
    """One appliance on a circuit.

    ``load_w`` is the real power when fully on. A 240 V appliance may draw ``part_120_w`` of it
    from one leg to neutral (a dryer's motor, a range's lamps and clock): that part, and any 120 V
    appliance on a 2-pole circuit, sits on the circuit's pole ``on_pole`` (1 is the pole with the
    lower space number). On 1-pole circuits ``on_pole`` is ignored.
    ``min_circuit_a`` and ``max_device_a`` are what the plate of a cooling unit or heat pump says of
    its wire (MCA) and its breaker (MOCP).
    ``start_share`` is what a soft starter leaves of the locked-rotor amps. ``restart`` says how it
    comes back after a loss of power, ``restart_delay_s`` how long its circuit has power before it
    draws again.
    """

    id: Id
    name: Name
    kind: Id = "other"
    volts: Literal[120, 240] = 120
    load_w: Watts
    part_120_w: Watts = 0.0
    on_pole: Literal[1, 2] = 1
    power_factor: PowerFactor = 1.0
    load_type: LoadType = "electronic"
    figure_source: FigureSource = "guess"
    horsepower: Annotated[float, Field(ge=0.001, le=50)] | None = None
    locked_rotor_a: Amps | None = None
    code_letter: Annotated[str, Field(pattern=r"^[A-HJ-NPR-V]$")] | None = None
    min_circuit_a: Amps | None = None
    max_device_a: Amps | None = None
    start_share: Annotated[float, Field(ge=0.01, le=1)] = 1.0
    restart: Restart = "by_itself"
    restart_delay_s: Seconds = 0.0
    behaviour: Behaviour = Constant()
    note: Note = ""

    @model_validator(mode="after")
    def _part_fits(self) -> Appliance:
        if self.volts == 120 and self.part_120_w:
            raise ValueError(
                "Only a 240 V appliance has a separate 120 V part; leave part_120_w at 0."
            )
        if self.part_120_w > self.load_w:
            raise ValueError("The 120 V part cannot be larger than the whole load.")
        return self
