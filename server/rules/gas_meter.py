"""Whether the gas meter and pipe carry a natural gas set beside the other gas appliances."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from server.domain.finding import Finding
from server.domain.site import Site
from server.domain.supply import Generator
from server.domain.working import Term, Working
from server.physics.engine_set import BTU_PER_UNIT
from server.physics.fuel_curve import curve_as_entered, curve_source
from server.rules.words import btu_words, listed

_BURNERS = {
    "gas-range",
    "gas-dryer",
    "gas-fireplace",
    "gas-furnace",
    "gas-water-heater",
    "tankless-gas",
}
"""Kinds of the catalogue that burn gas; what they draw from a circuit is a fan or an igniter."""

_OVER_MEND = (
    "Ask the gas utility for a larger meter and a gas fitter for the pipe, carry less on the set, "
    "or keep other gas appliances off while it runs."
)


@dataclass(frozen=True)
class GasDraw:
    """What a natural gas set asks of its meter at full load, with all other appliances.

    Meter and pipe are sized by what everything on them can burn, not by what a run makes of it.
    ``asked`` is in Btu/h, the others' part 0 where not told. ``status`` is ``asked`` where a
    figure is wanting. ``unsaid`` are gas appliances of the site where the others are told as none.
    """

    set_id: str
    name: str
    asked: Working
    meter_btu_h: float | None
    missing: tuple[str, ...]
    status: Literal["within", "over", "asked"]
    unsaid: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """What is asked of the meter beside what it carries, or that this is not known."""
        burn, others = (term.value for term in self.asked.terms)
        beside = f" with {btu_words(others)} of all other gas appliances" if others else ""
        said = (
            f"{self.name} asks {btu_words(self.asked.value)} Btu/h of natural gas{beside} at full "
            f"load ({btu_words(burn)} its own)"
        )
        if self.meter_btu_h is None:
            return f"{said}; what its meter and pipe carry is not told."
        carry = f"{said}; meter and pipe carry {btu_words(self.meter_btu_h)} Btu/h"
        return f"{carry}, other appliances not counted." if self.missing else f"{carry}."

    @property
    def mend(self) -> str:
        """What clears it; empty where nothing is to be cleared."""
        if self.status == "over":
            return _OVER_MEND
        if self.status == "within":
            return ""
        return f"Enter {' and '.join(self.missing)} in the form of the set."


def gas_draws(site: Site) -> tuple[GasDraw, ...]:
    """Every set on natural gas, in the order of the site."""
    return tuple(
        _draw(site, generator) for generator in site.generators if generator.fuel == "natural_gas"
    )


def gas_meter_checks(site: Site) -> tuple[Finding, ...]:
    """Meters asked for more than they carry, and others left out, of what is entered alone."""
    return tuple(f for f in gas_findings(gas_draws(site)) if f.code != "gas-meter-asked")


def gas_findings(found: tuple[GasDraw, ...]) -> tuple[Finding, ...]:
    """Meters asked for more than they carry, and a note for each that was not told in full."""
    findings = []
    for one in found:
        if one.unsaid:
            text = (
                f"Other gas appliances are entered as 0 Btu/h beside {one.name}, and the site has "
                f"{listed(list(one.unsaid))}."
            )
            mend = (
                "If they burn the same gas, add up the inputs on their plates and enter them in "
                "the form of the set."
            )
            source = "Common practice, no source."
            findings.append(
                Finding("gas-others-left-out", "note", one.set_id, text, mend, source=source)
            )
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


def _draw(site: Site, generator: Generator) -> GasDraw:
    curve = curve_as_entered(
        fuel=generator.fuel,
        rated_kw=generator.rated_kw,
        points=[(p.at_kw(generator.rated_kw), p.rate_per_h) for p in generator.fuel_points],
        unit=generator.fuel_rate_in,
    )
    full = curve.rate_per_h(np.array([generator.rated_kw]))
    burn = float(full[0]) * BTU_PER_UNIT["natural_gas"]
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
    over = meter is not None and total > meter
    asked = Working(
        title=f"{generator.name}, natural gas asked of the meter",
        value=total,
        unit="Btu/h",
        formula="burn of the set at its rating + all other gas appliances",
        terms=(
            Term(
                "burn of the set",
                burn,
                "Btu/h",
                curve_source(curve, fuel=generator.fuel, rated_kw=generator.rated_kw),
            ),
            Term("all other gas appliances", others or 0.0, "Btu/h", "as entered, all on at once"),
        ),
        source="All appliances at once at their ratings: NFPA 54, 5.4.2, from memory.",
    )
    return GasDraw(
        set_id=generator.id,
        name=generator.name,
        asked=asked,
        meter_btu_h=meter,
        missing=missing,
        status="over" if over else "asked" if missing else "within",
        unsaid=_burners(site) if others == 0.0 else (),
    )


def _burners(site: Site) -> tuple[str, ...]:
    """Names of the appliances whose kind burns gas, whichever gas that is."""
    names = (a.name for c in site.circuits for a in c.appliances if a.kind in _BURNERS)
    return tuple(dict.fromkeys(names))
