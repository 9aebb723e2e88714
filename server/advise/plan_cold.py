"""What keeps food or medicine cold: what stays shut, and what is looked at afterwards."""

from __future__ import annotations

from collections import Counter

from server.domain.catalogue import KINDS
from server.domain.site import Site


def boxes(site: Site) -> list[str]:
    """What keeps medicine cold and then what keeps food, those of one name with their circuits."""
    return medicine(site) + food(site)


def food(site: Site) -> list[str]:
    """What keeps food cold."""
    return _told(
        [
            (a.name, c.name)
            for c in site.circuits
            for a in c.appliances
            if a.behaviour.model == "cold_box" and not _of_medicine(a.kind)
        ]
    )


def medicine(site: Site) -> list[str]:
    """What keeps medicine cold."""
    return _told(
        [(a.name, c.name) for c in site.circuits for a in c.appliances if _of_medicine(a.kind)]
    )


def look_words(site: Site) -> str:
    """What is looked at once the power is back; empty where nothing keeps anything cold."""
    drugs, meals = medicine(site), food(site)
    words = []
    if drugs:
        words.append(
            f"Look at the medicine in {', '.join(drugs)}: how warm was it, and for how long? A "
            "pharmacist says whether it may still be used."
        )
    if meals:
        words.append(f"Look at the food in {', '.join(meals)}.")
    return " ".join(words)


def _of_medicine(kind_id: str) -> bool:
    kind = KINDS.get(kind_id)
    return kind is not None and kind.group == "Health" and kind.harm == "refrigerator"


def _told(pairs: list[tuple[str, str]]) -> list[str]:
    count = Counter(name for name, _ in pairs)
    return [name if count[name] == 1 else f"{name} on {of}" for name, of in pairs]
