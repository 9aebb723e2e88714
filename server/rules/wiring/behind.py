"""The smaller device that the wire of a feeder, as it is laid, may stand behind."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import floor

from server.domain.site import Site
from server.domain.supply import Feeder, Segment
from server.rules.demand.units import one_family, serves_no_dwelling
from server.rules.demand.worksheet import Worksheet, round_half_up, service_least
from server.rules.editions import Rulebook
from server.rules.ocpd import standard_or_none_a, standard_ratings_a
from server.rules.wiring.ampacity import Ampacity
from server.rules.wiring.carrying import by_dwelling_share, carries, protects, run_column
from server.rules.wiring.feeder_run import feeder_run
from server.rules.wiring.laid import SegmentWiring
from server.rules.wiring.run import Run
from server.rules.wiring.segment import segment_ampacity
from server.rules.wiring.service import of_service

TERMINALS_C = 75
"""What terminals that were not read are taken as; that is then asked."""


@dataclass(frozen=True)
class Smaller:
    """The largest device below a feeder's own that its wire may stand behind (240.4, 310.12).

    ``enough`` is whether it serves the calculated load and the wire carries that too; where not,
    ``carried_a`` is the load that would do, with 125 % of its continuous part.
    """

    device_a: float
    carried_a: int
    enough: bool


def smaller_device(
    feeder: Feeder,
    sheet: Worksheet,
    run: Run,
    laid: Sequence[SegmentWiring],
    *,
    least_a: float,
    rules: Rulebook,
) -> Smaller | None:
    """The smaller device of a feeder, None where its own is permitted or none from ``least_a`` is.

    A smaller device alone makes no wire enough: the wire carries the calculated load as well
    (215.2(A)(1), 230.42(A)), though by 240.4(B) its device may be the next size above its amps.
    """
    own_a = run.device_a
    if own_a is None or all(part.protected for part in laid):
        return None
    for device_a in reversed(standard_ratings_a()):
        if not least_a <= device_a < own_a:
            continue
        behind = feeder_run(feeder, sheet, device_a, whole=run.whole_dwelling, volts=run.volts)
        behind = replace(behind, service=run.service, device_a=device_a)
        found = tuple(_ampacities(laid, behind, device_a, rules))
        if not all(protects(one, run=behind, device_a=device_a, rules=rules) for one in found):
            continue
        serves = (standard_or_none_a(round_half_up(sheet.needed_a)) or sheet.needed_a) <= device_a
        shared = by_dwelling_share(behind, device_a, rules)
        carried_a = device_a if shared else min(device_a, *(one.final_a for one in found))
        return Smaller(
            device_a,
            floor(carried_a + 1e-9),
            serves
            and all(carries(one, run=behind, device_a=device_a, rules=rules)[0] for one in found),
        )
    return None


def _ampacities(
    laid: Sequence[SegmentWiring], run: Run, device_a: float, rules: Rulebook
) -> Iterator[Ampacity]:
    for part in laid:
        segment: Segment = part.segment
        marked = replace(run, terminal_c=segment.terminal_c or TERMINALS_C)
        column = run_column(marked, device_a, rules)
        yield segment_ampacity(segment, terminal_c=column, rules=rules)


def least_main_a(site: Site, feeder: Feeder, rules: Rulebook) -> float:
    """The least main behind service conductors that are the only ones of their service. [A]

    230.79: of a one-family dwelling, or of any other. Several sets, each to a main of its own, make
    up that rating together; elsewhere nothing binds.
    """
    alone = sum(f.from_id == feeder.from_id for f in site.feeders) == 1
    if not (alone and of_service(site, feeder)):
        return 0.0
    dwelling = one_family(site) and not serves_no_dwelling(site, feeder.from_id)
    return rules.value(service_least(one_family=dwelling))
