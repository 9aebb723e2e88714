"""What the drop of a feeder is taken from: its wire, its neutral's amps and the hardest start."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.domain.site import Site
from server.domain.supply import Feeder, Segment
from server.domain.working import Term, Working
from server.rules.demand.reach import POSITION_WORDS, carried_by, distinct_positions
from server.rules.demand.report import WYE_V
from server.rules.demand.worksheet import Worksheet
from server.rules.editions import Rulebook
from server.rules.leg import LEG_V
from server.rules.locked_rotor import held_rotor
from server.rules.tables import conduit_of, raceway_kind
from server.rules.wiring.drop import Drop, Stretch, leg_drop
from server.rules.wiring.run import Run

_HOLDS = {
    "Device": (
        "as entered",
        "the device opens before more flows for long, and a load above it is a finding of its own.",
    ),
    "Set": ("nameplate", "a set gives no more for long."),
    "Setting": (
        "as a continuous load, with what it cannot shed",
        "a manager lets no more flow; whether its setting stands, the authority says.",
    ),
}
"""What may hold a load down: where its amps are from, and why no more is reckoned with."""
LEAST_SHARE = 0.00005
"""A difference of drops that two digits of a percent do not show."""


def stretch_of(segment: Segment) -> Stretch:
    """A length of a feeder as the drop sums take it."""
    kind = raceway_kind(segment.raceway)
    conduit = conduit_of(kind) if kind else "pvc"
    return Stretch(
        segment.run_ft, segment.size, segment.metal, segment.sets, conduit, segment.neutral_size
    )


def neutral_drop_a(sheet: Worksheet, leg_a: float) -> float | None:
    """Amps of the neutral in line with the heavier leg while both carry their load. [A]

    The difference of the legs. On two legs of a wye they stand 120° apart, so half of the lighter
    one is in line with the heavier. ``leg_a`` is what the heavier one carries.
    """
    if sheet.legs is None or sheet.volts <= LEG_V:
        return None
    light, heavy = sorted((sheet.legs.l1_a, sheet.legs.l2_a))
    in_line = 0.5 if sheet.volts == WYE_V else 1.0
    return leg_a * (1.0 - in_line * light / heavy) if heavy else None


def one_leg_drop(
    run: Run, both: Drop, stretches: Sequence[Stretch], rules: Rulebook
) -> Drop | None:
    """Drop on the heavier leg while the 120 V loads of the other leg are off.

    Then nothing cancels in the neutral: it carries its whole load (220.61), never above the leg's.
    None where that is no worse than ``both``, the drop with both legs on.
    """
    if run.two_wire or not run.neutral_a:
        return None
    alone = leg_drop(
        leg_a=run.load_a,
        neutral_a=min(run.neutral_a, run.load_a),
        stretches=stretches,
        power_factor=run.power_factor,
        rules=rules,
    )
    return alone if alone.dc_share > both.dc_share + LEAST_SHARE else None


def held_to(sheet: Worksheet, most_a: float | None, *, by: str = "Device") -> Working | None:
    """The leg's amps that drop and wire are reckoned at, where the load is above ``most_a``. [A]

    That is its device, what a set without one can give (``by`` "Set"), or what a manager holds
    ("Setting"). None where the load is not above it: where only the 25 % more of what is
    continuous is, the load itself flows.
    """
    if most_a is None or sheet.leg_a <= most_a:
        return None
    source, why = _HOLDS[by]
    return Working(
        title="Leg amps taken for the drop",
        value=most_a,
        unit="A",
        formula=f"calculated load, its {by.lower()} at most",
        terms=(
            Term("Calculated load", sheet.leg_a, "A", sheet.method),
            Term(by, most_a, "A", source),
        ),
        source=f"No section: {why}",
    )


def hardest_start(site: Site, feeder: Feeder, volts: float) -> tuple[float, float, str]:
    """Amps and volts of the start that takes the largest share of its volts, and their source.

    Locked-rotor amps as they are told, or by code letter or horsepower (``held_rotor``), or what a
    soft starter leaves of them. 0 A where nothing it can carry starts; a motor of 240 V is dead on
    a set of 120 V. [A, V]
    """
    starts = [
        (held.amps * a.start_share, min(float(a.volts), volts), held.basis)
        for _, positions in distinct_positions(site, feeder.id)
        for one in carried_by(site, feeder.id, positions)
        for a in one.circuit.appliances
        if (volts > LEG_V or a.volts == LEG_V) and (held := held_rotor(a)) is not None
    ]
    return max(starts, key=lambda start: start[0] / start[1], default=(0.0, volts, ""))


@dataclass(frozen=True)
class PathDrop:
    """Share of the volts lost from the source to the end of a feeder.

    ``sides`` is each double-throw on the way with the input by which more is lost, empty where
    none leads there or it makes no difference.
    """

    share: float
    sides: tuple[tuple[str, str], ...] = ()


def path_drop(site: Site, feeder_id: str, shares: Mapping[str, float]) -> PathDrop | None:
    """The running drop of a feeder and those ahead on the utility side, each at its own load.

    Where several ways lead there, as behind a double-throw, each is added up whole and the worst
    is told. ``shares`` is the drop of each feeder. None where its own is not known.
    """
    if feeder_id not in shares:
        return None
    here = next(f.from_id for f in site.feeders if f.id == feeder_id)
    ahead = _worst_way(site, here, shares, frozenset())
    return PathDrop(shares[feeder_id] + ahead.share, ahead.sides)


def _worst_way(
    site: Site, here: str, shares: Mapping[str, float], seen: frozenset[str]
) -> PathDrop:
    ways: list[tuple[Feeder, PathDrop]] = []
    for feeder in site.feeders_into.get(here, ()):
        if feeder.to_input == "generator" or feeder.from_id in {here, *seen}:
            continue
        before = _worst_way(site, feeder.from_id, shares, seen | {here})
        share = shares.get(feeder.id, 0.0) + before.share
        ways.append((feeder, PathDrop(share, before.sides)))
    if not ways:
        return PathDrop(0.0)
    feeder, worst = max(ways, key=lambda way: way[1].share)
    alike = worst.share - min(way.share for _, way in ways) <= LEAST_SHARE
    if alike or feeder.to_input not in POSITION_WORDS:
        return worst
    return PathDrop(worst.share, (*worst.sides, (here, POSITION_WORDS[feeder.to_input])))
