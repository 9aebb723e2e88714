"""Forms and documents: dotted field names in, nested documents out, problems beside fields.

A form field is named by its path in the document, such as ``behaviour.stages.0.minutes``. What
was typed is kept as text in a :class:`Form`, so a page that could not be saved shows it again
unchanged, with each problem at its field.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from starlette.datastructures import FormData, QueryParams

from server.domain.errors import EditError, Problem, SiteFileError
from server.domain.problems import GROUPED, problems_in

PartT = TypeVar("PartT", bound=BaseModel)

MAX_TYPED = 4_000
MAX_BEGUN = 100_000
BEGUN = "begun"
"""The field of a form that says what its fields held when it was opened."""
_CONTROLS = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")
_UNIT = re.compile(
    r"_(a|w|f|h|s|min|kw|kva|kwh|ft|ft2|deg|id|btuh|btuh_per_f|gal|gpm|gph|psi|pct)$"
)
_STEP = r"(?:[A-Za-z_][\w-]{0,40}|\d{1,3})"
_FIELD_NAME = re.compile(rf"{_STEP}(?:\.{_STEP}){{0,6}}")
"""Names a form of ours can have. Others are left out, so that no index or depth is unbounded."""
LEAST_DECIMALS = 9
"""No figure of a house is asked for to so many places."""
_UNDERLINED = re.compile(r"[+-]?[0-9.]+(_[0-9.]+)+([eE][+-]?[0-9]+)?")
_TINY = re.compile(r"([+-]?[0-9]{1,9}\.?[0-9]{0,9})[eE]-([0-9]{1,6})")


@dataclass(frozen=True)
class Form:
    """What a form shows: text by field name, problems by field name, and problems of the whole.

    A ``stale`` form began from an older revision; ``saved`` is what its fields hold by now, and
    ``taken`` what those held before that were left alone here and took over what is saved. An
    ``unsaved`` one is right but could not be written.
    """

    values: Mapping[str, str]
    problems: Mapping[str, str] = field(default_factory=dict)
    others: tuple[str, ...] = ()
    stale: bool = False
    unsaved: bool = False
    saved: Mapping[str, str] = field(default_factory=dict)
    taken: Mapping[str, str] = field(default_factory=dict)

    def value(self, name: str) -> str:
        """What stands in a field; empty when the form never held it."""
        return self.values.get(name, "")

    def problem(self, name: str) -> str:
        """What is wrong with a field, or nothing."""
        return self.problems.get(name, "")

    def meanwhile(self, name: str) -> str | None:
        """What somebody else saved in a field, when it is not what stands here."""
        saved = self.saved.get(name)
        return None if saved is None or saved == self.value(name) else saved

    def touched(self, name: str) -> bool:
        """Whether a field of this list has a problem or was saved otherwise meanwhile.

        >>> form = Form({"stops.0.at": "1"}, {"stops.0.at": "Say when."})
        >>> form.touched("stops"), form.touched("stop"), form.touched("moves")
        (True, False, False)
        """
        within = f"{name}."
        meanwhile = (key for key in self.saved if self.stale and self.meanwhile(key) is not None)
        named = (*self.problems, *meanwhile, *self.taken)
        return any(key == name or key.startswith(within) for key in named)

    def differing(self) -> tuple[Problem, ...]:
        """The fields of a stale form that somebody else changed, each with what became of it."""
        if not self.stale:
            return ()
        took = "left alone here, so it holds now what was saved meanwhile."
        both = "typed here, and saved otherwise meanwhile. What you typed stands."
        return (
            *(Problem(key, both) for key in self.saved if self.meanwhile(key) is not None),
            *(Problem(key, took) for key in self.taken),
        )

    @staticmethod
    def words(name: str) -> str:
        """A field in words, for a list of problems.

        >>> [Form.words(n) for n in ("breaker_a", "place.time_zone", "behaviour.shares.3")]
        ['Breaker', 'Time zone', 'Shares 4']
        """
        *path, last = name.split(".")
        number = f" {int(last) + 1}" if last.isdecimal() else ""
        step = path[-1] if number and path else last
        plain = _UNIT.sub("", step).replace("_", " ")
        return f"{plain.capitalize()}{number}"

    @property
    def wrong(self) -> bool:
        """Whether anything keeps it from being saved."""
        return bool(self.problems or self.others)

    def listed(self, most: int) -> tuple[tuple[Problem, ...], tuple[Problem, ...]]:
        """Every problem in the order of a list, so many first and then the rest.

        >>> first, rest = Form({}, {"a": "One.", "b": "Two."}, ("Whole.",)).listed(2)
        >>> [p.message for p in first], [p.message for p in rest]
        (['Whole.', 'One.'], ['Two.'])
        """
        whole = tuple(Problem("", message) for message in self.others)
        every = (*whole, *(Problem(name, message) for name, message in self.problems.items()))
        return every[:most], every[most:]

    def rows(self, name: str, *, spare: int = 0, least: int = 0) -> range:
        """Indices of a list of groups, with so many empty ones after the last, ``least`` in all."""
        pattern = re.compile(rf"^{re.escape(name)}\.(\d+)\.")
        found = [int(m[1]) for key in self.values if (m := pattern.match(key))]
        return range(max(max(found, default=-1) + 1 + spare, least))


def typed(data: FormData | QueryParams) -> dict[str, str]:
    """The text fields of a submitted form or an address, without control characters.

    Of a name sent twice the last counts, so a tick overrules the hidden field before it.
    """
    return {
        name: _CONTROLS.sub("", value[: _most(name)].replace("\r\n", "\n")).strip()
        for name, value in data.multi_items()
        if isinstance(value, str) and _FIELD_NAME.fullmatch(name)
    }


def _most(name: str) -> int:
    return MAX_BEGUN if name == BEGUN else MAX_TYPED


def revision_of(values: Mapping[str, str]) -> int:
    """The revision an edit began from; -1, which is never current, when it is not told."""
    text = values.get("revision", "")
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else -1


def figure_text(text: str) -> str:
    """A figure as people type it, as a program reads it: no grouping commas, a plain minus.

    Marks that only programs group by, and what is all but nothing, stay no number.

    >>> [figure_text(t) for t in ("1,500", "0,175", "−3", "1_000", "1e-300", "2e-3")]
    ['1500', '0,175', '-3', '1 000', '1e-300 is all but nothing', '2e-3']
    """
    plain = text.replace("\N{MINUS SIGN}", "-")
    if _UNDERLINED.fullmatch(plain):
        return plain.replace("_", " ")
    tiny = _TINY.fullmatch(plain)
    if tiny and float(tiny[1]) and int(tiny[2]) >= LEAST_DECIMALS:
        return f"{plain} is all but nothing"
    return plain.replace(",", "") if GROUPED.fullmatch(plain) else plain


def flat(document: Mapping[str, Any], prefix: str = "") -> dict[str, str]:
    """A document as form text by dotted name.

    >>> flat({"a": 20.0, "b": None, "c": True, "d": [{"e": "x"}]})
    {'a': '20', 'b': '', 'c': 'on', 'd.0.e': 'x'}
    """
    values: dict[str, str] = {}
    for key, item in document.items():
        name = f"{prefix}{key}"
        if isinstance(item, Mapping):
            values |= flat(item, f"{name}.")
        elif isinstance(item, (list, tuple)):
            values |= flat({str(i): part for i, part in enumerate(item)}, f"{name}.")
        elif isinstance(item, bool):
            values[name] = "on" if item else "off"
        elif isinstance(item, float):
            values[name] = f"{item:.10g}"
        else:
            values[name] = "" if item is None else str(item)
    return values


def nested(
    values: Mapping[str, str], *, optional: Iterable[str] = (), texts: Iterable[str] = ()
) -> dict[str, Any]:
    """The document in form text: numbered steps become lists, empty optional fields None.

    A group of a list whose fields are all empty is left out, so spare rows cost nothing.
    ``optional`` and ``texts`` are last steps of names; texts keep their commas.

    >>> nested({"a.0.x": "1", "a.1.x": "", "a.2.x": "1,500", "b": ""}, optional=["b"])
    {'a': [{'x': '1'}, {'x': '1500'}], 'b': None}
    """
    none_when_empty, kept = frozenset(optional), frozenset(texts)
    tree: dict[str, Any] = {}
    for name, text in values.items():
        *path, last = name.split(".")
        here = tree
        for step in path:
            branch = here.setdefault(step, {})
            if not isinstance(branch, dict):
                break
            here = branch
        else:
            value = text if last in kept else figure_text(text)
            here[last] = None if not text and last in none_when_empty else value
    return {key: _listed(branch) for key, branch in tree.items()}


def _listed(branch: Any) -> Any:
    if not isinstance(branch, dict):
        return branch
    if not branch or not all(key.isdecimal() for key in branch):
        return {key: _listed(part) for key, part in branch.items()}
    ordered = [branch[key] for key in sorted(branch, key=int)]
    return [_listed(part) for part in ordered if not _is_spare(part)]


def _is_spare(part: Any) -> bool:
    return isinstance(part, dict) and not any(
        value not in {"", None} for value in part.values() if not isinstance(value, dict)
    )


def checked(model: type[PartT], document: Mapping[str, Any]) -> PartT:
    """The document as a part of a site.

    Raises
    ------
    SiteFileError   With the problems, named by field.
    """
    try:
        return model.model_validate(document)
    except ValidationError as error:
        raise SiteFileError(problems_in(error)) from error


def checked_with(
    problems: Iterable[Problem], model: type[PartT], document: Mapping[str, Any]
) -> PartT:
    """The document as a part of a site, refused for what was found before it was checked too.

    Raises
    ------
    SiteFileError   With all problems, named by field.
    """
    before = tuple(problems)
    try:
        part = checked(model, document)
    except SiteFileError as error:
        raise SiteFileError((*before, *error.problems)) from error
    if before:
        raise SiteFileError(before)
    return part


def with_problems(
    values: Mapping[str, str],
    problems: Iterable[Problem],
    *,
    strip: str = "",
    aliases: Mapping[str, str] | None = None,
) -> Form:
    """The form with each problem at its field, or at the top when no field is meant.

    They stand in the order of the fields, as a browser sends them.

    ``strip`` is what the document's path has before the form's names; ``aliases`` says which
    field shows the problems of a path that has none of its own.
    """
    at: dict[str, str] = {}
    others: list[str] = []
    for problem in problems:
        paths = (path.removeprefix(strip) for path in (problem.field, problem.other_field))
        found = (_field_of(path, values, aliases or {}) for path in paths if path)
        name = next((each for each in found if each is not None), None)
        if name is None:
            others.append(problem.message)
        else:
            at.setdefault(name, problem.message)
    order = {name: place for place, name in enumerate(values)}
    in_order = dict(sorted(at.items(), key=lambda one: order.get(one[0], len(order))))
    return Form(values, in_order, tuple(dict.fromkeys(others)))


def _field_of(path: str, values: Mapping[str, str], aliases: Mapping[str, str]) -> str | None:
    steps = path.split(".")
    if steps[0] == "behaviour" and len(steps) > 2 and "behaviour.model" in values:
        del steps[1]
    if steps[-1] == "id" and ".".join((*steps[:-1], "name")) in values:
        steps[-1] = "name"  # An id is kept in a hidden field; what has it is known by its name.
    while steps:
        name = ".".join(steps)
        if name in values:
            return name
        if name in aliases:
            return aliases[name]
        steps.pop()
    return None


def problems_of(error: SiteFileError | EditError) -> tuple[Problem, ...]:
    """The problems an edit was refused with."""
    if isinstance(error, SiteFileError):
        return error.problems
    return (Problem(error.field, str(error)),)
