"""All that a run and the rules say together, gathered once."""

from __future__ import annotations

from dataclasses import dataclass

from server.advise.doubt import start_doubt, starts_surely_past
from server.advise.gas_short import GasShort, gas_short
from server.advise.start_findings import start_findings
from server.advise.starts import SetStarts, starts_of
from server.advise.tank_gas import TankGas, tank_gas, tank_gas_findings
from server.advise.trips import Trip, trips_of
from server.advise.volts import PanelVolts, panel_volts
from server.advise.volts_findings import volts_findings
from server.domain.finding import Finding
from server.rules.editions import rulebook
from server.rules.gas_meter import GasDraw, gas_draws, gas_findings
from server.simulate.results import Run, Verdict


@dataclass(frozen=True)
class Advice:
    """Breakers that may trip, motor starts on each set, the lowest volts at each panel; mends.

    ``tank_gas`` is how hard each propane tank is drawn on, ``gas`` each natural gas meter, and
    ``gas_short`` what they say of the answer. ``fuel_hangs``: liquid fuel ends by the high guess of
    a burn and lasts by the low. ``never_start`` are motors that ask surely more than the maker of
    their set says it starts.
    """

    trips: tuple[Trip, ...]
    starts: tuple[SetStarts, ...]
    volts: tuple[PanelVolts, ...]
    tank_gas: tuple[TankGas, ...]
    gas: tuple[GasDraw, ...]
    gas_short: GasShort
    findings: tuple[Finding, ...]
    fuel_hangs: bool = False
    never_start: tuple[str, ...] = ()

    @property
    def doubt(self) -> str:
        """What puts the run's answer in doubt, the start that most does first; empty for none."""
        return " ".join(filter(None, (self._start_doubt, self.gas_short.doubt)))

    @property
    def provided(self) -> str:
        """What must come true for a run that holds to hold; empty where nothing is in doubt."""
        return " and ".join((*self._granted, *["the fuel lasts"] * self.fuel_hangs))

    @property
    def granted(self) -> str:
        """What of that no draw tries: the fuel of a draw may end, by the middle guess."""
        return " and ".join(self._granted)

    @property
    def _start_doubt(self) -> str:
        return "" if self.never_start else start_doubt(self.starts)

    @property
    def _granted(self) -> tuple[str, ...]:
        found = ["the motors start"] * bool(self._start_doubt)
        return (*found, *self.gas_short.provided)

    @property
    def short(self) -> tuple[str, ...]:
        """What surely fails beside the run's own faults, each in a sentence or two."""
        return (*self.never_start, *self.gas_short.sure)


def advice_on(run: Run) -> Advice:
    """What follows from a run beside its amps, worked out once and kept with it."""
    kept = run.aside.get("advice")
    if isinstance(kept, Advice):
        return kept
    run.aside["advice"] = made = _advice(run)
    return made


def _advice(run: Run) -> Advice:
    starts = starts_of(run)
    volts = panel_volts(run, starts)
    tanks, gas = tank_gas(run), gas_draws(run.site)
    found = (
        *start_findings(starts),
        *volts_findings(volts, rulebook(run.site.code_edition)),
        *tank_gas_findings(tanks),
        *gas_findings(gas),
    )
    return Advice(
        trips=trips_of(run),
        starts=starts,
        volts=volts,
        tank_gas=tanks,
        gas=gas,
        gas_short=gas_short(run, tanks, gas),
        findings=found,
        never_start=starts_surely_past(starts, run.scenario),
        fuel_hangs=any(need.hangs_on_guess for need in run.fuel),
    )


def judged(run: Run) -> Verdict:
    """The verdict of a run with the gas and the starts that surely fail among what fails."""
    return run.verdict.also(advice_on(run).short)


def all_holds(run: Run) -> str:
    """That everything holds, and if what, inside a sentence; empty where it does not.

    What follows from a run is worked out only where its own verdict holds.
    """
    if not run.verdict.fits or not judged(run).fits:
        return ""
    provided = advice_on(run).provided
    return f"everything holds{f', if {provided}' if provided else ''}"
