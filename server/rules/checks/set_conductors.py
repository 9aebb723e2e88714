"""Conductors from a set to the first device (445.13(A)): by the tables, by the amps entered."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from server.domain.finding import Advised, Finding
from server.domain.site import Site
from server.domain.supply import Feeder, Generator
from server.rules.checks.grown import largest_device_of
from server.rules.checks.made import made
from server.rules.editions import Rulebook
from server.rules.ocpd import standard_at_most_a, standard_ratings_a
from server.rules.wiring.feeder import FeederWiring, ground_with
from server.rules.wiring.laid import SegmentWiring
from server.rules.wiring.set_wire import generator_amps
from server.rules.words import a_rating, percent


def set_conductor_checks(
    site: Site, wiring: Iterable[FeederWiring], rules: Rulebook
) -> Iterator[Finding]:
    """One finding for each feeder of an installed set that carries less than 115 % of the set.

    A device at the set that its wire stands is the other way. Where the tables and the amps
    entered both fall short, the lesser of the two is told and mended.
    """
    wired = {w.feeder_id: w for w in wiring}
    sets = {g.id: g for g in site.generators if not g.portable}
    for feeder in site.feeders:
        if feeder.from_id in sets:
            yield from _of_a_set(sets[feeder.from_id], feeder, wired.get(feeder.id), rules)


def inlet_checks(site: Site, wiring: Iterable[FeederWiring], rules: Rulebook) -> Iterator[Finding]:
    """One note for each inlet that takes a set of more amps than the wire behind it may have.

    The wire is judged by the set that is entered; whoever comes next reads the inlet.
    """
    wired = {w.feeder_id: w for w in wiring}
    for generator in site.generators:
        inlet_a = generator.inlet_a
        if not generator.portable or inlet_a is None:
            continue
        for feeder in site.feeders:
            one = wired.get(feeder.id)
            if feeder.from_id != generator.id or one is None or (one.device_a or 0.0) >= inlet_a:
                continue
            most = [(largest_device_of(part, rules), part.segment) for part in one.segments]
            most_a, thin = min(most, key=lambda m: m[0], default=(inlet_a, None))
            if thin is not None and most_a < inlet_a:
                yield made(
                    "inlet-above-wire",
                    "note",
                    feeder.id,
                    text=f"The inlet of {generator.name} takes a set of {inlet_a:g} A; the wire "
                    f"behind it, {thin.size} {thin.metal}, is for {most_a:g} A at most.",
                    mend=f"Label the inlet for a set with a breaker of {most_a:g} A or less, or "
                    f"use wire for {inlet_a:g} A.",
                    figure=rules.figure("feeder_wire"),
                    value=inlet_a,
                    limit=most_a,
                    unit="A",
                )


def _of_a_set(
    generator: Generator, feeder: Feeder, one: FeederWiring | None, rules: Rulebook
) -> Iterator[Finding]:
    figure = rules.figure("generator_conductor_share")
    needed_a = figure.value * generator_amps(generator)
    device_a = feeder.breaker_a or generator.breaker_a
    entered_a = feeder.ampacity_a
    small = _small_by_tables(one)
    protected = device_a is not None and entered_a is not None and device_a <= entered_a
    short = entered_a is not None and entered_a < needed_a and not protected
    if not short and small is None:
        return
    tables_a = min((p.ampacity.final_a for p in one.segments), default=None) if one else None
    least_a = min(a for a in (entered_a, tables_a) if a is not None)
    advised = Advised("breaker", amps=standard_at_most_a(max(least_a, standard_ratings_a()[0])))
    device = f"put {a_rating(advised.amps or 0.0)} breaker or a smaller one at the set."
    share = f"{percent(figure.value)} of its {generator_amps(generator):.1f} A"
    asked = f"conductors from {generator.name} to the first device need {share}"
    if small is not None and (entered_a is None or small.ampacity.final_a <= entered_a):
        size = f"{small.segment.size} {small.segment.metal}"
        text = f"The wire of {feeder.name}, {size}, is too small: {small.why_not}; {asked}."
    else:
        text = f"{feeder.name} is entered as carrying {entered_a:g} A; {asked}, {needed_a:.1f} A."
    wire = one.advice if one is not None and small is not None else None
    if one is not None and wire is not None:
        advised = Advised(
            "wire",
            size=wire.size,
            metal=wire.run.metal,
            ground=ground_with(one, wire),
            sets=wire.run.sets,
        )
        mend = f"Use {advised}, or {device}"
    elif small is None and tables_a is not None and tables_a >= needed_a:
        mend = (
            f"Enter {tables_a:g} A, which the tables give its wire, if nothing less is known of "
            f"it, or {device}"
        )
    else:
        mend = f"Use wire for {needed_a:.1f} A, or {device}"
    yield made(
        "generator-conductors",
        "warning",
        feeder.id,
        text=text,
        mend=mend,
        figure=figure,
        value=least_a,
        limit=needed_a,
        unit="A",
        advised=advised,
    )


def _small_by_tables(one: FeederWiring | None) -> SegmentWiring | None:
    """The smallest of its lengths that does not carry the set; None behind a device."""
    if one is None or one.set_working is None:
        return None
    small = [p for p in one.segments if not p.carries_at_75]
    return min(small, key=lambda p: p.ampacity.final_a, default=None)
