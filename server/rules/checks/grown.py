"""Grounds and neutrals that grow with hots larger than they need be: 250.122(B), 215.2."""

from __future__ import annotations

from server.rules.editions import Rulebook
from server.rules.ocpd import largest_device_a
from server.rules.tables import Metal, conductor
from server.rules.wiring.feeder import FeederWiring
from server.rules.wiring.ground import base_ground_size, hair_words
from server.rules.wiring.laid import SegmentWiring
from server.rules.wiring.run import RANGES


def device_words(one: FeederWiring) -> str:
    """What a wire is held to, in words: its device, or its load where none is entered."""
    return "its load" if one.device_a is None else f"its device of {one.device_a:g} A"


def ground_grown(one: FeederWiring, part: SegmentWiring) -> str:
    """In brackets, the area wanted where the wire is larger than is enough for its device."""
    if part.ground_working is None:
        return ""
    terms = {t.name: t.value for t in part.ground_working.terms}
    if terms["Ratio of hots"] == 1.0:
        return ""
    return (
        f" ({terms['Wanted']:,.0f} circular mils: the table's size times "
        f"{terms['Ratio of hots']:.2f}, as its wire is larger than {device_words(one)} asks for)"
    )


def ground_by_a_hair(part: SegmentWiring) -> str:
    """That the next size below falls short by no more than its printed area is rounded."""
    words = hair_words(part.ground_working, part.segment.ground_metal)
    return f" {words}" if words else ""


def largest_device_of(part: SegmentWiring, rules: Rulebook) -> float:
    """The largest device that 240.4 permits the wire of a segment, its terminals at 75 °C. [A]"""
    return largest_device_a(
        ampacity_a=part.most_at_75_a,
        size=part.segment.size,
        metal=part.segment.metal,
        receptacles=False,
        rules=rules,
    )


def largest_right_a(
    one: FeederWiring, part: SegmentWiring, laid: str | None, metal: Metal, rules: Rulebook
) -> float | None:
    """The largest device of the wire, where its ground is large enough for that one. [A]

    The same wires are right behind it; only that its device is smaller makes the ground grow. So
    nothing comes of it where that device is no larger than the one there is.
    """
    if not laid:
        return None
    most_a = largest_device_of(part, rules)
    if most_a <= (one.device_a or 0.0) or most_a > RANGES["device_a"].high:
        return None
    least = base_ground_size(device_a=most_a, metal=metal)
    return most_a if conductor(laid).cmil >= conductor(least).cmil else None


def right_at_words(device_a: float | None, which: str) -> str:
    """That a ground or neutral is right behind a larger device, empty where it is not."""
    if device_a is None:
        return ""
    return (
        f" Behind a device of {device_a:g} A, which its wire may stand behind too, the same "
        f"{which} is large enough: ask the authority whether it must be larger behind a smaller "
        "one."
    )


def full_size_of(one: FeederWiring, part: SegmentWiring) -> str | None:
    """The size that carries all of its device, where what is laid is that and the table's ground.

    A smaller one is enough by the next size up alone (240.4(B)) or by the share of a whole
    dwelling (310.12); whether that makes it the minimum of which 250.122(B) speaks is the
    authority's to say. None where a ground is short of its table, or the wire larger than that.
    """
    base = _table_ground_cmil(part)
    laid = part.segment.ground_size
    if one.device_a is None or base is None or not laid or conductor(laid).cmil < base:
        return None
    full = part.size_for_all_of_device
    return full if full == part.segment.size else None


def _table_ground_cmil(part: SegmentWiring) -> float | None:
    if part.ground_working is None:
        return None
    terms = part.ground_working.terms
    return next((t.value for t in terms if t.name.startswith("Table size")), None)


def full_size_words(size: str | None, one: FeederWiring, part: SegmentWiring) -> str:
    """That no smaller wire carries all of its device, empty where one does."""
    if size is None:
        return ""
    return (
        f" {size} {part.segment.metal} is the smallest that carries all of {device_words(one)}, "
        "and a smaller one is enough only as it may stand behind more than it carries: ask the "
        "authority whether this one counts as increased."
    )


def neutral_right_a(one: FeederWiring, part: SegmentWiring, rules: Rulebook) -> float | None:
    """The same of its neutral, which grows with the ground and must carry its load besides. [A]"""
    laid = part.segment.neutral_size
    if not laid or conductor(laid).cmil < conductor(part.neutral_ungrown).cmil:
        return None
    return largest_right_a(one, part, laid, part.segment.metal, rules)


def neutral_only_grows(part: SegmentWiring) -> bool:
    """Whether a neutral is short by the growth alone."""
    laid = part.segment.neutral_size
    return bool(laid) and conductor(laid or "").cmil >= conductor(part.neutral_ungrown).cmil


def _grows(part: SegmentWiring) -> bool:
    return conductor(part.neutral_size).cmil > conductor(part.neutral_ungrown).cmil


def neutral_grown(one: FeederWiring, part: SegmentWiring) -> str:
    """In brackets, that it is the ground's growth that asks for more."""
    if not _grows(part):
        return ""
    return (
        f" ({part.neutral_ungrown} but that it may be no smaller than its ground, which grows as "
        f"its wire is larger than {device_words(one)} asks for)"
    )


def neutral_by_a_hair(part: SegmentWiring) -> str:
    """The same of the neutral as of its ground, where both are of one metal and grow alike."""
    alike = part.segment.ground_metal == part.segment.metal
    return ground_by_a_hair(part) if alike and _grows(part) else ""
