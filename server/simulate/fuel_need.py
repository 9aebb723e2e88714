"""Fuel to be burnt in a run beside what is there."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class FuelNeed:
    """Fuel to be burnt in a run with ``outage_h`` h of outage, beside what is there. [gal].

    ``used_gal`` is by the set and, ``other_gal`` of it, by other appliances on its tank;
    ``there_gal`` is the fuel at the start and what of the deliveries found room;
    ``left_over_gal`` what did not; ``reserve_gal`` is to be kept, ``least_gal`` the least that was
    in the tank; ``dry_at`` is when the fuel first ends, ``again_at`` when it does after more came.
    Where its burn is a ``guess``, ``dry_by_high_at`` is by the most, ``dry_by_low_at`` the least.
    ``added_share`` is how much of a gallon that is entered as held besides is there to burn: its
    part of the fill at the start without its part of the reserve.
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
    again_at: tuple[datetime, ...] = ()
    outage_h: float = 0.0
    added_share: float = 1.0

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
