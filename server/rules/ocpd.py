"""Overcurrent devices: standard ratings, and the largest one a conductor may stand behind."""

from __future__ import annotations

from functools import cache

from server.domain.errors import InputError
from server.domain.site import CodeEdition
from server.domain.working import Term, Working
from server.rules.editions import Cite, Rulebook, cite_of, table_cite
from server.rules.ranges import within
from server.rules.tables import Metal, read_toml


@cache
def standard_ratings_a() -> tuple[float, ...]:
    """Standard ampere ratings of breakers, ascending."""
    return tuple(float(a) for a in read_toml("ratings")["breakers"]["ratings_a"])


def smallest_breaker_a(edition: CodeEdition) -> float:
    """The smallest standard breaker of an edition. [A]

    A load’s own breaker is still looked for from 15 A up: the smaller one is for few circuits.

    >>> smallest_breaker_a("2020"), smallest_breaker_a("2023")
    (15.0, 10.0)
    """
    small = read_toml("ratings")["small_breaker"]
    return float(small["a"]) if edition in small["editions"] else standard_ratings_a()[0]


@cache
def fuse_ratings_a() -> tuple[float, ...]:
    """Standard ratings that fuses have besides. [A]"""
    return tuple(float(a) for a in read_toml("ratings")["fuses"]["also_a"])


@cache
def outlets_ratings_a() -> tuple[float, ...]:
    """Ratings of a branch circuit of several outlets, ascending. [A]

    >>> outlets_ratings_a()
    (15.0, 20.0, 30.0, 40.0, 50.0)
    """
    return tuple(float(a) for a in read_toml("ratings")["several_outlets"]["ratings_a"])


def outlets_cite(rules: Rulebook) -> Cite:
    """Where the ratings of a branch circuit of several outlets stand."""
    return cite_of(read_toml("ratings")["several_outlets"], rules.edition)


def next_for_outlets_a(amps: float) -> float:
    """The smallest rating for several outlets that is not below ``amps``; above, a standard one.

    >>> next_for_outlets_a(20.125), next_for_outlets_a(52)
    (30.0, 60.0)
    """
    return next((r for r in outlets_ratings_a() if r >= amps), None) or next_standard_a(amps)


def next_standard_a(amps: float) -> float:
    """The smallest standard rating that is not below ``amps``. [A]

    >>> next_standard_a(78), next_standard_a(100), next_standard_a(100.5)
    (80.0, 100.0, 110.0)

    Raises
    ------
    InputError   Above the largest standard rating.
    """
    ratings = standard_ratings_a()
    within(amps, 0, ratings[-1], field="amps", unit="A")
    return next(r for r in ratings if r >= amps)


def standard_or_none_a(amps: float) -> float | None:
    """The smallest standard rating that is not below ``amps``, None above the largest. [A]

    >>> standard_or_none_a(78), standard_or_none_a(6001)
    (80.0, None)
    """
    return next_standard_a(amps) if amps <= standard_ratings_a()[-1] else None


def standard_at_most_a(amps: float) -> float:
    """The largest standard rating that is not above ``amps``. [A]

    >>> standard_at_most_a(43.7)
    40.0
    """
    fits = [r for r in standard_ratings_a() if r <= amps]
    if not fits:
        raise InputError(
            f"No standard rating is {amps:g} A or less; the smallest is "
            f"{standard_ratings_a()[0]:g} A.",
            field="amps",
        )
    return fits[-1]


def small_conductor_limit_a(size: str, metal: Metal) -> float | None:
    """Largest device for a small conductor, None for sizes without such a limit. [A]

    >>> small_conductor_limit_a("12", "copper"), small_conductor_limit_a("8", "copper")
    (20.0, None)
    """
    for row in read_toml("ratings")["small"]:
        if row["size"] == size:
            limit = row.get(f"{metal}_a")
            return None if limit is None else float(limit)
    return None


def device_for_load(
    *,
    noncontinuous_a: float,
    continuous_a: float,
    full_rated: bool,
    service: bool = False,
    receptacles: bool = False,
    rules: Rulebook,
) -> Working:
    """The next standard device for a load.

    noncontinuous + 125 % of continuous, or both at 100 % for a device rated for it. ``service`` is
    of service conductors, whose rule stands elsewhere; ``receptacles`` of a branch of several of
    them, which is of fewer ratings.

    >>> from server.rules.editions import rulebook
    >>> device_for_load(noncontinuous_a=0, continuous_a=200, full_rated=False,
    ...     rules=rulebook("2023")).value
    250.0
    """
    within(noncontinuous_a, 0, 6000, field="noncontinuous_a", unit="A")
    within(continuous_a, 0, 6000, field="continuous_a", unit="A")
    figure = rules.figure("continuous_factor")
    cited = rules.figure("service_wire").cite if service else figure.cite
    factor = 1.0 if full_rated else figure.value
    needed = noncontinuous_a + factor * continuous_a
    cite = outlets_cite(rules) if receptacles else table_cite("ratings", rules.edition)
    next_a = next_for_outlets_a if receptacles else next_standard_a
    of = "rating of several outlets" if receptacles else "standard rating"
    return Working(
        title="Next standard device",
        value=next_a(round(needed, 9)),
        unit="A",
        formula=f"next {of} ≥ noncontinuous + factor × continuous",
        terms=(
            Term("Noncontinuous", noncontinuous_a, "A"),
            Term("Continuous", continuous_a, "A"),
            Term("Factor", factor, "", "100 % rated" if full_rated else cited.words),
            Term("Needed", needed, "A"),
        ),
        source=cite.words,
    )


def largest_device_a(
    *, ampacity_a: float, size: str, metal: Metal, receptacles: bool, rules: Rulebook
) -> float:
    """Largest standard device a conductor may stand behind. [A]

    The next standard rating above the ampacity up to 800 A, but not for a circuit of several
    receptacles; above 800 A the ampacity itself binds. Small conductors have their own limit.

    >>> from server.rules.editions import rulebook
    >>> largest_device_a(ampacity_a=180, size="4/0", metal="aluminum", receptacles=False,
    ...     rules=rulebook("2023"))
    200.0
    """
    up_to = rules.value("next_size_up_to_a")
    upward = next_standard_a(ampacity_a)
    limit = upward if upward <= up_to and not receptacles else standard_at_most_a(ampacity_a)
    small = small_conductor_limit_a(size, metal)
    return limit if small is None else min(limit, small)
