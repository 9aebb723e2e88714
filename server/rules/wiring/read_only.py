"""A mapping that is filled once, for answers that are kept and shared."""

from __future__ import annotations

from typing import Any, Never, TypeVar

K = TypeVar("K")
V = TypeVar("V")


class ReadOnly(dict[K, V]):
    """A dict that refuses every change, and is written as JSON like any other.

    >>> found = ReadOnly({"emt": 1})
    >>> found["emt"]
    1
    >>> found["pvc40"] = 2
    Traceback (most recent call last):
    TypeError: This answer is kept and shared; make a dict of it to change it.
    """

    def _refuse(self, *_args: Any, **_named: Any) -> Never:
        raise TypeError("This answer is kept and shared; make a dict of it to change it.")

    def __reduce__(self) -> tuple[type[ReadOnly[K, V]], tuple[dict[K, V]]]:
        return type(self), (dict(self),)

    __setitem__ = __delitem__ = __ior__ = _refuse
    clear = pop = popitem = setdefault = update = _refuse
