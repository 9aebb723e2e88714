"""A set entered with more power than homes have: mostly a slip of the decimal point."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.finding import Finding
from server.domain.site import Site
from server.domain.supply import Generator

PORTABLE_MOST_KW, FIXED_MOST_KW = 20.0, 60.0
"""Sets on wheels and fixed ones of homes hardly give more: common practice, no source. [kW]"""


def set_size_checks(site: Site) -> Iterator[Finding]:
    """A note for each set that is larger than homes have."""
    for generator in site.generators:
        doubt = size_doubt(generator)
        if doubt:
            yield Finding(
                code="set-size-doubt",
                severity="note",
                element_id=generator.id,
                text=doubt,
                mend="Read the running power on its plate again.",
                source="Common practice, no source.",
                value=generator.rated_kw,
                limit=_most_kw(generator),
                unit="kW",
            )


def size_doubt(generator: Generator) -> str:
    """What to say of a set's power that homes hardly have; nothing of any other."""
    most_kw = _most_kw(generator)
    if generator.rated_kw <= most_kw:
        return ""
    kind = "on wheels" if generator.portable else "of a home"
    return (
        f"{generator.name} is entered with {generator.rated_kw:g} kW; a set {kind} hardly gives "
        f"more than {most_kw:g} kW. Is it {generator.rated_kw / 10.0:g} kW, or watts for kilowatts?"
    )


def _most_kw(generator: Generator) -> float:
    return PORTABLE_MOST_KW if generator.portable else FIXED_MOST_KW
