"""What a manager's setting may stand for: all that passes where it measures."""

from __future__ import annotations

from dataclasses import dataclass

from server.domain.site import Site
from server.domain.supply import EnergyGroup
from server.rules.demand.held import held_a
from server.rules.demand.lightest import lightest
from server.rules.demand.reach import carried_by, distinct_positions
from server.rules.demand.report import ElementDemand, demand_of
from server.rules.demand.watching import watched_here
from server.rules.demand.worksheet import round_half_up
from server.rules.editions import Rulebook


@dataclass(frozen=True)
class UnderSetting:
    """A manager that measures all that passes an element in one switch position.

    ``asked_a`` is its setting as a continuous load (220.70), in full behind a device listed for
    all of its rating; ``beside_a`` what it does not hold comes to by the lightest method, held
    against ratings as any load; ``most_a`` the highest setting, in whole amperes, within
    ``limit_a``.
    """

    group: EnergyGroup
    asked_a: float
    beside_a: float
    most_a: float
    limit_a: float

    @property
    def beside_fits(self) -> bool:
        """Whether what the manager cannot shed is within the limit."""
        return round_half_up(self.beside_a) <= self.limit_a

    @property
    def fits(self) -> bool:
        """Whether both its setting and what it cannot shed are within the limit."""
        return self.beside_fits and round_half_up(self.asked_a) <= self.limit_a


def under_setting(
    site: Site, element: ElementDemand, position: str, *, limit_a: float, rules: Rulebook
) -> UnderSetting | None:
    """The manager whose setting may stand for an element's load, None where none measures it.

    A setting is counted whole, with 125 % for a continuous load: 220.70 has it so, and 750.30
    leaves it to the listing before 2023. It holds nothing off that is not under it, so the rest is
    held against the rating too.
    """
    here = element.element_id
    positions = dict(distinct_positions(site, here)).get(position)
    group = None if positions is None else watched_here(site, here, positions)
    if group is None or positions is None or group.setting_a is None:
        return None
    shed = frozenset(
        c.circuit.id
        for c in carried_by(site, here, positions)
        if c.circuit.energy_group_id == group.id
    )
    if not shed:
        return None
    full = any(f.id == here and f.full_rated for f in site.feeders)
    factor = 1.0 if full else rules.value("continuous_factor")
    rest = demand_of(site, here, rules=rules, held_only=True, without=shed)
    sheet = lightest(rest.kind, [s for s in rest.sheets if s.position == position])
    return UnderSetting(
        group,
        asked_a=group.setting_a * factor,
        beside_a=held_a(site, rest, sheet) if sheet else 0.0,
        most_a=float(int(limit_a / factor)),
        limit_a=limit_a,
    )
