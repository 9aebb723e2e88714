"""Fuel to be burnt in a run beside what is there."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

LIQUID = frozenset({"gasoline", "diesel"})
"""Fuels that stand by a set in cans."""


@dataclass(frozen=True)
class FuelNeed:
    """Fuel to be burnt in a run with ``outage_h`` h of outage, beside what is there. [gal].

    ``used_gal`` is by the set and, ``other_gal`` of it, by other appliances on its tank;
    ``there_gal`` is the fuel at the start and what of the deliveries found room;
    ``left_over_gal`` what did not; ``reserve_gal`` is to be kept, ``least_gal`` the least that was
    in the tank; ``dry_at`` is when the fuel first ends, ``again_at`` when it does after more came.
    Where its burn is a ``guess``, ``dry_by_high_at`` is by the most, ``dry_by_low_at`` the least.
    Of its tank, ``capacity_gal`` is what it holds, ``fill_share`` as full as it is filled and
    ``start_share`` how full of that it is at the start; ``in_cans`` where its fuel may be held
    besides, as gas is not. ``lacking_gal`` is the most that is missing at any time.
    """

    generator_id: str
    name: str
    used_gal: float
    there_gal: float
    reserve_gal: float
    left_over_gal: float
    least_gal: float
    dry_at: datetime | None
    guess: bool = False
    dry_by_high_at: datetime | None = None
    dry_by_low_at: datetime | None = None
    other_gal: float = 0.0
    lacking_gal: float = 0.0
    again_at: tuple[datetime, ...] = ()
    outage_h: float = 0.0
    capacity_gal: float = 0.0
    fill_share: float = 1.0
    start_share: float = 1.0
    in_cans: bool = True

    @property
    def added_share(self) -> float:
        """How much of a gallon held besides, filled, is there to burn: all but its reserve."""
        if self.capacity_gal <= 0.0:
            return self.fill_share
        return self.fill_share - self.reserve_gal / self.capacity_gal

    def start_share_with(self, added_gal: float) -> float:
        """How full all is at the start with so much more there; past 1 where it finds no room.

        In cans it is held besides, filled to the last of it; gas goes into the tank there is.
        """
        if not self.in_cans:
            return self.start_share + added_gal / (self.capacity_gal * self.fill_share)
        at_start_gal = self.capacity_gal * self.start_share + added_gal
        return at_start_gal / (self.capacity_gal + added_gal)

    @property
    def needs(self) -> str:
        """What is burnt in words, with the part of other appliances."""
        others = f", {self.other_gal:.0f} of them in other appliances"
        return f"about {self.used_gal:.0f} gal{others if self.other_gal >= 0.5 else ''}"

    @property
    def runs_dry(self) -> bool:
        """Whether the fuel ends at any time."""
        return self.dry_at is not None

    @property
    def hangs_on_guess(self) -> bool:
        """Whether its fuel ends by the high guess and lasts by the low."""
        return self.guess and self.dry_by_high_at is not None and self.dry_by_low_at is None

    @property
    def eats_reserve(self) -> bool:
        """Whether the reserve is touched at any time, before a delivery as well."""
        return self.least_gal < self.reserve_gal - 1e-9
