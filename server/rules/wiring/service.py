"""Service conductors: which feeders are, and the figures they stand on instead of a feeder's."""

from __future__ import annotations

from server.domain.site import Site
from server.domain.supply import Feeder
from server.rules.editions import Figure, Rulebook

_OF_A_SERVICE = {
    "feeder_wire": "service_wire",
    "neutral_size": "service_neutral",
    "next_size_up_to_a": "service_device",
    "drop_run_advice": "service_drop_advice",
    "ground_size": "service_neutral",
}
"""What a figure of feeders is called for service conductors."""


def of_service(site: Site, feeder: Feeder) -> bool:
    """Whether a run lies ahead of the service disconnect: from a service, with no breaker there.

    It is then protected at its far end (230.90), carries a grounded conductor and no equipment
    ground (250.24). A breaker where it starts is the service disconnect, and what follows a feeder.
    """
    return feeder.breaker_a is None and any(s.id == feeder.from_id for s in site.services)


def figure_of(name: str, *, service: bool, rules: Rulebook) -> Figure:
    """The figure a run stands on, that of service conductors where it is one.

    >>> from server.rules.editions import rulebook
    >>> [figure_of("feeder_wire", service=s, rules=rulebook("2023")).cite.section
    ...  for s in (False, True)]
    ['215.2(A)(1), 240.4', '230.42(A), 230.90(A)']
    """
    return rules.figure(_OF_A_SERVICE[name] if service else name)
