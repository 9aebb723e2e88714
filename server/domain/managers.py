"""Which circuits rely on load management, and what is said where no manager is entered for them."""

from __future__ import annotations

from server.domain.circuit import Circuit
from server.domain.site import Site
from server.domain.supply import EnergyGroup

ENTER_ONE = (
    "Enter a load manager in the settings of the site and choose it in the form of each of them, "
    "or give them another role."
)


def unmanaged(site: Site) -> tuple[Circuit, ...]:
    """Circuits that are “managed” while a generator feeds them, but by no manager."""
    if not site.generators:
        return ()
    return tuple(
        c for c in site.circuits if c.outage_role == "managed" and c.energy_group_id is None
    )


def unmanaged_words(circuits: tuple[Circuit, ...]) -> str:
    """What is said of such circuits; empty where there are none."""
    if not circuits:
        return ""
    names = ", ".join(c.name for c in circuits)
    many = len(circuits) > 1
    return (
        f"{names} {'are' if many else 'is'} set to “managed” while a generator feeds "
        f"{'them' if many else 'it'}, but no load manager is entered: nothing sheds "
        f"{'them' if many else 'it'} in a run."
    )


HAVE_IT_FITTED = (
    "Have an electrician fit it, then take the mark “planned” off in the settings of the site. "
    "Until then look at what you have without it."
)


def not_fitted(site: Site) -> tuple[EnergyGroup, ...]:
    """Load managers that are only planned, and that some circuit is under."""
    used = {c.energy_group_id for c in site.circuits}
    return tuple(g for g in site.energy_groups if g.planned and g.id in used)


def counts_on_words(site: Site) -> str:
    """That a house counts on managers nobody has fitted, as a clause; empty where it does not."""
    found = not_fitted(site)
    if not found:
        return ""
    names = ", ".join(g.name for g in found)
    one = len(found) == 1
    what = "a load manager that is" if one else "load managers that are"
    return f"it counts on {what} only planned and not fitted: {names}"
