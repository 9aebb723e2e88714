"""Which circuits rely on load management, and what is said where no manager is entered for them."""

from __future__ import annotations

from server.domain.circuit import Circuit
from server.domain.site import Site

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
