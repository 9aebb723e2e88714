"""The smallest house that can be computed: one service, one panel, nothing in it."""

from __future__ import annotations

from server.domain.panel import Panel
from server.domain.site import PLACE_NOT_TOLD, Site
from server.domain.supply import Feeder, Service
from server.web.appliance_form import HOUSE


def empty_house(name: str, place_name: str = "") -> Site:
    """A house with a 200 A service and a 30-space panel, to be filled in.

    Raises
    ------
    pydantic.ValidationError   When the name is empty or too long.
    """
    feeder = Feeder(
        id="service-to-main-panel",
        name="Service to main panel",
        from_id="service",
        to_id="main-panel",
    )
    return Site.model_validate(
        {
            "name": name,
            "place": {"name": place_name or PLACE_NOT_TOLD},
            "services": (Service(id="service", name="Service", main_a=200),),
            "panels": (Panel(id="main-panel", name="Main panel", rating_a=200, spaces=30),),
            "feeders": (feeder,),
            "zones": (HOUSE,),
        }
    )
