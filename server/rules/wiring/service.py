"""Service conductors and branch circuits: the figures they stand on instead of a feeder's."""

from __future__ import annotations

from typing import Literal

from server.domain.site import Site
from server.domain.supply import Feeder
from server.rules.editions import Figure, Rulebook

Use = Literal["feeder", "branch", "receptacles", "service"]
"""What a run is: ``branch`` for one load, ``receptacles`` a branch of several of them."""

_OF_A_SERVICE = {
    "feeder_wire": "service_wire",
    "neutral_size": "service_neutral",
    "next_size_up_to_a": "service_device",
    "drop_run_advice": "service_drop_advice",
    "ground_size": "service_ground",
}
"""What a figure of feeders is called for service conductors."""
_OF_A_BRANCH = {"feeder_wire": "branch_run_wire", "neutral_size": "branch_neutral"}
_OF: dict[Use, dict[str, str]] = {
    "feeder": {},
    "branch": _OF_A_BRANCH,
    "receptacles": _OF_A_BRANCH | {"feeder_wire": "branch_run_receptacles"},
    "service": _OF_A_SERVICE,
}


def of_service(site: Site, feeder: Feeder) -> bool:
    """Whether a run lies ahead of the service disconnect: from a service, with no breaker there.

    It is then protected at its far end (230.90), carries a grounded conductor and no equipment
    ground (250.24). A breaker where it starts is the service disconnect, and what follows a feeder;
    so is what comes from the service of the building (Article 215).
    """
    return feeder.breaker_a is None and any(
        s.id == feeder.from_id and not s.building_feeder for s in site.services
    )


def figure_of(name: str, *, service: bool, rules: Rulebook) -> Figure:
    """The figure a run stands on, that of service conductors where it is one.

    >>> from server.rules.editions import rulebook
    >>> [figure_of("feeder_wire", service=s, rules=rulebook("2023")).cite.section
    ...  for s in (False, True)]
    ['215.2(A)(1), 240.4', '230.42(A), 230.90(A)']
    """
    return figure_for(name, "service" if service else "feeder", rules)


def figure_for(name: str, use: Use, rules: Rulebook) -> Figure:
    """The figure a run of some use stands on, that of feeders where the use has none of its own.

    >>> from server.rules.editions import rulebook
    >>> for use in ("branch", "receptacles"):
    ...     print(figure_for("feeder_wire", use, rulebook("2023")).cite.section)
    210.19(A), 240.4(B), 240.4(D)
    210.19(A), 240.4(B)(1), 240.4(D)
    """
    return rules.figure(_OF[use].get(name, name))
