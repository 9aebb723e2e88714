"""The supply of a begun house: sources, switches, panels and feeders, without circuits.

Figures that were not told are typical values marked as guesses. Solar is drawn where no
generator can reach it, as it must be; where it stands in the house is the first thing to confirm.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from server.advise.begin import typical
from server.advise.begin.choices import WAYS, Choices
from server.advise.begin.cylinders import MOST_FILLED
from server.domain.base import FigureSource
from server.domain.panel import Panel
from server.domain.supply import (
    DoubleThrow,
    Feeder,
    FeederInput,
    Fuel,
    FuelTank,
    Generator,
    Service,
    SetFigure,
    SolarArray,
    TransferSwitch,
)
from server.rules.editions import rulebook
from server.rules.ocpd import next_standard_a, standard_at_most_a

Role = Literal["normal", "backed_up", "switchable"]
MAIN, BACKED, SWING, SUN = "main-panel", "backed-up-panel", "switchable-panel", "solar-panel"
SWITCH, THROW, SET, SERVICE, SECOND = (
    "transfer-switch",
    "throw",
    "generator",
    "service",
    "service-2",
)
_PANEL_V = 240.0
_FULL = 1.0
EDITION = "2023"


@dataclass
class Supply:
    """Parts of the supply on their way into a site; ``panel_of`` says which panel plays a role."""

    services: list[Service] = field(default_factory=list)
    generators: list[Generator] = field(default_factory=list)
    switches: list[TransferSwitch] = field(default_factory=list)
    throws: list[DoubleThrow] = field(default_factory=list)
    panels: dict[str, Panel] = field(default_factory=dict)
    feeders: list[Feeder] = field(default_factory=list)
    solar: list[SolarArray] = field(default_factory=list)
    panel_of: dict[Role, str] = field(default_factory=dict)

    def add_panel(self, panel_id: str, name: str, rating_a: float, **more: object) -> Panel:
        """Take a panel along; how many spaces it has follows from what hangs in it."""
        base = {"id": panel_id, "name": name, "rating_a": rating_a, "figure_source": "guess"}
        panel = Panel.model_validate({"spaces": 12, **base, **more})
        self.panels[panel_id] = panel
        return panel

    def feed(
        self,
        from_id: str,
        to_id: str,
        to_input: FeederInput | None = None,
        *,
        breaker_a: float | None = None,
    ) -> None:
        """Take a feeder along, a guess."""
        side = f", {to_input.replace('_', '-')} side" if to_input else ""
        name = self.name_of(to_id)
        self.feeders.append(
            Feeder(
                id=f"{from_id}-to-{to_id}" + (f"-{to_input.replace('_', '-')}" if to_input else ""),
                name=f"Feeder to {name}{side}",
                from_id=from_id,
                to_id=to_id,
                to_input=to_input,
                breaker_a=breaker_a,
                figure_source="guess",
            )
        )

    def name_of(self, part_id: str) -> str:
        """The name of a switch or panel."""
        named = {s.id: s.name for s in self.switches} | {t.id: t.name for t in self.throws}
        return named[part_id] if part_id in named else self.panels[part_id].name

    def ids(self) -> set[str]:
        """Ids that a circuit cannot have."""
        return {
            *self.panels,
            *(s.id for s in self.services),
            *(g.id for g in self.generators),
            *(s.id for s in self.switches),
            *(t.id for t in self.throws),
            *(f.id for f in self.feeders),
            *(a.id for a in self.solar),
        }


def supply_of(choices: Choices) -> Supply:
    """The supply of the chosen way, with what was told and what is typical."""
    supply, way = Supply(), WAYS[choices.way]
    service_a = _service(supply, SERVICE, "Utility service", choices.service_a, typical.SERVICE)
    if way.has_set:
        supply.generators.append(_generator(choices))
    if choices.way == "nothing":
        _plain(supply, service_a)
    elif choices.way in {"whole-house", "portable"}:
        _whole(supply, choices, service_a)
    else:
        _backed_up(supply, choices, service_a)
    if way.switchable:
        _switchable(supply)
    if choices.solar:
        _solar(supply, choices)
    return supply


OUTLETS_A = (20.0, 30.0, 50.0)
"""Outlets of portable sets, with cords and inlets to fit (common practice, no source)."""


def set_amps(generator: Generator) -> float:
    """Amps a leg at the nameplate, both legs loaded alike. [A]"""
    return generator.rated_kw * 1000.0 / _PANEL_V


def _source(told: object) -> FigureSource:
    return "guess" if told is None else "nameplate"


def _service(
    supply: Supply, part_id: str, name: str, told_a: float | None, usual: typical.Typical
) -> float:
    amps = told_a or usual.value
    supply.services.append(
        Service(id=part_id, name=name, main_a=amps, figure_source=_source(told_a))
    )
    return amps


def _generator(choices: Choices) -> Generator:
    portable = WAYS[choices.way].portable
    usual = typical.PORTABLE_SET if portable else typical.FIXED_SET
    kw = choices.generator_kw or usual.value
    fuel: Fuel = choices.fuel or typical.usual_fuel(portable=portable)
    amps = kw * 1000.0 / _PANEL_V
    outlet_a = next_standard_a(amps) if portable else None
    cord_a = next((a for a in OUTLETS_A if amps <= a), outlet_a) if portable else None
    by_hand = portable or choices.changeover == "manual"
    told = _told(choices, fuel)
    return Generator(
        id=SET,
        name="Portable generator" if portable else "Standby generator",
        rated_kw=kw,
        portable=portable,
        start="by_hand" if by_hand else "automatic",
        start_delay_s=120.0 if by_hand else 10.0,
        breaker_a=outlet_a,
        receptacle_a=cord_a,
        cord_a=cord_a,
        inlet_a=cord_a,
        fuel=fuel,
        tank=_tank(choices, fuel),
        figure_source="guess" if len(told) < _set_figures(fuel) else "nameplate",
        told=told if len(told) < _set_figures(fuel) else (),
    )


def _told(choices: Choices, fuel: Fuel) -> tuple[SetFigure, ...]:
    """Which of a set's figures were told; what burns gas of a pipe has no tank to tell of."""
    figures: dict[SetFigure, object] = {"rated_kw": choices.generator_kw, "fuel": choices.fuel}
    if fuel in typical.TANKS:
        figures["tank"] = choices.tank_gal
    return tuple(name for name, figure in figures.items() if figure is not None)


