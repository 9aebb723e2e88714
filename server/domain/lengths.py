"""Lengths of time as every page, list and sentence says them."""

from __future__ import annotations


def span_words(minutes: float) -> str:
    """A length of time in the largest units that say it.

    >>> [span_words(m) for m in (0.2, 45, 90, 4320)]
    ['12 s', '45 min', '1 h 30 min', '72 h']
    """
    seconds = round(minutes * 60.0)
    if seconds < 60:
        return f"{seconds} s"
    hours, rest = divmod(round(seconds / 60), 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def dark_words(
    longest_min: float, all_min: float, drawn_min: float = 0.0, *, in_use_only: bool = False
) -> str:
    """How long something is without power: the longest gap, and all gaps where there are more.

    ``drawn_min`` is what all of them took out of its own battery, told where it is more than one.
    With ``in_use_only`` hours of rest are left out of a gap, which may hold several nights.

    >>> dark_words(30, 91), dark_words(20, 20), dark_words(0, 0)
    ('30 min at a stretch, 1 h 31 min in all', '20 min', 'never')
    >>> dark_words(30, 91, 75)
    '30 min at a stretch, 1 h 31 min in all, with its own battery down by 1 h 15 min'
    >>> dark_words(1140, 1200, in_use_only=True)
    '19 h of use in one gap, 20 h in all'
    """
    if all_min <= 0.0:
        return "never"
    longest, total = span_words(longest_min), span_words(all_min)
    one = "of use in one gap" if in_use_only else "at a stretch"
    words = longest if longest == total else f"{longest} {one}, {total} in all"
    if drawn_min < longest_min + 1.0:
        return words
    return f"{words}, with its own battery down by {span_words(drawn_min)}"


def battery_words(battery_min: float) -> str:
    """Why a wait is shorter than the battery that it stands on.

    >>> battery_words(480.0)
    'two thirds of its battery’s 8 h, for an old one lasts less'
    """
    return f"two thirds of its battery’s {span_words(battery_min)}, for an old one lasts less"


def wait_words(
    bears_min: float | None, waited_min: float = 0.0, *, battery_min: float = 0.0
) -> str:
    """How long something can be without power.

    ``waited_min`` is how long it was: where both read the same, how much less it can wait is told.
    ``battery_min`` is the battery that the wait is two thirds of, where it stands on one.

    >>> wait_words(2.0), wait_words(0.0)
    ('it can wait 2 min', 'it must not be dark at all')
    >>> wait_words(30.0, 30.0 + 10 / 60), wait_words(30.0, 45.0)
    ('it can wait 30 min, 10 s less than that', 'it can wait 30 min')
    >>> wait_words(320.0, battery_min=480.0)
    'it can wait 5 h 20 min, two thirds of its battery’s 8 h, for an old one lasts less'
    """
    if not bears_min:
        return "it must not be dark at all"
    words = f"it can wait {span_words(bears_min)}"
    if waited_min > bears_min and span_words(waited_min) == span_words(bears_min):
        words += f", {span_words(max(waited_min - bears_min, 1 / 60))} less than that"
    return f"{words}, {battery_words(battery_min)}" if battery_min else words


def circuit_words(name: str) -> str:
    """A circuit in a sentence, whatever it is called.

    >>> circuit_words("Lights"), circuit_words("Circuit a")
    ('The circuit Lights', 'Circuit a')
    """
    return name if name.lower().startswith("circuit") else f"The circuit {name}"


def while_words(*, in_use_only: bool) -> str:
    """What follows a length without power where only hours of use count."""
    return " while it is in use" if in_use_only else ""


class WithoutPower:
    """Words for a circuit, or a device on it, that goes without power in a run."""

    name: str
    device: str
    in_use_only: bool
    what: str = ""

    @property
    def subject(self) -> str:
        """What a sentence says is without power: the device, else the circuit and what matters."""
        return self.device or circuit_words(self.with_what)

    @property
    def with_what(self) -> str:
        """The circuit by its name, and what does harm on it where that does not tell."""
        told = not self.what or self.what.casefold() in self.name.casefold()
        return self.name if told else f"{self.name} ({self.what})"

    @property
    def while_words(self) -> str:
        """What follows a length without power where only hours of use count."""
        return while_words(in_use_only=self.in_use_only)
