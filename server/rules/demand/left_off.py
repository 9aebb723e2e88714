"""Which breakers are left off so that a set that a hand loads fits its rating by the code."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from server.domain.appliance import Appliance
from server.domain.behaviour import RoomUnit
from server.domain.circuit import Circuit
from server.domain.pairs import in_role, pair_of
from server.domain.relied_on import keeps_house, must_stay_on
from server.domain.site import CodeEdition, Site
from server.rules.demand.held import held_a, holds
from server.rules.demand.lightest import BY_ITSELF, lightest
from server.rules.demand.reach import carried_by, distinct_positions
from server.rules.demand.report import demand_of
from server.rules.demand.worksheet import Worksheet
from server.rules.editions import Rulebook, site_rules
from server.rules.words import amps, listed

GIVES_WAY = ("deferrable", "comfort", "important")
"""Classes that may be left off, what can wait before what is wanted before what matters."""

MOST_NAMED = 12
"""Circuits named in a sentence; past that they are counted."""

MOST_SITES = 32


@dataclass(frozen=True)
class LeftOff:
    """What is left off so that the sheet of a set holds.

    ``counted_a`` is what the sheet comes to as it stands, ``limit_a`` what it is held against and
    ``left_a`` what it comes to without ``circuits``. Where they do not suffice ``fits`` is False:
    they are then all that may give way.
    """

    set_id: str
    name: str
    circuits: tuple[Circuit, ...]
    counted_a: float
    left_a: float
    limit_a: float
    fits: bool

    @property
    def counted_words(self) -> str:
        """What the set is to carry by the code, in the one wording of every page."""
        return (
            f"By the code {self.name} may not be run with all that is set to stay on: that counts "
            f"{amps(self.counted_a)} of its {amps(self.limit_a)}."
        )

    @property
    def way(self) -> str:
        """How it may be run, every breaker by its name; or that no breaker makes it fit."""
        return self._way([c.name for c in self.circuits])

    @property
    def words(self) -> str:
        """Both for a lead, the first breakers by name where they are many."""
        names = [c.name for c in self.circuits]
        more = len(names) - MOST_NAMED
        if more > 1:
            names = [*names[:MOST_NAMED], f"{more} more that its finding names"]
        return f"{self.counted_words} {self._way(names)}"

    @property
    def _turns(self) -> str:
        """That what a house relies on is not left off for good, where it is among them."""
        relied = [c.name for c in self.circuits if any(map(_is_relied_on, c.appliances))]
        if not relied:
            return ""
        return (
            f" {listed(relied)} {'is' if len(relied) == 1 else 'are'} relied on for heat, water, a "
            "pit or cold food: give turns, with something else off meanwhile."
        )

    def _way(self, names: list[str]) -> str:
        if self.fits:
            left = "nothing is left on it" if not self.left_a else f"{amps(self.left_a)} are left"
            way = f"It may be run with these breakers left off: {listed(names)}; then {left}."
            return f"{way}{self._turns}"
        if not names:
            return "Every circuit on it must be served, so none can be left off: use a larger set."
        return (
            "With every breaker off but what must be served and medical devices it is still "
            f"{amps(self.left_a)}: use a larger set, or have less that must be served."
        )


def _is_relied_on(appliance: Appliance) -> bool:
    heats = isinstance(appliance.behaviour, RoomUnit) and appliance.behaviour.mode == "heat"
    return heats or keeps_house(appliance)


@lru_cache(maxsize=MOST_SITES)
def left_off(site: Site, edition: CodeEdition | None = None) -> tuple[LeftOff, ...]:
    """What is left off each set that a hand loads past its rating; sets that hold are not named.

    Parameters
    ----------
    site : Site               Any site that can be computed.
    edition : str, optional   The edition to use instead of the site's.

    Returns
    -------
    tuple of LeftOff   By 702.4 the user selects what a set without automatic transfer feeds, and
    it must carry all of that. What can wait goes before what is wanted and that before what
    matters, the largest first; what must be served and medical devices stay on. The sheet is
    worked out again without them, and what proves not to be needed stays on.
    """
    rules, _ = site_rules(site, edition)
    found = (_left_off_set(site, generator.id, rules) for generator in site.generators)
    return tuple(one for one in found if one is not None)


def _left_off_set(site: Site, set_id: str, rules: Rulebook) -> LeftOff | None:
    """The same of one set; None where what is selected fits, or nothing is selected by hand."""
    counted = _worst(site, set_id, rules)
    if counted is None or counted.fits:
        return None
    order = _may_give_way(site, set_id)

    def without(circuits: Sequence[Circuit]) -> _Counted:
        now = site
        for circuit in circuits:
            now = in_role(now, circuit.id, "by_hand")
        return (
            _worst(now, set_id, rules)
            or _worst(now, set_id, rules, methods=BY_ITSELF)
            or _Counted(0.0, counted.limit_a, fits=True)
        )

    # The sheet grows lighter with each breaker, so the least number is found by halving.
    low, high = 0, len(order)
    while low < high:
        middle = (low + high) // 2
        if without(order[:middle]).fits:
            high = middle
        else:
            low = middle + 1
    chosen = order[:low]
    left = without(chosen)
    if left.fits:
        for circuit in reversed(chosen[:-1]):
            fewer = [c for c in chosen if c.id != circuit.id]
            if (lighter := without(fewer)).fits:
                chosen, left = fewer, lighter
    both = dict.fromkeys(p for c in chosen for p in pair_of(site, c.id) if p.outage_role == "on")
    return LeftOff(
        set_id,
        site.name_of[set_id],
        tuple(both),
        counted.counted_a,
        left.counted_a,
        counted.limit_a,
        left.fits,
    )


@dataclass(frozen=True)
class _Counted:
    """What a set is to carry in its worst position, and what it is held against. [A]"""

    counted_a: float
    limit_a: float
    fits: bool


def _worst(
    site: Site, set_id: str, rules: Rulebook, *, methods: Sequence[str] = ("selected",)
) -> _Counted | None:
    """The sheet of what is selected that passes its rating by most; None where there is none.

    ``methods`` are those of another part of a set, of which the lightest of a position counts.
    """
    element = demand_of(site, set_id, rules=rules, held_only=True)

    def over_a(sheet: Worksheet) -> float:
        return held_a(site, element, sheet) - (sheet.existing_a or math.inf)

    mine = [s for s in element.sheets if s.method in methods and s.existing_a is not None]
    by_position = [[s for s in mine if s.position == p] for p in {s.position for s in mine}]
    sheets = [s for these in by_position if (s := lightest(element.kind, these)) is not None]
    if not sheets:
        return None
    worst = max(sheets, key=over_a)
    fits = all(holds(site, element, sheet) for sheet in sheets)
    return _Counted(held_a(site, element, worst), worst.existing_a or 0.0, fits)


def _may_give_way(site: Site, set_id: str) -> list[Circuit]:
    """Circuits on a set that may be left off, a pair once, the first to go in front."""
    found: dict[str, Circuit] = {}
    for _, positions in distinct_positions(site, set_id):
        for carried in carried_by(site, set_id, positions):
            circuit, pair = carried.circuit, pair_of(site, carried.circuit.id)
            if (
                circuit.outage_role != "on"
                or not circuit.appliances
                or any(map(must_stay_on, pair))
            ):
                continue
            if not any(p.id in found for p in pair):
                found[circuit.id] = circuit
    return sorted(
        found.values(),
        key=lambda c: (max(map(_rank, pair_of(site, c.id))), -sum(_asked_va(site, c))),
    )


def _rank(circuit: Circuit) -> int:
    return GIVES_WAY.index(circuit.load_class)


def _asked_va(site: Site, circuit: Circuit) -> Iterator[float]:
    """Volt-amperes of everything on it and on what shares its neutral. [VA]"""
    return (a.load_w / a.power_factor for c in pair_of(site, circuit.id) for a in c.appliances)
