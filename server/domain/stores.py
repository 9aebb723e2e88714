"""Cold boxes, pressure tanks, pits, tubs and devices with a battery of their own."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from server.domain.base import Fahrenheit, HourlyGallons, HourlyShares, Id, Part, Share, Watts

UNSAFE_FOOD_F = 40.0
"""Food is kept at 40 °F or colder; USDA FSIS and FoodSafety.gov on power outages."""
FREEZES_FOOD_F = 32.0
"""Below this some of what a refrigerator holds freezes; USDA Marketing Research Report 196."""

_NO_OPENINGS = (0.0,) * 24
HourlyOpenings = Annotated[
    tuple[Annotated[float, Field(ge=0, le=60)], ...], Field(min_length=24, max_length=24)
]
PositiveGallons = Annotated[float, Field(ge=0.1, le=20_000)]
Flow = Annotated[float, Field(gt=0, le=500)]


class ColdBox(Part):
    """A refrigerator, freezer or walk-in cooler, one store; see ``server.physics.warm_box``.

    It stands in a zone of the house (``zone_id``, None for the first that is heated or cooled) and
    has that zone's air as the run has it; ``outdoors``, as in a shed or a garage without heat, the
    weather's; or in a room of its ``own``, as where the site has no zone, that stays at ``room_f``.

    ``load_w`` is its compressor, which moves ``cop`` times its watts out of the box. Each opening
    of the door lets ``opening_btu`` in where the air is at ``room_f``, and by how much warmer than
    ``kept_f`` it is elsewhere; while it is dead its door stays shut unless ``opened_when_dead``. A
    frost-free one heats ``defrost_w`` for ``defrost_min`` every ``defrost_every_h`` it has power (0
    for none), a quarter of which reaches the food. Past ``too_warm_f`` what it holds is lost.

    Its thermostat feels the air, which turns it within ``deadband_f`` about every ``cycle_min``
    with doors shut in the room its figures are for; what it holds moves by ``food_band_f``.

    Typical: refrigerator 37 °F and 42 h, full freezer 0 °F and 57 h, half-full 28 h, so that in a
    70 °F room a closed one reaches 40 °F after the 4, 48 and 24 h of the public food guidance
    (USDA FSIS); loss 4 Btu/h °F, COP 1.2 to 1.6, an opening 20 Btu, a cycle of 30 to 60 min: common
    practice, no source.
    A walk-in cooler loses its outside area ÷ R (R 25 for 4 in of foam) and about as much again by
    floor, door and fans: common practice, no source.
    """

    model: Literal["cold_box"] = "cold_box"
    kept_f: Fahrenheit = 37.0
    deadband_f: Annotated[float, Field(gt=0, le=20)] = 3.0
    cycle_min: Annotated[float, Field(ge=5, le=1_440)] = 45.0
    time_constant_h: Annotated[float, Field(ge=0.5, le=500)] = 42.0
    loss_btuh_per_f: Annotated[float, Field(gt=0, le=200)] = 4.0
    stands: Literal["zone", "outdoors", "own"] = "zone"
    zone_id: Id | None = None
    room_f: Fahrenheit = 70.0
    too_warm_f: Fahrenheit = UNSAFE_FOOD_F
    cop: Annotated[float, Field(ge=0.3, le=6)] = 1.4
    opening_btu: Annotated[float, Field(ge=0, le=2_000)] = 20.0
    openings_by_hour: HourlyOpenings = _NO_OPENINGS
    opened_when_dead: bool = False
    defrost_w: Watts = 0.0
    defrost_every_h: Annotated[float, Field(ge=1, le=72)] = 12.0
    defrost_min: Annotated[float, Field(ge=1, le=60)] = 20.0

    @model_validator(mode="after")
    def _room_is_warmer(self) -> ColdBox:
        if self.room_f <= self.kept_f:
            raise ValueError("The room must be warmer than what is kept cold.")
        return self

    def duty(self, load_w: float) -> float:
        """Share of the time a compressor of so many watts runs, doors shut.

        UA (room - kept) / (COP x W x 3.412).

        >>> round(ColdBox(loss_btuh_per_f=6).duty(150), 2)
        0.28
        """
        heat_btuh = self.loss_btuh_per_f * (self.room_f - self.kept_f)
        return heat_btuh / max(self.cop * load_w * 3.412142, 1e-9)

    def food_band_f(self, load_w: float) -> float:
        """How far what it holds moves between the turns of a compressor of so many watts. [F]

        Warming by UA (room - kept) and cooling by what the compressor moves less that, a band b
        takes C b / Q / (d (1 - d)) hours to and fro, with d the duty and Q the heat moved; so a
        cycle of t hours is b = t Q d (1 - d) / C, never more than ``deadband_f``.

        >>> round(ColdBox(loss_btuh_per_f=6).food_band_f(150), 2)
        0.43
        """
        duty = min(max(self.duty(load_w), 0.02), 0.9)
        moved_btuh = self.cop * load_w * 3.412142
        store = self.loss_btuh_per_f * self.time_constant_h
        band_f = self.cycle_min / 60.0 * moved_btuh * duty * (1.0 - duty) / store
        return min(self.deadband_f, max(band_f, 0.01))


class WellPump(Part):
    """A well pump and its pressure tank; see ``server.physics.float_pump``.

    The pump starts at ``cut_in_psi`` and stops at ``cut_out_psi``; between them the tank gives its
    drawdown, V (p_f + 14.7) (1/(p_in + 14.7) - 1/(p_out + 14.7)) with p_f 2 psi under the cut-in
    (Boyle's law). Water is drawn as from a ``Tank``; more people draw more.

    Typical: 20 to 86 gal tanks, 40/60 psi, pumps of 5 to 15 gal/min, 60 gal a day for each person:
    common practice, no source.
    """

    model: Literal["well"] = "well"
    pump_gpm: Flow = 10.0
    tank_gal: PositiveGallons = 44.0
    cut_in_psi: Annotated[float, Field(ge=5, le=120)] = 40.0
    cut_out_psi: Annotated[float, Field(ge=6, le=150)] = 60.0
    draw_gal: Annotated[float, Field(gt=0, le=100)] = 3.0
    draw_gpm: Annotated[float, Field(ge=0, le=50)] = 3.0
    draws_gal_by_hour: HourlyGallons

    @model_validator(mode="after")
    def _stops_above_start(self) -> WellPump:
        if self.cut_out_psi <= self.cut_in_psi:
            raise ValueError("The pump stops at a higher pressure than it starts at.")
        return self

    @property
    def drawdown_gal(self) -> float:
        """What the tank gives between the pump's stop and its start. [gal]

        >>> round(WellPump(tank_gal=44, draws_gal_by_hour=(0.0,) * 24).drawdown_gal, 1)
        11.3
        """
        fill, low, high = (
            p + 14.7 for p in (self.cut_in_psi - 2.0, self.cut_in_psi, self.cut_out_psi)
        )
        return self.tank_gal * fill * (1.0 / low - 1.0 / high)


class SumpPump(Part):
    """A pit that fills and a pump that empties it by its float; see ``server.physics.float_pump``.

    ``cycle_gal`` lie between the float's stop and start, ``reserve_gal`` from its start to the
    brim. A scenario may set another inflow.

    Typical: an 18 in pit holds 1.1 gal an inch; pumps of 30 to 50 gal/min: arithmetic, and common
    practice, no source.
    """

    model: Literal["sump"] = "sump"
    inflow_gpm: Annotated[float, Field(ge=0, le=200)] = 0.3
    pump_gpm: Flow = 35.0
    cycle_gal: PositiveGallons = 8.0
    reserve_gal: PositiveGallons = 10.0


class Tub(Part):
    """A hot tub outdoors, one heat store; see ``server.physics.warm_box``.

    ``load_w`` is its heater. With the cover on it loses (3.75 V^(2/3) + 40) W for each 37 °F over
    outdoors, V in gallons (an appliance standard's ceiling for standby, from memory), and
    ``open_times`` as much while it is off. ``circulation_w`` of its pump runs a share of every hour
    beside.

    Typical: 200 to 500 gal, 100 to 104 °F, cover off 5 to 10 times the loss: common practice, no
    source.
    """

    model: Literal["tub"] = "tub"
    gallons: Annotated[float, Field(ge=20, le=5_000)] = 350.0
    setpoint_f: Fahrenheit = 102.0
    deadband_f: Annotated[float, Field(gt=0, le=10)] = 2.0
    open_by_hour: HourlyShares = _NO_OPENINGS
    open_times: Annotated[float, Field(ge=1, le=20)] = 7.0
    circulation_w: Watts = 0.0
    circulation_share: Share = 0.2

    @property
    def loss_btuh_per_f(self) -> float:
        """Heat lost with the cover on. [Btu/h °F]

        >>> round(Tub(gallons=350).loss_btuh_per_f * 37 / 3.412)
        226
        """
        return float((3.75 * self.gallons ** (2.0 / 3.0) + 40.0) / 37.0 * 3.412142)


class Backed(Part):
    """A device with a battery of its own, such as a medical device or a UPS.

    It draws ``share`` of its rating; without power its battery carries it ``battery_min`` from
    full, and recharges in ``recharge_h`` with ``efficiency``.

    Typical: batteries of 2 to 8 h that recharge in 3 to 6 h: common practice, no source.
    """

    model: Literal["backed"] = "backed"
    share: Share = 1.0
    battery_min: Annotated[float, Field(gt=0, le=20_160)] = 180.0
    recharge_h: Annotated[float, Field(ge=0.1, le=72)] = 4.0
    efficiency: Annotated[float, Field(ge=0.3, le=1)] = 0.85
