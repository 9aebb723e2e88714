"""Hypothesis strategies: valid sites of many shapes, and scenarios to run on them."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from hypothesis import strategies as st

from server.domain.behaviour import (
    Charger,
    Constant,
    Cycle,
    DailyStart,
    Hourly,
    Lighting,
    RoomUnit,
    Stage,
    Tank,
    Timed,
    Zone,
)
from server.domain.scenario import (
    ApplianceEvent,
    HandWindow,
    Scenario,
    SwitchMove,
    Weather,
    Window,
)
from server.domain.site import Place, Site
from server.domain.supply import DoubleThrow, Handle, SolarArray, TransferSwitch
from tests.builders import appliance, circuit, feeder, generator, panel, service

START = datetime(2026, 7, 9, 9, 7)
ZONES = (
    Zone(id="house", name="House", loss_btuh_per_f=450, gain_btuh=2000),
    Zone(id="shed", name="Shed", loss_btuh_per_f=90, time_constant_h=6),
)

flags = st.booleans()
power_factors = st.sampled_from((1.0, 0.95, 0.85, 0.7))


def watts(high: float) -> st.SearchStrategy[float]:
    return st.integers(5, int(high / 10)).map(lambda n: 10.0 * n)


constants = st.builds(Constant, share=st.sampled_from((0.25, 0.5, 1.0)))
cycles = st.builds(
    Cycle,
    on_min=st.sampled_from((0.7, 6.0, 20.0)),
    off_min=st.sampled_from((1.3, 10.0, 45.0)),
    spread=st.sampled_from((0.0, 0.3)),
)
hourlies = st.lists(st.sampled_from((0.0, 0.2, 0.7, 1.0)), min_size=24, max_size=24).map(
    lambda shares: Hourly(shares=tuple(shares))
)
lightings = st.builds(
    Lighting, up_hour=st.sampled_from((6.5, 12.0)), bed_hour=st.sampled_from((0.5, 14.0, 22.5))
)
plain_behaviours = st.one_of(constants, cycles, hourlies, lightings)
timeds = st.builds(
    Timed,
    stages=st.sampled_from(
        (
            (Stage(minutes=12, share=1),),
            (
                Stage(minutes=7.5, share=1),
                Stage(minutes=40, share=0.8, cycle_on_s=25, cycle_off_s=70),
            ),
        )
    ),
    starts=st.sampled_from(((), (DailyStart(hour=10, spread_min=40), DailyStart(hour=13)))),
)
chargers = st.builds(
    Charger, energy_kwh=st.sampled_from((0.0, 3.0, 12.0)), arrive_hour=st.sampled_from((9.5, 11.0))
)
tanks = st.builds(
    Tank,
    gallons=st.sampled_from((6.0, 50.0)),
    draws_gal_by_hour=st.sampled_from(((1.5,) * 24, (0.0,) * 24)),
)
rooms = st.builds(
    RoomUnit,
    zone_id=st.sampled_from(("house", "shed")),
    mode=st.sampled_from(("heat", "cool")),
    cop=st.sampled_from((1.0, 3.0)),
    stage_drop_f=st.sampled_from((0.0, 2.0)),
    min_off_min=st.sampled_from((0.0, 5.0)),
)
behaviours = st.one_of(plain_behaviours, timeds, chargers, tanks, rooms)


class _Builder:
    """Collects parts, giving each circuit and feeder free spaces of its panel."""

    def __init__(self, draw: st.DrawFn, *, swaps: bool) -> None:
        self.draw = draw
        self.swaps = swaps
        self.parts: dict[str, list[Any]] = {}
        self.next_row: dict[str, int] = {}

    def add(self, kind: str, part: Any) -> None:
        self.parts.setdefault(kind, []).append(part)

    def panel(self, name: str) -> str:
        self.add("panels", panel(name, spaces=84, main_a=self.draw(st.sampled_from((None, 150)))))
        self.next_row[name] = 0
        return name

    def spaces(self, name: str, poles: int) -> tuple[int, ...]:
        """Rows are taken two at a time, so that either leg can be drawn for one pole."""
        row = self.next_row[name]
        self.next_row[name] = row + 1
        side = row % 2
        first = 1 + side + 4 * (row // 2)
        if poles == 2:
            return (first, first + 2)
        return (first + 2 * self.draw(st.integers(0, 1)),)

    def feed(self, from_id: str, to_id: str, to_input: str | None = None) -> None:
        bare = self.draw(st.sampled_from((False, False, False, True)))
        self.add(
            "feeders",
            feeder(
                from_id,
                to_id,
                to_input,
                breaker_a=100,
                ampacity_a=125,
                neutral_ampacity_a=None if bare else 100,
                no_neutral=bare,
                swap_legs=self.swaps and self.draw(flags),
            ),
        )

    def nest(self, above: str, prefix: str) -> None:
        """Up to three subpanels below a panel, one under another or side by side."""
        tops = [above]
        for i in range(self.draw(st.integers(0, 3))):
            name = self.panel(f"{prefix}-sub{i}")
            self.feed(self.draw(st.sampled_from(tops)), name)
            tops.append(name)


def _fill(build: _Builder, *, most: int, behaviour: st.SearchStrategy[Any], roles: bool) -> None:
    draw = build.draw
    names = list(build.next_row)
    for i in range(draw(st.integers(1, most))):
        where = draw(st.sampled_from(names))
        poles = draw(st.sampled_from((1, 1, 2)))
        loads = []
        for j in range(draw(st.sampled_from((0, 1, 1, 2)))):
            volts = 240 if poles == 2 and draw(flags) else 120
            load_w = draw(watts(1500.0 * poles))
            loads.append(
                appliance(
                    f"a{i}-{j}",
                    load_w,
                    volts=volts,
                    part_120_w=load_w * 0.2 if volts == 240 and draw(flags) else 0.0,
                    on_pole=draw(st.sampled_from((1, 2))),
                    power_factor=draw(power_factors),
                    load_type=draw(st.sampled_from(("resistance", "motor", "electronic"))),
                    restart=draw(st.sampled_from(("by_itself", "by_hand"))),
                    restart_delay_s=draw(st.sampled_from((0.0, 0.0, 45.0, 1000.0))),
                    behaviour=draw(behaviour),
                )
            )
        role = draw(st.sampled_from(("on", "managed", "by_hand", "off"))) if roles else "on"
        build.add(
            "circuits",
            circuit(
                f"c{i}",
                where,
                *build.spaces(where, poles),
                appliances=tuple(loads),
                outage_role=role,
                load_class=draw(st.sampled_from(("must_serve", "comfort"))),
            ),
        )


@st.composite
def sites(
    draw: st.DrawFn,
    *,
    most_circuits: int = 8,
    behaviour: st.SearchStrategy[Any] = behaviours,
    solar: bool = True,
    swaps: bool = True,
    roles: bool = True,
    throws: bool | None = None,
    two_services: bool = True,
) -> Site:
    """Any supply the planner knows: whole-house, backed-up panel, double-throw, handles."""
    build = _Builder(draw, swaps=swaps)
    system = draw(st.sampled_from(("120/240", "120/240", "120/208")))
    houses = draw(st.integers(1, 2)) if two_services else 1
    with_set = throws or draw(flags)
    if with_set:
        set_system = draw(st.sampled_from(("120/240", "120/240", "120/208", "120")))
        build.add(
            "generators",
            generator(
                system=set_system,
                start=draw(st.sampled_from(("automatic", "by_hand"))),
                start_delay_s=draw(st.sampled_from((0, 10, 90))),
                receptacle_a=30,
                inlet_a=draw(st.sampled_from((None, 50))),
            ),
        )
    handled = False
    for h in range(houses):
        grid = f"grid{h}"
        build.add("services", service(grid, system=system, meter_socket_a=200))
        layout = draw(st.sampled_from(("plain", "whole", "backed", "handles")))
        if not with_set:
            layout = "plain"
        if throws:
            layout = "backed"
        switch = {
            "id": f"ts{h}",
            "name": f"Transfer switch {h}",
            "rating_a": 100,
            "kind": draw(st.sampled_from(("automatic", "manual"))),
            "motion_s": draw(st.sampled_from((0, 1, 45))),
            "return_delay_min": draw(st.sampled_from((0, 10))),
        }
        if layout == "whole":
            build.add("transfer_switches", TransferSwitch(**switch))
            build.feed(grid, f"ts{h}", "utility")
            build.feed("set", f"ts{h}", "generator")
            main = build.panel(f"main{h}")
            build.feed(f"ts{h}", main)
        else:
            main = build.panel(f"main{h}")
            build.feed(grid, main)
        build.nest(main, f"main{h}")
        if layout == "backed":
            build.add("transfer_switches", TransferSwitch(**switch))
            build.feed(main, f"ts{h}", "utility")
            build.feed("set", f"ts{h}", "generator")
            backed = build.panel(f"backed{h}")
            build.feed(f"ts{h}", backed)
            build.nest(backed, f"backed{h}")
            if throws or draw(flags):
                build.add(
                    "double_throws",
                    DoubleThrow(
                        id=f"dt{h}",
                        name=f"Double-throw {h}",
                        rating_a=60,
                        resting=draw(st.sampled_from(("normal", "backed_up"))),
                        motion_s=draw(st.sampled_from((0, 5))),
                        switches_neutral=draw(flags),
                    ),
                )
                build.feed(main, f"dt{h}", "normal")
                build.feed(backed, f"dt{h}", "backed_up")
                swing = build.panel(f"swing{h}")
                build.feed(f"dt{h}", swing)
                build.nest(swing, f"swing{h}")
        handled |= layout == "handles"
        if layout == "handles":
            build.feed("set", f"ts{h}", "generator")
            build.add("transfer_switches", TransferSwitch(**switch | {"kind": "handles"}))
        if solar and draw(flags):
            build.add(
                "solar",
                SolarArray(
                    id=f"sun{h}", name=f"Sun {h}", panel_id=main, dc_kw=5, ac_kw=4, breaker_a=30
                ),
            )
    _fill(build, most=most_circuits, behaviour=behaviour, roles=roles)
    parts = {name: tuple(group) for name, group in build.parts.items()}
    if handled:
        parts["transfer_switches"] = _with_handles(draw, parts)
    return Site(
        name="Shape",
        place=Place(latitude_deg=40, longitude_deg=-90),
        zones=ZONES,
        **parts,
    )


def _with_handles(draw: st.DrawFn, parts: dict[str, Any]) -> tuple[TransferSwitch, ...]:
    """Hand every other circuit to the handle sets, none twice."""
    free = [c.id for c in parts["circuits"] if draw(flags)]
    found = []
    for switch in parts["transfer_switches"]:
        if switch.kind == "handles":
            mine, free = free[:3], free[3:]
            handles = tuple(
                Handle(circuit_id=c, leg=draw(st.sampled_from(("L1", "L2")))) for c in mine
            )
            found.append(switch.model_copy(update={"handles": handles}))
        else:
            found.append(switch)
    return tuple(found)


def _at(minutes: float) -> datetime:
    return START + timedelta(minutes=minutes)


@st.composite
def scenarios(draw: st.DrawFn, site: Site, *, outages: bool = True, step_s: int = 0) -> Scenario:
    """A few hours that may begin or end inside an outage, with moves, stops and hand windows."""
    span_h = draw(st.sampled_from((1.0, 2.51, 5.0)))
    windows = []
    first = draw(st.sampled_from((-30.0, 20.0, 61.5)))
    if outages and draw(flags):
        length = draw(st.sampled_from((0.3, 14.0, 50.0, 400.0)))
        windows.append(Window(start=_at(first), end=_at(first + length)))
        if length < 100 and draw(flags):
            gap = draw(st.sampled_from((0.5, 8.0, 40.0)))
            again = first + length + gap
            windows.append(Window(start=_at(again), end=_at(again + 35)))
    appliances = [
        (a.id, a.behaviour.model)
        for c in site.circuits
        for a in c.appliances
        if a.behaviour.model in {"timed", "charger"}
    ]
    events = tuple(
        ApplianceEvent(appliance_id=name, at=_at(draw(st.integers(-20, 120))))
        for name, _ in appliances
        if draw(flags)
    )
    moves = tuple(
        SwitchMove(
            switch_id=throw.id,
            at=_at(draw(st.integers(-10, 200))),
            position=draw(st.sampled_from(("normal", "backed_up"))),
        )
        for throw in site.double_throws
        for _ in range(draw(st.integers(0, 3)))
    )
    hand = tuple(
        HandWindow(circuit_id=c.id, window=Window(start=_at(45), end=_at(100.5)))
        for c in site.circuits
        if c.outage_role == "by_hand" and draw(flags)
    )
    stops = (Window(start=_at(70), end=_at(80)),) if draw(flags) else ()
    return Scenario(
        id="s",
        name="Shape",
        start=START,
        span_h=span_h,
        step_s=step_s or draw(st.sampled_from((30, 60, 300, 900))),
        weather=Weather(low_f=50, high_f=95, sun_share=0.9),
        outages=tuple(windows),
        events=events,
        switch_moves=moves,
        hand_windows=hand,
        generator=draw(st.sampled_from(("ready", "ready", "fails"))),
        generator_stops=stops,
        hand_start_min=draw(st.sampled_from((0.0, 15.0))),
        seed=draw(st.integers(0, 2**63 - 1)),
    )
