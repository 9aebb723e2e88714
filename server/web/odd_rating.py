"""What a form says of a breaker's rating that breakers do not come in."""

from __future__ import annotations

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
