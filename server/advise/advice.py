"""All that a run and the rules say together, gathered once."""

from __future__ import annotations

from dataclasses import dataclass

from server.advise.doubt import gas_doubt, start_doubt
from server.advise.start_findings import start_findings
from server.advise.starts import SetStarts, starts_of
from server.advise.tank_gas import TankGas, tank_gas, tank_gas_findings
from server.advise.trips import Trip, trips_of
from server.advise.volts import PanelVolts, panel_volts
from server.advise.volts_findings import volts_findings
from server.domain.finding import Finding
from server.rules.editions import rulebook
from server.rules.gas_meter import GasDraw, gas_draws, gas_findings
from server.simulate.results import Run


@dataclass(frozen=True)
class Advice:
    """Breakers that may trip, motor starts on each set, the lowest volts at each panel; mends.

    ``tank_gas`` is how hard each propane tank is drawn on, ``gas`` each natural gas meter.
    """

    trips: tuple[Trip, ...]
    starts: tuple[SetStarts, ...]
    volts: tuple[PanelVolts, ...]
    tank_gas: tuple[TankGas, ...]
    gas: tuple[GasDraw, ...]
    findings: tuple[Finding, ...]

    @property
    def doubt(self) -> str:
        """What puts the run's answer in doubt, the start that most does first; empty for none."""
        return " ".join(filter(None, (start_doubt(self.starts), gas_doubt(self.tank_gas))))

    @property
    def provided(self) -> str:
        """What must come true for a run that holds to hold; empty where nothing is in doubt."""
        found = ["the motors start"] * bool(start_doubt(self.starts))
        found += ["the propane tank gives enough gas"] * bool(gas_doubt(self.tank_gas))
        return " and ".join(found)


def advice_on(run: Run) -> Advice:
    """What follows from a run beside its amps, worked out once and kept with it."""
    kept = run.aside.get("advice")
    if isinstance(kept, Advice):
        return kept
    run.aside["advice"] = made = _advice(run)
    return made


def _advice(run: Run) -> Advice:
    starts, volts = starts_of(run), panel_volts(run)
    tanks, gas = tank_gas(run), gas_draws(run.site)
    found = (
        *start_findings(starts),
        *volts_findings(volts, rulebook(run.site.code_edition)),
        *tank_gas_findings(tanks),
        *gas_findings(gas),
    )
    return Advice(
        trips=trips_of(run), starts=starts, volts=volts, tank_gas=tanks, gas=gas, findings=found
    )
