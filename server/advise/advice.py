"""All that a run and the rules say together, gathered once."""

from __future__ import annotations

from dataclasses import dataclass

from server.advise.start_findings import start_findings
from server.advise.starts import SetStarts, starts_of
from server.advise.trips import Trip, trips_of
from server.advise.volts import PanelVolts, panel_volts
from server.advise.volts_findings import volts_findings
from server.domain.finding import Finding
from server.rules.editions import rulebook
from server.simulate.results import Run


@dataclass(frozen=True)
class Advice:
    """Breakers that may trip, motor starts on each set, the lowest volts at each panel; mends."""

    trips: tuple[Trip, ...]
    starts: tuple[SetStarts, ...]
    volts: tuple[PanelVolts, ...]
    findings: tuple[Finding, ...]


def advice_on(run: Run) -> Advice:
    """What follows from a run beside its amps."""
    starts, volts = starts_of(run), panel_volts(run)
    found = (*start_findings(starts), *volts_findings(volts, rulebook(run.site.code_edition)))
    return Advice(trips=trips_of(run), starts=starts, volts=volts, findings=found)
