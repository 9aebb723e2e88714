"""Voltage drop of a run of several segments, running and while a motor starts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from server.domain.errors import InputError
from server.domain.working import Term, Working
from server.physics.conductor import effective_impedance, resistance_at
from server.physics.voltage_drop import OUT_AND_BACK, drop_v
from server.rules.editions import Rulebook, table_cite
from server.rules.leg import LEG_V
from server.rules.ranges import within
from server.rules.tables import Metal, conductor, read_toml
from server.rules.words import SAME_SHARE

CONDUITS = ("pvc", "aluminum", "steel")
IN_STEP, WYE = 2.0, 3**0.5
"""Volts between two legs over those of one."""
NEAR = 0.05
"""How far a supply lies from its nominal volts, common practice, no source."""


def legs_of_a_house(volts: float) -> bool:
    """Whether volts between two hots are those of legs of 120 V, in step or of a wye.

    >>> [legs_of_a_house(v) for v in (130, 208, 230, 240, 277, 480)]
    [False, True, True, True, False, False]
    """
    return WYE * LEG_V * (1 - NEAR) <= volts <= IN_STEP * LEG_V * (1 + NEAR)


def drop_within(share: float, limit: float) -> bool:
    """Whether a share of the volts lost does not pass its limit.

    >>> drop_within(0.030000000000000002, 0.03), drop_within(0.03001, 0.03)
    (True, False)
    """
    return share <= limit + SAME_SHARE


@dataclass(frozen=True)
class Stretch:
    """A length of one size, one-way feet. ``conduit`` is pvc, aluminum or steel.

    ``neutral_size`` None is a neutral of the hots' own size.
    """

    run_ft: float
    size: str
    metal: Metal = "copper"
    sets: int = 1
    conduit: str = "pvc"
    neutral_size: str | None = None

    def __post_init__(self) -> None:
        within(self.run_ft, 0, 20_000, field="run_ft", unit="ft")
        within(self.sets, 1, 6, field="sets")
        conductor(self.size)
        conductor(self.neutral_size or self.size)
        if self.conduit not in CONDUITS:
            raise InputError(
                f"Conduit {self.conduit!r} is not here; choose one of {', '.join(CONDUITS)}.",
                field="conduit",
            )


@dataclass(frozen=True)
class Drop:
    """Volts lost and their share of the supply's, by both ways of reckoning."""

    volts: float
    dc_v: float
    impedance_v: float
    dc_working: Working
    impedance_working: Working

    @property
    def dc_share(self) -> float:
        """Drop by dc resistance over the supply's volts."""
        return self.dc_v / self.volts

    @property
    def impedance_share(self) -> float:
        """Drop by effective impedance over the supply's volts."""
        return self.impedance_v / self.volts


def impedance_per_kft(
    *, size: str, metal: Metal, conduit: str, power_factor: float
) -> tuple[float, float, float]:
    """Resistance, reactance and effective impedance in this conduit. [ohm per 1000 ft]

    >>> r, x, ze = impedance_per_kft(size="250", metal="copper", conduit="steel",
    ...     power_factor=0.85)
    >>> r, x, round(ze, 3)
    (0.054, 0.052, 0.073)

    Raises
    ------
    InputError   For a size or metal the table does not have.
    """
    within(power_factor, 0.05, 1.0, field="power_factor")
    ohm = table_impedance(size=size, metal=metal, conduit=conduit)
    r, x = ohm.real, ohm.imag
    return r, x, effective_impedance(resistance_ohm=r, reactance_ohm=x, power_factor=power_factor)


def table_impedance(*, size: str, metal: Metal, conduit: str) -> complex:
    """Resistance and reactance of a conductor in this conduit, R + jX. [ohm per 1000 ft]

    Raises
    ------
    InputError   For a size or metal the table does not have.
    """
    which = CONDUITS.index(conduit)
    for row in read_toml("impedance")["rows"]:
        if row["size"] == size and f"{metal}_r_ohm" in row:
            return complex(row[f"{metal}_r_ohm"][which], row["x_ohm"][which])
    raise InputError(f"The impedance table has no {size} {metal}.", field="size")


