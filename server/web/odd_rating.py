"""What a form says of a breaker's rating that breakers do not come in, or past its panel's."""

from __future__ import annotations

from server.domain.circuit import Circuit
from server.domain.site import Site
from server.rules.checks.branch_wire import above_its_wire
from server.rules.editions import site_rules
from server.rules.ocpd import standard_ratings_a
from server.rules.standard_ratings import is_standard, nearest_standard_a, nearest_words
from server.web.code_choice import EDITIONS
from server.web.forms import figure_text


def odd_rating(text: str) -> str:
    """What to say of it; nothing of a standard one or of what is no figure at all.

    >>> odd_rating("137")
    'Breakers are not made for 137 A as a standard (NEC 240.6(A)); 125 A and 150 A are nearest.'
    >>> odd_rating("125"), odd_rating("large")
    ('', '')
    """
    try:
        amps = float(figure_text(text))
    except ValueError:
        return ""
    edition = EDITIONS[-1]
    if not 0 < amps < standard_ratings_a()[-1] or is_standard(amps, edition):
        return ""
    are = "are" if len(nearest_standard_a(amps, edition)) > 1 else "is"
    return (
        f"Breakers are not made for {amps:,g} A as a standard (NEC 240.6(A)); "
        f"{nearest_words(amps, edition)} {are} nearest."
    )


def past_main(site: Site, panel_id: str, text: str) -> str:
    """What to say of a breaker above what all of its panel may carry; nothing where it is not.

    Nothing forbids such a breaker to be entered as it is: where it really hangs there its findings
    say what it breaks.
    """
    panel = site.panel_by_id.get(panel_id)
    try:
        amps = float(figure_text(text))
    except ValueError:
        return ""
    whole_a = None if panel is None else min(panel.main_a or panel.rating_a, panel.rating_a)
    if panel is None or whole_a is None or not amps > whole_a:
        return ""
    return (
        f"Look at its handle again: {amps:,g} A is more than the {whole_a:,g} A that all of "
        f"{panel.name} may carry."
    )


def past_wire(site: Site, circuit: Circuit | None) -> str:
    """What to say of a breaker too large for its wire; nothing where it is not or none is told."""
    if circuit is None:
        return ""
    found = above_its_wire(site, circuit, site_rules(site)[0])
    return f"{found.text} {found.mend}" if found is not None else ""
