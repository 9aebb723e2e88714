"""Volts as all that starts at once on a set does: lower than any one motor leaves them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from server.advise.starts import SetStarts
from server.advise.volts import PanelVolts


def together_words(found: Sequence[PanelVolts], starts: Iterable[SetStarts]) -> Iterator[str]:
    """A sentence for each set that a joint start dips further than any single one told.

    The table beside it has what they leave at each panel.
    """
    for one in starts:
        mine = [(p, p.joint) for p in found if p.source_id == one.generator_id and p.joint]
        worst = one.worst
        if not mine or worst is None:
            continue
        lowest, joint = max(mine, key=lambda pair: pair[1].share_lost)
        yield (
            f"{len(worst.motors)} motors start at once on {one.name} and dip it by "
            f"{100.0 * worst.dip:.1f} %, more than any one of them: {lowest.name} then falls to "
            f"about {joint.volts_v:.0f} of {joint.nominal_v:.0f} V. "
            "The table of motor starts names them."
        )
