"""The wire from a generator to the first device: what the set can give decides, not the load."""

from __future__ import annotations

from server.domain.site import Site
from server.domain.supply import Feeder, Generator
from server.domain.working import Term, Working
from server.rules.demand.ratings import VOLTS
from server.rules.editions import Rulebook


def generator_amps(generator: Generator) -> float:
    """Nameplate amps of a set, before derating. [A]"""
    return generator.kva * 1000 / VOLTS[generator.system]


def set_ahead(site: Site, feeder: Feeder) -> Generator | None:
    """The installed set that a feeder starts at, with no device between them, else None."""
    if feeder.breaker_a is not None:
        return None
    return next(
        (
            g
            for g in site.generators
            if g.id == feeder.from_id and not g.portable and g.breaker_a is None
        ),
        None,
    )


def set_wire_a(site: Site, feeder: Feeder, rules: Rulebook) -> Working | None:
    """What the wire between a set and the first device must carry, None behind a device. [A]"""
    generator = set_ahead(site, feeder)
    if generator is None:
        return None
    figure = rules.figure("generator_conductor_share")
    return Working(
        title="Conductors from the set to the first device",
        value=figure.value * generator_amps(generator),
        unit="A",
        formula="share × kVA × 1000 ÷ volts",
        terms=(
            Term("Share", figure.value, "", figure.cite.words),
            Term("Set", generator.kva, "kVA", "nameplate"),
            Term("Volts", VOLTS[generator.system], "V"),
            Term("Nameplate", generator_amps(generator), "A"),
        ),
        source=figure.cite.words,
    )
