"""Volts as all that starts at once on a set does: lower than any one motor leaves them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from server.advise.starts import SetStarts
from server.advise.volts import PanelVolts
from server.physics.legs import NOMINAL_V


def together_words(found: Iterable[PanelVolts], starts: Iterable[SetStarts]) -> Iterator[str]:
    """A sentence for each set that a joint start dips further than any single one told.

    The dip of the set alone is taken off the lowest volts of its panels: what the lines lose to the
    start comes on top. Source: reactances in series, as the starts themselves.
    """
    panels = [one for one in found if one.leg is not None]
    for one in starts:
        mine = [p for p in panels if p.source_id == one.generator_id]
        worst = one.worst
        if not mine or worst is None or len(worst.motors) < 2:
            continue
        if worst.dip <= max((p.motor.set_dip for p in mine if p.motor), default=0.0):
            continue
        lowest = min(mine, key=lambda p: p.volts_v)
        yield (
            f"{len(worst.motors)} motors start at once on {one.name} and dip it by "
            f"{100.0 * worst.dip:.1f} %, more than any one of them: {lowest.name} then falls to "
            f"about {(1.0 - worst.dip) * lowest.volts_v:.0f} of {NOMINAL_V:.0f} V, less what its "
            "lines lose to the start. The table of motor starts names them."
        )
