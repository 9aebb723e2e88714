"""Figures that no breaker is made for as a standard, and the standard ones on both sides."""

from __future__ import annotations

from server.domain.site import CodeEdition
from server.rules.ocpd import smallest_breaker_a, standard_ratings_a
from server.rules.tables import read_toml


def is_standard(amps: float, edition: CodeEdition) -> bool:
    """Whether breakers come in a rating as a standard (240.6(A)).

    >>> is_standard(10, "2020"), is_standard(10, "2023"), is_standard(137, "2023")
    (False, True, False)
    """
    return amps in (smallest_breaker_a(edition), *standard_ratings_a())


def nearest_standard_a(amps: float, edition: CodeEdition) -> tuple[float, ...]:
    """The standard ratings on both sides of a figure, ascending; one of them at an end. [A]

    >>> nearest_standard_a(137, "2023"), nearest_standard_a(5, "2023")
    ((125.0, 150.0), (10.0,))
    """
    ratings = sorted({smallest_breaker_a(edition), *standard_ratings_a()})
    below = [rating for rating in ratings if rating <= amps][-1:]
    above = [rating for rating in ratings if rating >= amps][:1]
    return tuple(dict.fromkeys((*below, *above)))


def nearest_words(amps: float, edition: CodeEdition) -> str:
    """The same in words.

    >>> nearest_words(137, "2023"), nearest_words(5, "2023")
    ('125 A and 150 A', '10 A')
    """
    return " and ".join(f"{rating:,g} A" for rating in nearest_standard_a(amps, edition))


def socket_words(amps: float) -> str:
    """That a figure is the class of a meter socket, empty where it is none.

    >>> socket_words(320)
    '320 A is the class of a meter socket, listed for a service of 400 A.'
    >>> socket_words(137)
    ''
    """
    sockets = {row["rated_a"]: row["most_main_a"] for row in read_toml("meter_sockets")["rows"]}
    if amps not in sockets:
        return ""
    return (
        f"{amps:g} A is the class of a meter socket, listed for a service of {sockets[amps]:g} A."
    )
