"""What stands on the wiring bench, read into a run and its segments."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import TypeAdapter

from server.domain.errors import InputError, Problem
from server.rules.editions import Rulebook
from server.rules.wiring.piece import MOST_PIECES, Piece, PiecesAnswer
from server.rules.wiring.pieces import size_pieces
from server.rules.wiring.raceway import Wires
from server.rules.wiring.run import Run
from server.web.bench_fields import (
    ALSO_CHOICES,
    ALSO_COUNT,
    BENDS,
    LABELS,
    LOAD_CHOICES,
    LOAD_FIGURES,
    MOST_ALSO,
    MOST_BENDS,
    PIECE_CHOICES,
    PIECE_FIGURES,
    Figure,
    Options,
    also_name,
    piece_name,
)
from server.web.format import listed
from server.web.forms import Form, figure_text, with_problems

_RUN: TypeAdapter[Run] = TypeAdapter(Run)
_PIECE: TypeAdapter[Piece] = TypeAdapter(Piece)
_BETWEEN = re.compile(r"[\s,;°+]+")
_FIELDS = {
    "raceway": "kind",
    "raceway_trade_size": "trade_size",
    "insulation": "letters",
    "ambient_c": "ambient_f",
    "bends_deg": "bends",
    "wires": "trade_size",
}


@dataclass(frozen=True)
class Bench:
    """The bench as typed, what is still to be told, and the answer when there is one."""

    form: Form
    asked: tuple[str, ...] = ()
    answer: PiecesAnswer | None = None
    ahead_share: float | None = None

    @property
    def problems(self) -> tuple[tuple[str, str, str], ...]:
        """Name, label and message of every field that is wrong."""
        return tuple((n, LABELS.get(n, Form.words(n)), m) for n, m in self.form.problems.items())

    @property
    def blank(self) -> bool:
        """Whether nothing was typed."""
        return not self.form.values


class _Reader:
    """Reads fields one by one and keeps what is wrong with them."""

    def __init__(self, values: Mapping[str, str]) -> None:
        self.values = values
        self.problems: list[Problem] = []

    def text(self, name: str) -> str:
        return self.values.get(name, "").strip()

    def number(self, name: str, figure: Figure, empty: float | None = None) -> float | None:
        text = figure_text(self.text(name))
        if not text:
            return empty
        try:
            value = float(text)
        except ValueError:
            value = float("nan")
        if figure.may.holds(value):
            return value
        self.problems.append(Problem(name, f"Write a number: {figure.may.words}."))
        return None

    def choice(self, name: str, options: Options) -> str:
        text = self.text(name)
        known = [value for value, _ in options]
        if not text and "" not in known:
            return known[0]
        if text in known:
            return text
        words = listed([words for _, words in options])
        self.problems.append(Problem(name, f"Choose one of these: {words}."))
        return known[0]

    def bends(self, name: str) -> tuple[float, ...]:
        found = []
        for word in _BETWEEN.split(self.text(name)):
            if not word:
                continue
            try:
                value = float(word)
            except ValueError:
                value = float("nan")
            if not BENDS.holds(value):
                break
            found.append(value)
        else:
            if len(found) <= MOST_BENDS:
                return tuple(found)
        self.problems.append(
            Problem(name, f"Write each bend in degrees, {BENDS.words}, at most {MOST_BENDS} bends.")
        )
        return ()


def read_bench(values: Mapping[str, str], rules: Rulebook) -> Bench:
    """The answer to what stands on the bench, or what is wrong or still to be told."""
    reader = _Reader(values)
    load = {n: reader.number(n, f) for n, f in LOAD_FIGURES.items()}
    chosen = {n: reader.choice(n, options) for n, (_, options) in LOAD_CHOICES.items()}
    also = _also(reader)
    pieces = _pieces(reader, also)
    if reader.problems:
        return _refused(values, reader.problems)
    asked = []
    if 0 not in pieces:
        asked.append("the one-way length of segment 1")
    if not (load["noncontinuous_a"] or load["continuous_a"]):
        asked.append("a load, continuous or not")
    if asked:
        return Bench(Form(values), tuple(asked))
    ahead = load.pop("ahead_percent")
    try:
        run = _run(load, chosen)
        parts = [_PIECE.validate_python(fields) for fields in pieces.values()]
        answer = size_pieces(run, parts, rules)
    except InputError as error:
        name = _form_name(error.field, list(pieces), [one[:2] for one in also])
        return _refused(values, [Problem(name, str(error))])
    return Bench(Form(values), (), answer, None if ahead is None else ahead / 100.0)


def _refused(values: Mapping[str, str], problems: list[Problem]) -> Bench:
    """What was typed, with each problem at its field, also where that is still empty."""
    empty = {problem.field: "" for problem in problems}
    return Bench(with_problems({**empty, **values}, problems))


def _run(load: Mapping[str, float | None], chosen: Mapping[str, str]) -> Run:
    """The load of the run. What its neutral carries is taken in line with the heavier leg."""
    told: dict[str, Any] = {name: value for name, value in load.items() if value is not None}
    percent = told.pop("drop_percent", None)
    return _RUN.validate_python(
        told
        | {
            "run_ft": 0.0,
            "drop_share": None if percent is None else percent / 100.0,
            "neutral_drop_a": told.get("neutral_a") or None,
            "reckoning": chosen["reckoning"],
            "terminal_c": int(chosen["terminal_c"]) if chosen["terminal_c"] else None,
            "receptacles": chosen["use"] == "receptacles",
            "service": chosen["use"] == "service",
            "whole_dwelling": chosen["whole_dwelling"] == "on",
            "full_rated": chosen["full_rated"] == "on",
            "ground_metal": chosen["ground_metal"],
        }
    )


def _also(reader: _Reader) -> list[tuple[int, str, Wires]]:
    """What lies beside the run: its row, its segment, empty for every one, and the wires."""
    found = []
    for at in range(MOST_ALSO):
        count = reader.number(also_name(at, "count"), ALSO_COUNT)
        told = {
            name: reader.choice(also_name(at, name), options)
            for name, (_, options) in ALSO_CHOICES.items()
        }
        if (count is None) != (not told["size"]):
            missing = "size" if count is not None else "count"
            said = "Choose the size of these wires." if count is not None else "Say how many."
            if not any(p.field == also_name(at, "count") for p in reader.problems):
                reader.problems.append(Problem(also_name(at, missing), said))
        elif count is not None:
            found.append((at, told["segment"], Wires(told["size"], int(count), told["letters"])))
    return found


def _pieces(reader: _Reader, also: list[tuple[int, str, Wires]]) -> dict[int, dict[str, Any]]:
    """The fields of every segment that has a length, by its place on the bench."""
    found = {}
    for at in range(MOST_PIECES):
        figures = {n: reader.number(piece_name(at, n), f) for n, f in PIECE_FIGURES.items()}
        told = {
            n: reader.choice(piece_name(at, n), options)
            for n, (_, options) in PIECE_CHOICES.items()
        }
        bends = reader.bends(piece_name(at, "bends"))
        if not reader.text(piece_name(at, "run_ft")):
            typed = any(reader.text(piece_name(at, n)) for n in ("sets", "ambient_f", "bends"))
            if at and (typed or told["size"] or told["trade_size"]):
                reader.problems.append(
                    Problem(piece_name(at, "run_ft"), "This segment needs its length.")
                )
            continue
        ambient_f = figures["ambient_f"]
        fields: dict[str, Any] = {
            "run_ft": figures["run_ft"] or 0.0,
            "size": told["size"] or None,
            "metal": told["metal"],
            "sets": int(figures["sets"] or 1),
            "letters": told["letters"],
            "wet": told["place"] == "wet",
            "current_carrying": figures["current_carrying"],
            "kind": told["kind"],
            "trade_size": told["trade_size"],
            "nipple": told["nipple"] == "on",
            "bends_deg": bends,
            "also": tuple(w for _, segment, w in also if segment in ("", str(at + 1))),
        }
        if ambient_f is not None:
            fields["ambient_c"] = round((ambient_f - 32.0) / 1.8, 6)
        found[at] = fields
    return found


def _form_name(field: str, used: list[int], also: list[tuple[int, str]]) -> str:
    """The form's name of the field an engine refused.

    >>> _form_name("pieces.1.ambient_c", [0, 3], []), _form_name("device_a", [0], [])
    ('pieces.3.ambient_f', 'device_a')
    >>> _form_name("pieces.1.also.0.letters", [0, 3], [(0, "1"), (2, "4")])
    'also.2.letters'
    """
    head, _, rest = field.partition(".")
    if head != "pieces" or not rest:
        return _FIELDS.get(field, field)
    at, _, last = rest.partition(".")
    if last.startswith("also."):
        _, beside, name = last.split(".")
        rows = [row for row, segment in also if segment in ("", str(used[int(at)] + 1))]
        return also_name(rows[int(beside)], name)
    return piece_name(used[int(at)], _FIELDS.get(last, last))