def _set_figures(fuel: Fuel) -> int:
    return 3 if fuel in typical.TANKS else 2


def _tank(choices: Choices, fuel: Fuel) -> FuelTank | None:
    usual = typical.TANKS.get(fuel)
    if usual is None:
        return None
    gallons = choices.tank_gal or usual.value
    full = MOST_FILLED if fuel == "propane" else _FULL
    return FuelTank(
        capacity_gal=gallons, vessels=choices.vessels, fill_share=full, reserve_share=full / 4
    )


def _plain(supply: Supply, service_a: float) -> None:
    supply.add_panel(MAIN, "Main panel", service_a, main_a=service_a, neutral_bonded=True)
    supply.feed(SERVICE, MAIN)
    supply.panel_of["normal"] = MAIN


def _whole(supply: Supply, choices: Choices, service_a: float) -> None:
    portable = choices.way == "portable"
    kind = "interlock" if portable else (choices.changeover or "automatic")
    supply.switches.append(
        TransferSwitch.model_validate(
            {
                "id": SWITCH,
                "name": "Interlock" if portable else "Transfer switch",
                "kind": kind,
                "rating_a": service_a,
                "service_rated": not portable,
                "figure_source": "guess",
            }
        )
    )
    main_a = service_a if portable else None
    supply.add_panel(MAIN, "Main panel", service_a, main_a=main_a, neutral_bonded=portable)
    supply.feed(SERVICE, SWITCH, "utility")
    supply.feed(SET, SWITCH, "generator", breaker_a=_set_breaker_a(supply))
    supply.feed(SWITCH, MAIN)
    supply.panel_of["backed_up"] = MAIN


def _set_breaker_a(supply: Supply) -> float:
    return next_standard_a(set_amps(supply.generators[0]))


def _backed_up(supply: Supply, choices: Choices, service_a: float) -> None:
    _plain(supply, service_a)
    second = WAYS[choices.way].second_meter
    if second:
        told = choices.second_service_a
        rating_a = _service(supply, SECOND, "Second service", told, typical.SECOND_SERVICE)
    else:
        rating_a = standard_at_most_a(min(typical.BACKED_FEED.value, service_a))
    supply.switches.append(
        TransferSwitch(
            id=SWITCH,
            name="Transfer switch",
            kind=choices.changeover or "automatic",
            rating_a=max(rating_a, _set_breaker_a(supply)),
            service_rated=second,
            figure_source="guess",
        )
    )
    supply.add_panel(BACKED, "Backed-up panel", max(rating_a, _set_breaker_a(supply)))
    if second:
        supply.feed(SECOND, SWITCH, "utility")
    else:
        supply.feed(MAIN, SWITCH, "utility", breaker_a=rating_a)
    supply.feed(SET, SWITCH, "generator", breaker_a=_set_breaker_a(supply))
    supply.feed(SWITCH, BACKED)
    supply.panel_of["backed_up"] = BACKED


def _switchable(supply: Supply) -> None:
    backed_a = supply.panels[BACKED].rating_a
    feed_a = standard_at_most_a(min(typical.THROW_FEED.value, backed_a, _main_a(supply)))
    supply.throws.append(
        DoubleThrow(
            id=THROW,
            name="Double-throw switch",
            rating_a=max(100.0, feed_a),
            poles=3,
            switches_neutral=True,
            figure_source="guess",
        )
    )
    supply.add_panel(SWING, "Switchable panel", 100.0)
    supply.feed(MAIN, THROW, "normal", breaker_a=feed_a)
    supply.feed(BACKED, THROW, "backed_up", breaker_a=feed_a)
    supply.feed(THROW, SWING)
    supply.panel_of["switchable"] = SWING


def _main_a(supply: Supply) -> float:
    return supply.panels[MAIN].rating_a


def _solar(supply: Supply, choices: Choices) -> None:
    dc_kw = choices.solar_kw or typical.SOLAR.value
    ac_kw = typical.inverter(dc_kw).value
    factor = rulebook(EDITION).value("solar_factor")
    breaker_a = next_standard_a(ac_kw * 1000.0 / _PANEL_V * factor)
    panel_id = supply.panel_of.get("normal")
    if panel_id is None:
        rating_a = max(60.0, next_standard_a(breaker_a))
        supply.add_panel(SUN, "Solar disconnect", rating_a, main_a=rating_a, neutral_bonded=True)
        supply.feed(SERVICE, SUN)
        panel_id = SUN
    supply.solar.append(
        SolarArray(
            id="solar",
            name="Roof solar",
            panel_id=panel_id,
            dc_kw=dc_kw,
            ac_kw=ac_kw,
            breaker_a=breaker_a,
            figure_source="guess",
            told=("dc_kw",) if choices.solar_kw is not None else (),
        )
    )
