"""A form that somebody else saved first: what it takes over, and where both changed a field.

A form carries what its fields held when it was opened, so that a field nobody typed into here is
told from one that was left as it is on purpose.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from server.web.forms import BEGUN, Form

_IN_LIST = re.compile(r"([A-Za-z_][\w.-]*?)\.(\d+)(?:\.|$)")
_MODEL = "behaviour.model"
_ALWAYS_CHOSEN = frozenset({"metal", "ground_metal", "leg", "wet", "position", "way", "watch_id"})
"""Last steps of choices: they hold something in an empty row too."""


@dataclass(frozen=True)
class Merged:
    """A form's text on the newer version.

    ``taken`` are fields left alone here and saved otherwise meanwhile, with what they held;
    ``both`` are those typed into here and saved otherwise. None where the form did not tell what
    it began with.
    """

    values: Mapping[str, str]
    taken: Mapping[str, str] = field(default_factory=dict)
    both: frozenset[str] | None = None


def begun_at(form: Form, revision: int) -> Form:
    """A form that is shown for the first time, with the revision and the text it begins from."""
    if form.value("revision"):
        return form
    fields = {**form.values, BEGUN: begun_text(form.values)}
    return replace(form, values={**fields, "revision": str(revision)})


def begun_text(values: Mapping[str, str]) -> str:
    r"""The fields of a form as one text, a line each.

    >>> begun_text({"name": "Well", "note": "one\ntwo"})
    'name=Well\nnote=one\\ntwo'
    """
    lines = (f"{name}={_plain(text)}" for name, text in values.items() if name != BEGUN)
    return "\n".join(line.replace("\\", "\\\\").replace("\n", "\\n") for line in lines)


def begun_in(text: str) -> dict[str, str]:
    r"""The fields of such a text.

    >>> begun_in(begun_text({"name": "a=b\\n", "note": "one\ntwo"}))
    {'name': 'a=b\\n', 'note': 'one\ntwo'}
    """
    pairs = (line.partition("=") for line in text.split("\n") if "=" in line)
    return {name: re.sub(r"\\(.)", _unescaped, value) for name, _, value in pairs}


def _unescaped(found: re.Match[str]) -> str:
    return "\n" if found[1] == "n" else found[1]


def _plain(text: str) -> str:
    """A text as a browser sends it back."""
    return text.replace("\r\n", "\n").strip()


def merged(values: Mapping[str, str], saved: Mapping[str, str]) -> Merged:
    """What was typed over what is saved now.

    A field not typed into takes what is saved. A list does so as a whole; where it was typed into
    and rows came or went elsewhere, it stays as typed.

    >>> opened = {"name": "Old", "breaker_a": "20"}
    >>> mine = opened | {"name": "New", "begun": begun_text(opened)}
    >>> both = merged(mine, opened | {"breaker_a": "30"})
    >>> both.values["name"], both.values["breaker_a"], dict(both.taken), set(both.both)
    ('New', '30', {'breaker_a': '20'}, set())
    """
    begun = begun_in(values.get(BEGUN, ""))
    if not begun:
        return Merged(values)
    now = {name: _plain(text) for name, text in saved.items()}
    fresh = {**values, BEGUN: begun_text(saved)}
    taken: dict[str, str] = {}
    both: set[str] = set()
    apart = _MODEL in now and begun.get(_MODEL) != now[_MODEL]
    units: dict[str, list[str]] = {}
    for name in dict.fromkeys((*values, *now)):
        units.setdefault(_unit(name, apart=apart), []).append(name)
    for unit, names in units.items():
        changed = [n for n in names if n in now and now[n] != begun.get(n, "")]
        gone = [n for n in _of(unit, begun) if n not in now] if unit else []
        if unit and (changed or gone) and not _one_by_one(unit, names, (values, begun, now)):
            if _typed_into(unit, values, begun):
                both |= {*changed, *gone} - {n for n in changed if values.get(n) == now[n]}
                continue
            taken |= {name: begun.get(name, "") for name in changed} or {unit: ""}
            fresh = {n: text for n, text in fresh.items() if n not in set(names)}
            fresh |= {name: saved[name] for name in _of(unit, now)}
            continue
        for name in changed:
            if name not in values or values[name] == now[name]:
                continue
            if values[name] == begun.get(name, ""):
                fresh[name] = saved[name]
                taken[name] = begun.get(name, "")
            else:
                both.add(name)
    return Merged(fresh, taken, frozenset(both))


def _unit(name: str, *, apart: bool) -> str:
    """What is taken as one: a list, and a behaviour of which another model was chosen."""
    if apart and name.startswith("behaviour."):
        return "behaviour"
    found = _IN_LIST.match(name)
    return found[1] if found else ""


def _of(unit: str, values: Iterable[str]) -> list[str]:
    return [name for name in values if name.startswith(f"{unit}.")]


def _one_by_one(unit: str, names: Iterable[str], forms: Iterable[Mapping[str, str]]) -> bool:
    """Whether the rows of a list are the same ones in every form, as far as can be told."""
    if not any(_IN_LIST.match(name) for name in names) or unit == "behaviour":
        return False
    return len({_rows(unit, values) for values in forms}) == 1


def _rows(unit: str, values: Mapping[str, str]) -> tuple[tuple[int, str], ...]:
    """The filled rows of a list, each with its id where it has one."""
    rows = {
        int(_place(unit, name))
        for name in _of(unit, values)
        if values[name] not in {"", "off"} and name.rpartition(".")[2] not in _ALWAYS_CHOSEN
    }
    return tuple((row, values.get(f"{unit}.{row}.id", "")) for row in sorted(rows))


def _place(unit: str, name: str) -> str:
    return name.removeprefix(f"{unit}.").partition(".")[0]


def _typed_into(unit: str, values: Mapping[str, str], begun: Mapping[str, str]) -> bool:
    if unit != "behaviour" and _rows(unit, values) != _rows(unit, begun):
        return True
    return any(values[n] != begun[n] for n in _of(unit, values) if n in begun)
