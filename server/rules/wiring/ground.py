"""Grounding: the equipment ground, its proportional increase, and the electrode conductor."""

from __future__ import annotations

from fractions import Fraction
from typing import Literal

from server.domain.errors import InputError
from server.domain.working import Term, Working
from server.rules.editions import Rulebook, cite_of, table_cite
from server.rules.ranges import within
from server.rules.tables import Conductor, Metal, conductor, conductors, read_toml
from server.rules.words import percent

Electrode = Literal["water_pipe", "rod", "concrete"]
THIN = 0.005
"""A size short by less turns on how its circular mils are printed (common practice, no source)."""


def smallest_with(cmil: Fraction | float) -> Conductor:
    """The smallest size with at least this area.

    Raises
    ------
    InputError   Above the largest size.
    """
    for one in conductors():
        if one.cmil >= cmil:
            return one
    largest = conductors()[-1]
    raise InputError(
        f"No single conductor here has {float(cmil):,.0f} circular mils; the largest is "
        f"{largest.size} kcmil. Use parallel sets.",
        field="size",
    )


def base_ground_size(*, device_a: float, metal: Metal) -> str:
    """Equipment ground for a device, before any increase.

    >>> [base_ground_size(device_a=a, metal="copper") for a in (100, 101)]
    ['8', '6']
    """
    rows = read_toml("equipment_ground")["rows"]
    within(device_a, 1, rows[-1]["device_a"], field="device_a", unit="A")
    return str(next(r for r in rows if device_a <= r["device_a"])[metal])


def short_by_a_hair(wanted_cmil: float) -> tuple[str, float] | None:
    """The largest size below an area, and the share it lacks, where that is under half a percent.

    >>> short_by_a_hair(16_511.4)
    ('8', 8.5e-05)
    >>> short_by_a_hair(20_000) is None
    True
    """
    smaller = [one for one in conductors() if one.cmil < wanted_cmil]
    if not smaller:
        return None
    lacks = wanted_cmil / smaller[-1].cmil - 1.0
    return (smaller[-1].size, round(lacks, 6)) if lacks < THIN else None


def equipment_ground(
    *,
    device_a: float,
    metal: Metal,
    needed_size: str | None = None,
    installed_size: str | None = None,
    installed_metal: Metal = "copper",
    rules: Rulebook,
) -> tuple[str, Working]:
    """Equipment ground of a circuit, grown in exact proportion where the hots are larger.

    Parameters
    ----------
    needed_size : str, optional      Smallest hot with enough ampacity for the installation.
    installed_size : str, optional   The hot that is used, larger for another reason such as drop.

    Returns
    -------
    tuple of str and Working   The size, and how it came about.

    The ratio is an exact fraction of circular mils, never rounded. The ground never has to be
    larger than the hots.

    >>> from server.rules.editions import rulebook
    >>> equipment_ground(device_a=300, metal="copper", needed_size="250", installed_size="350",
    ...     rules=rulebook("2023"))[0]
    '2'
    >>> equipment_ground(device_a=40, metal="copper", needed_size="8", installed_size="4",
    ...     rules=rulebook("2023"))[0]
    '4'
    """
    base = conductor(base_ground_size(device_a=device_a, metal=metal))
    cite = table_cite("equipment_ground", rules.edition)
    ratio = Fraction(1)
    if needed_size and installed_size:
        ratio = max(
            Fraction(1),
            Fraction(conductor(installed_size).cmil, conductor(needed_size).cmil),
        )
    wanted = base.cmil * ratio
    chosen = smallest_with(wanted)
    if installed_size and installed_metal == metal:
        hot = conductor(installed_size)
        if hot.cmil < chosen.cmil:
            chosen = hot
    return chosen.size, Working(
        title="Equipment ground",
        value=float(chosen.cmil),
        unit="cmil",
        formula="table size × installed hot / needed hot, next size up, at most the hot itself",
        terms=(
            Term("Device", device_a, "A"),
            Term(f"Table size {base.size}", float(base.cmil), "cmil", cite.words),
            Term("Ratio of hots", float(ratio), "", f"{ratio.numerator}/{ratio.denominator}"),
            Term("Wanted", float(wanted), "cmil", _thin_words(float(wanted), metal)),
        ),
        source=f"{cite.words}; proportional increase 250.122(B)",
    )


def _thin_words(wanted_cmil: float, metal: Metal) -> str:
    thin = short_by_a_hair(wanted_cmil)
    if thin is None:
        return ""
    return f"{thin[0]} {metal} is short of it by {percent(thin[1], 2)}: ask the authority"


def hair_words(working: Working | None, metal: Metal) -> str:
    """That the next ground below falls short by no more than its printed area is rounded.

    Empty where it does not, or where the ground was not grown beyond its table.

    >>> from server.rules.editions import rulebook
    >>> _, grown = equipment_ground(device_a=70, metal="copper", needed_size="6",
    ...     installed_size="2", rules=rulebook("2023"))
    >>> hair_words(grown, "copper")
    '4 copper falls short of that by 0.03 %: ask the authority whether it does.'
    """
    if working is None:
        return ""
    terms = {t.name: t.value for t in working.terms}
    thin = short_by_a_hair(terms["Wanted"]) if terms["Ratio of hots"] > 1.0 else None
    if thin is None:
        return ""
    short = percent(thin[1], 2)
    return f"{thin[0]} {metal} falls short of that by {short}: ask the authority whether it does."


def electrode_conductor(
    *,
    hot_size: str,
    hot_metal: Metal,
    sets: int,
    metal: Metal,
    electrode: Electrode,
    rules: Rulebook,
) -> tuple[str, Working]:
    """Grounding electrode conductor for the largest service hot (parallel sets added up).

    A conductor to rods only never has to exceed 6 copper, to a concrete-encased electrode 4.

    >>> from server.rules.editions import rulebook
    >>> electrode_conductor(hot_size="4/0", hot_metal="aluminum", sets=1, metal="copper",
    ...     electrode="water_pipe", rules=rulebook("2023"))[0]
    '4'
    """
    within(sets, 1, 6, field="sets")
    table = read_toml("electrode")
    cmil = conductor(hot_size).cmil * sets
    row = next(r for r in table["rows"] if cmil <= r[f"{hot_metal}_cmil"])
    chosen = conductor(row[metal])
    cite = table_cite("electrode", rules.edition)
    terms = [
        Term("Largest hot", float(cmil), "cmil"),
        Term(f"Table size {chosen.size}", float(chosen.cmil), "cmil", cite.words),
    ]
    if electrode != "water_pipe":
        if metal != "copper":
            raise InputError(
                "A conductor to a rod or concrete-encased electrode is worked out in copper here.",
                field="metal",
            )
        cap = conductor(table["caps"][electrode])
        caps = cite_of(table["caps"], rules.edition)
        terms.append(Term(f"Never over {cap.size}", float(cap.cmil), "cmil", caps.words))
        if cap.cmil < chosen.cmil:
            chosen = cap
    return chosen.size, Working(
        title="Grounding electrode conductor",
        value=float(chosen.cmil),
        unit="cmil",
        formula="by the largest hot, all sets added; not above the electrode's cap",
        terms=tuple(terms),
        source=cite.words,
    )