def dc_per_kft(*, size: str, metal: Metal, temperature_c: float = 75.0) -> float:
    """Resistance by dc at a conductor temperature. [ohm per 1000 ft]

    >>> dc_per_kft(size="12", metal="copper")
    1.98
    """
    within(temperature_c, -40, 250, field="temperature_c", unit="°C")
    alpha = read_toml("conductors")["alpha"]
    return resistance_at(
        ohm=conductor(size).ohm(metal),
        alpha_per_c=float(alpha[metal]),
        from_c=float(alpha["basis_c"]),
        to_c=temperature_c,
    )


def voltage_drop(
    *,
    amps: float,
    stretches: Sequence[Stretch],
    volts: float = 240.0,
    power_factor: float = 1.0,
    temperature_c: float = 75.0,
    rules: Rulebook,
) -> Drop:
    """Drop over stretches in series, out and back, by both reckonings.

    dc: 2 × amps × ohm/kft × feet / 1000. Impedance: the same with R cos θ + X sin θ of the
    conduit's table. Parallel sets divide the ohms.

    >>> from server.rules.editions import rulebook
    >>> d = voltage_drop(amps=80, stretches=[Stretch(150, "3")], rules=rulebook("2023"))
    >>> round(d.dc_v, 2), round(100 * d.dc_share, 2)
    (5.88, 2.45)

    Raises
    ------
    InputError   For figures outside their range.
    """
    within(amps, 0, 10_000, field="amps", unit="A")
    return _drop(
        paths=(_Path("Load", amps, OUT_AND_BACK, tuple(stretches)),),
        volts=volts,
        power_factor=power_factor,
        temperature_c=temperature_c,
        formula="2 × amps × Σ(ohm per 1000 ft × feet) / 1000",
        rules=rules,
    )


def leg_drop(
    *,
    leg_a: float,
    neutral_a: float,
    stretches: Sequence[Stretch],
    volts: float = LEG_V,
    power_factor: float = 1.0,
    temperature_c: float = 75.0,
    rules: Rulebook,
) -> Drop:
    """Drop between one hot and the neutral: amps out through the hot, the neutral's own back.

    ``neutral_a`` is the part in line with the leg: the difference of the legs on 120/240, all of
    it on two wires.

    >>> from server.rules.editions import rulebook
    >>> d = leg_drop(leg_a=15.47, neutral_a=15.47, stretches=[Stretch(310, "2", "aluminum")],
    ...     rules=rulebook("2023"))
    >>> round(d.dc_v, 2), round(100 * d.dc_share, 2)
    (3.06, 2.55)

    Raises
    ------
    InputError   For figures outside their range.
    """
    within(leg_a, 0, 10_000, field="amps", unit="A")
    within(neutral_a, 0, 10_000, field="neutral_a", unit="A")
    neutrals = tuple(replace(s, size=s.neutral_size or s.size) for s in stretches)
    return _drop(
        paths=(
            _Path("Leg", leg_a, ONE_WAY, tuple(stretches)),
            _Path("Neutral", neutral_a, ONE_WAY, neutrals),
        ),
        volts=volts,
        power_factor=power_factor,
        temperature_c=temperature_c,
        formula="(leg amps × Σ(hot ohm per 1000 ft × feet) + neutral amps × Σ(its own)) / 1000",
        rules=rules,
    )


ONE_WAY = 1.0


@dataclass(frozen=True)
class _Path:
    """Amps through ``wires`` like wires of some stretches."""

    name: str
    amps: float
    wires: float
    stretches: tuple[Stretch, ...]


