"""What solar asks for at the service: the directory of sources, and its rapid shutdown."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.finding import Finding
from server.domain.site import Site
from server.domain.supply import SolarArray
from server.rules.checks.made import made
from server.rules.checks.signs import power_source_sign, rapid_shutdown_sign
from server.rules.editions import Rulebook
from server.rules.reach import above
from server.rules.words import listed


def solar_sign_checks(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """A directory at each service that solar ties to, and the shutdown of each array."""
    for service in site.services:
        tied = [a for a in site.solar if service.id in above(site, a.panel_id)]
        if tied:
            yield made(
                "power-source-directory",
                "note",
                service.id,
                text=(
                    f"{service.name} needs a directory of every source of power of the building "
                    f"and where each is disconnected: {listed([a.name for a in tied])} "
                    f"{'ties' if len(tied) == 1 else 'tie'} to it."
                ),
                mend="Fix the directory durably at the service, and list standby sources in it.",
                figure=rules.figure("power_source_directory"),
                sign=power_source_sign(tied, site.generators),
            )
    for array in site.solar:
        yield _shutdown(array, rules)


def _shutdown(array: SolarArray, rules: Rulebook) -> Finding:
    return made(
        "rapid-shutdown",
        "note",
        array.id,
        text=(
            f"{array.name}, where it is on or in a building, must have rapid shutdown, and a sign "
            "at the service that says so and where its switch is. Whether it has is not known here."
        ),
        mend="Ask whoever fits it for listed equipment, and fix the sign where responders come.",
        figure=rules.figure("rapid_shutdown"),
        sign=rapid_shutdown_sign(rules),
    )
