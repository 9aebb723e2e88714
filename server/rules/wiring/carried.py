"""What the wire of each feeder carries, beside the device that protects it."""

from __future__ import annotations

from collections.abc import Iterable

from server.rules.editions import Rulebook
from server.rules.wiring.feeder import FeederWiring


def carried_a(wiring: Iterable[FeederWiring], rules: Rulebook) -> dict[str, float]:
    """Amps that the weakest stretch of each feeder carries, by the feeder's id. [A]

    240.4(B) allows a device of the next size up, yet the wire must carry the load (215.2(A)(1)).
    A feeder whose wire is not told is left out, and so is one of a whole dwelling, whose wire may
    be of 83 % of its device (310.12).
    """
    least, most = rules.value("dwelling_least_a"), rules.value("dwelling_most_a")
    return {
        one.feeder_id: min(s.ampacity.final_a for s in one.segments)
        for one in wiring
        if one.segments and not (one.whole_dwelling and least <= (one.device_a or 0.0) <= most)
    }