def _drop(
    *,
    paths: tuple[_Path, ...],
    volts: float,
    power_factor: float,
    temperature_c: float,
    formula: str,
    rules: Rulebook,
) -> Drop:
    within(volts, 12, 600, field="volts", unit="V")
    if not paths[0].stretches:
        raise InputError("At least one length of wire is needed.", field="segments")

    def dc(s: Stretch) -> float:
        return dc_per_kft(size=s.size, metal=s.metal, temperature_c=temperature_c) / s.sets

    def effective(s: Stretch) -> float:
        found = impedance_per_kft(
            size=s.size, metal=s.metal, conduit=s.conduit, power_factor=power_factor
        )
        return found[2] / s.sets

    def lost(title: str, ohm_of: Callable[[Stretch], float], cite: str) -> Working:
        value, terms = 0.0, []
        for path in paths:
            terms.append(Term(path.name, path.amps, "A"))
            for s in path.stretches:
                ohm = ohm_of(s)
                value += drop_v(amps=path.amps, ohm_per_kft=ohm, run_ft=s.run_ft, wires=path.wires)
                sets = f"{s.sets} × " if s.sets > 1 else ""
                terms.append(
                    Term(f"{s.run_ft:g} ft of {sets}{s.size} {s.metal}", ohm, "Ω/kft", cite)
                )
        return Working(
            title=title,
            value=value,
            unit="V",
            formula=formula,
            terms=(
                Term("Power factor", power_factor, ""),
                Term("Supply", volts, "V"),
                *terms,
            ),
            source=cite,
        )

    by_dc = lost("Drop by dc resistance", dc, table_cite("conductors", rules.edition).words)
    by_impedance = lost(
        "Drop by effective impedance", effective, table_cite("impedance", rules.edition).words
    )
    return Drop(volts, by_dc.value, by_impedance.value, by_dc, by_impedance)


def drop_at_start(
    *,
    running: Drop,
    start_a: float,
    start_volts: float,
    stretches: Sequence[Stretch],
    rules: Rulebook,
) -> Drop:
    """Drop while a motor starts on top of what runs.

    What runs keeps its own power factor; the start alone is at the low one of a start. Both are
    drops in line with the supply (R cos θ + X sin θ), so they add, each as a share of its own
    volts. A motor of one leg (``start_volts`` 120) starts through hot and neutral, and is taken on
    the leg whose drop is given. The start is by impedance in either reckoning, and never makes the
    drop less than it was running.

    >>> from server.rules.editions import rulebook
    >>> wire = [Stretch(28, "4")]
    >>> runs = voltage_drop(amps=80, stretches=wire, rules=rulebook("2023"))
    >>> both = drop_at_start(running=runs, start_a=48, start_volts=240, stretches=wire,
    ...     rules=rulebook("2023"))
    >>> round(runs.dc_v, 2), round(both.dc_v, 2), round(100 * both.dc_share, 2)
    (1.38, 1.83, 0.76)

    Raises
    ------
    InputError   For figures outside their range.
    """
    power_factor = rules.value("start_power_factor")
    if start_volts <= LEG_V:
        start = leg_drop(
            leg_a=start_a,
            neutral_a=start_a,
            stretches=stretches,
            volts=start_volts,
            power_factor=power_factor,
            rules=rules,
        )
    else:
        start = voltage_drop(
            amps=start_a,
            stretches=stretches,
            volts=start_volts,
            power_factor=power_factor,
            rules=rules,
        )
    start_v = start.impedance_share * running.volts

    def working(title: str, runs: Working) -> Working:
        return Working(
            title=title,
            value=runs.value + start_v,
            unit="V",
            formula="drop of what runs + volts × share lost by the start at its own power factor",
            terms=(
                Term("What runs", runs.value, "V", runs.source),
                Term("Volts", running.volts, "V"),
                Term("Start alone", start.impedance_v, "V", start.impedance_working.source),
                *start.impedance_working.terms,
            ),
            source=start.impedance_working.source,
        )

    return Drop(
        volts=running.volts,
        dc_v=running.dc_v + start_v,
        impedance_v=running.impedance_v + start_v,
        dc_working=working("Drop at a start, running by dc resistance", running.dc_working),
        impedance_working=working(
            "Drop at a start, running by impedance", running.impedance_working
        ),
    )
