"""Whether the gas meter and pipe carry a natural gas set beside the other gas appliances."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

import numpy as np

from server.advise.tank_gas import btu_words
from server.domain.finding import Finding
from server.domain.supply import Generator
from server.domain.working import Term, Working
from server.physics.engine_set import BTU_PER_UNIT
from server.simulate.burn import source_of
from server.simulate.levels import burnt_by
from server.simulate.results import Run
from server.simulate.verdict import moment

_OVER_MEND = (
    "Ask the gas utility for a larger meter and a gas fitter for the pipe, carry less on the set, "
    "or keep other gas appliances off while it runs."
)


@dataclass(frozen=True)
class GasDraw:
    """What a natural gas set asks of its meter at its worst in a run, with all other appliances.

    ``asked`` is in Btu/h, the others' part 0 where not told; ``at`` is the end of the hardest
    step, None where it burns nothing. ``status`` is ``asked`` where a figure is wanting.
    """

    set_id: str
    name: str
    at: datetime | None
    asked: Working
    meter_btu_h: float | None
    missing: tuple[str, ...]
    status: Literal["within", "over", "asked"]

    @property
    def words(self) -> str:
        """What is asked of the meter beside what it carries, or that this is not known."""
        said = f"{self.name} burns no natural gas here"
        if self.at is not None:
            burn, others = (term.value for term in self.asked.terms)
            beside = f" with {btu_words(others)} of all other gas appliances" if others else ""
            said = (
                f"{self.name} asks {btu_words(self.asked.value)} Btu/h of natural gas{beside} at "
                f"its worst, {moment(self.at)} ({btu_words(burn)} its own)"
            )
        if self.meter_btu_h is None:
            return f"{said}; what its meter and pipe carry is not told."
        carry = f"{said}; meter and pipe carry {btu_words(self.meter_btu_h)} Btu/h"
        return f"{carry}, other appliances not counted." if self.missing else f"{carry}."

    @property
    def mend(self) -> str:
        """What clears it."""
        if self.status == "over":
            return _OVER_MEND
        return f"Enter {' and '.join(self.missing)} in the form of the set."


def gas_draws(run: Run) -> tuple[GasDraw, ...]:
    """Every set on natural gas, in the order of the site."""
    return tuple(
        _draw(run, generator, row)
        for row, generator in enumerate(run.site.generators)
        if generator.fuel == "natural_gas"
    )


def gas_findings(found: tuple[GasDraw, ...]) -> tuple[Finding, ...]:
    """Meters asked for more than they carry, and a note for each that was not told."""
    findings = []
    for one in found:
        if one.status == "over":
            findings.append(
                Finding(
                    "gas-meter-passed",
                    "warning",
                    one.set_id,
                    one.words,
                    one.mend,
                    source=one.asked.source,
                    value=round(one.asked.value),
                    limit=one.meter_btu_h,
                    unit="Btu/h",
                )
            )
        elif one.status == "asked":
            text = f"Whether the gas meter and its pipe carry {one.name} is not known."
            source = "Common practice, no source."
            findings.append(
                Finding("gas-meter-asked", "note", one.set_id, text, one.mend, source=source)
            )
    return tuple(findings)


def _draw(run: Run, generator: Generator, row: int) -> GasDraw:
    at_s, burnt = burnt_by(run, generator, row)
    step_s = float(run.scenario.step_s)
    ends_s = np.arange(1, run.scenario.steps + 1) * step_s
    rate = np.diff(np.interp(ends_s, at_s, burnt), prepend=0.0) * 3600.0 / step_s
    worst = int(rate.argmax())
    burn = float(rate[worst]) * BTU_PER_UNIT["natural_gas"]
    meter, others = generator.gas_meter_btu_h, generator.other_gas_btu_h
    missing = tuple(
        words
        for words, value in (
            ("what gas meter and pipe carry", meter),
            ("the Btu/h of all other gas appliances", others),
        )
        if value is None
    )
    total = burn + (others or 0.0)
    over = burn > 0.0 and meter is not None and total > meter
    asked = Working(
        title=f"{generator.name}, natural gas asked of the meter",
        value=total,
        unit="Btu/h",
        formula="burn of the set at its worst + all other gas appliances",
        terms=(
            Term("burn of the set", burn, "Btu/h", f"this run; {source_of(generator)}"),
            Term("all other gas appliances", others or 0.0, "Btu/h", "as entered, all on at once"),
        ),
        source="All appliances at once: common practice, no source.",
    )
    return GasDraw(
        set_id=generator.id,
        name=generator.name,
        at=run.scenario.start + timedelta(seconds=float(ends_s[worst])) if burn > 0.0 else None,
        asked=asked,
        meter_btu_h=meter,
        missing=missing,
        status="over" if over else "asked" if missing else "within",
    )
