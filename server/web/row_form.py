"""A row of the table of circuits as text: what it shows, and the circuit that was typed.

A row asks for less than the form of a circuit: what it leaves out keeps its saved value, or what
is usual where the circuit is new.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from server.domain.appliance import Appliance
from server.domain.catalogue import KINDS, Kind
from server.domain.circuit import Circuit
from server.domain.edits import free_spaces, new_id, pairs_of_spaces
from server.domain.errors import Problem, SiteFileError
from server.domain.kind_search import kinds_found
from server.domain.site import Site
from server.web import circuit_form
from server.web.appliance_form import of_kind
from server.web.circuit_form import taken_ids
from server.web.forms import Form, checked, figure_text

FIELDS = (
    "panel_id",
    "space",
    "name",
    "feeds",
    "load_w",
    "breaker_a",
    "poles",
    "wire_size",
    "load_class",
    "outage_role",
    "note",
)
ALIASES = {
    "spaces": "space",
    "half": "space",
    "appliances": "load_w",
    "wire_metal": "wire_size",
    "breaker_type": "breaker_a",
}
USUAL_BREAKER_A = "20"
"""What a general circuit commonly has; common practice, no source."""
_SPACE = re.compile(r"(\d{1,3})\s*([ab]?)", re.IGNORECASE)
_PAIR = re.compile(r"(\d{1,3})\s*[,/&+ -]\s*(\d{1,3})")


@dataclass(frozen=True)
class RowForm:
    """A row being typed: ``key`` tells its fields from those of other rows on the page.

    ``first_place`` is the space it takes when none is written.
    """

    key: str
    action: str
    form: Form
    first_place: str = ""
    circuit: Circuit | None = None


def next_row(site: Site, last_panel_id: str = "") -> Form:
    """The next empty row: the last panel that still has room. What is left empty is usual."""
    order = [p for p in site.panels if p.id == last_panel_id]
    order += [p for p in site.panels if p.id != last_panel_id]
    panel = next((p for p in order if free_spaces(site, p)), order[0] if order else None)
    values = dict.fromkeys(FIELDS, "") | {"outage_role": "on"}
    return Form(values | {"panel_id": panel.id if panel else ""})


def row_form_of(circuit: Circuit) -> Form:
    """A saved circuit as the text of its row."""
    saved = circuit_form.form_of(circuit).values
    values = {name: saved.get(name, "") for name in FIELDS}
    values["space"] = ", ".join(map(str, circuit.spaces)) + (circuit.half or "")
    values["feeds"] = feeds_words(circuit)
    values["load_w"] = f"{sum(a.load_w for a in circuit.appliances):.10g}"
    return Form(values)


def feeds_words(circuit: Circuit) -> str:
    """What a circuit feeds, in a word or two."""
    if not circuit.appliances:
        return ""
    if len(circuit.appliances) == 1:
        return circuit.appliances[0].name
    return f"{len(circuit.appliances)} appliances"


def circuit_of_row(values: Mapping[str, str], site: Site, base: Circuit | None) -> Circuit:
    """The circuit that was typed into a row, over the saved one it began from.

    A new circuit gets one appliance: of the kind written, or ``other`` when only watts are.

    Raises
    ------
    SiteFileError   With the problems, named by field of the row.
    """
    typed = {name: values[name] for name in (*FIELDS, "wire_metal") if name in values}
    problems: list[Problem] = []
    kind = _kind(typed.get("feeds", ""), base, problems)
    typed = with_usual(typed, kind) if base is None else typed
    watts = _watts(typed.get("load_w", ""), problems)
    whole = _whole(typed, base)
    _place(typed.get("space", ""), whole, problems)
    try:
        made = circuit_form.circuit_from(whole, site, base)
        made = _loaded(made, site, kind, watts)
    except SiteFileError as error:
        raise SiteFileError((*problems, *error.problems)) from error
    if problems:
        raise SiteFileError(tuple(problems))
    return made


def with_usual(typed: Mapping[str, str], kind: Kind | None) -> dict[str, str]:
    """The row with what is usual for its kind in every field left empty."""
    usual = {"poles": "1", "breaker_a": USUAL_BREAKER_A, "outage_role": "on"}
    usual |= {"load_class": "comfort"}
    if kind is not None:
        usual["name"] = kind.name
        usual["poles"] = "2" if kind.volts == 240 else "1"
        usual["breaker_a"] = f"{kind.breaker_a:g}"
        usual["load_class"] = kind.load_class
        usual["load_w"] = f"{kind.load_w:.10g}"
    return {**typed, **{name: text for name, text in usual.items() if not typed.get(name)}}


def _kind(text: str, base: Circuit | None, problems: list[Problem]) -> Kind | None:
    if not text or (base is not None and base.appliances):
        return None
    found = kinds_found(text)
    if not found:
        problems.append(
            Problem(
                "feeds",
                f"No kind of appliance here is called “{text[:40]}”. Write a few letters of one, "
                "such as dryer, or leave this empty and write watts.",
            )
        )
        return None
    return found[0]


def _watts(text: str, problems: list[Problem]) -> float | None:
    if not text:
        return None
    plain = figure_text(text.removesuffix("W").removesuffix("w").strip())
    try:
        watts = float(plain)
    except ValueError:
        watts = -1.0
    if not 0 <= watts < 1e6:
        problems.append(
            Problem("load_w", "Write the watts as a number below 1,000,000, such as 1500.")
        )
        return None
    return watts


def _whole(typed: Mapping[str, str], base: Circuit | None) -> dict[str, str]:
    """The fields of the circuit's whole form: those of the row over the saved ones."""
    whole = circuit_form.form_of(base).values if base else circuit_form.blank_form("").values
    kept = {**whole, "kind": ""}
    own = {name: text for name, text in typed.items() if name not in {"feeds", "load_w", "space"}}
    return {**kept, **own}


def _place(text: str, whole: dict[str, str], problems: list[Problem]) -> None:
    """Write the space into the form: 12, or 5, 7 of a 2-pole breaker, or 9a of a tandem."""
    whole["space"] = text
    if pair := _PAIR.fullmatch(text):
        if whole["poles"] != "2" or int(pair[2]) != int(pair[1]) + 2:
            problems.append(
                Problem(
                    "space",
                    "Two spaces are for a 2-pole breaker and stand under each other, such as "
                    "5, 7. Write one space, or make it 2 poles.",
                )
            )
        whole["space"] = pair[1]
    elif one := _SPACE.fullmatch(text):
        whole["space"] = one[1]
        half = one[2].lower()
        if half:
            whole["breaker_type"] = "tandem"
        elif whole["half"]:
            whole["breaker_type"] = "standard"
        whole["half"] = half


def _loaded(circuit: Circuit, site: Site, kind: Kind | None, watts: float | None) -> Circuit:
    """The circuit with the load of its row: a first appliance, or other watts of its only one."""
    appliances = circuit.appliances
    if not appliances:
        made = _first_appliance(circuit, site, kind, watts)
        appliances = (made,) if made else ()
    elif watts is not None and watts != sum(a.load_w for a in appliances):
        if len(appliances) > 1:
            text = "Several appliances make these watts. Change them on the circuit’s own page."
            raise SiteFileError((Problem("load_w", text),))
        appliances = (_with_watts(appliances[0], watts),)
    if appliances == circuit.appliances:
        return circuit
    return checked(Circuit, {**_plain(circuit), "appliances": appliances})


def _plain(circuit: Circuit) -> dict[str, object]:
    return {name: getattr(circuit, name) for name in Circuit.model_fields}


def _first_appliance(
    circuit: Circuit, site: Site, kind: Kind | None, watts: float | None
) -> Appliance | None:
    if kind is None and not watts:
        return None
    taken = taken_ids(site) | {circuit.id}
    if kind is not None:
        made = of_kind(kind, new_id(kind.id, taken), site)
        return made if watts is None else _with_watts(made, watts)
    other = KINDS["other"]
    volts = 240 if circuit.poles == 2 else 120
    return other.appliance(
        new_id(f"{circuit.id}-load", taken), name=circuit.name, volts=volts, load_w=watts
    )


def _with_watts(appliance: Appliance, watts: float) -> Appliance:
    """The appliance at other watts; its 120 V part is no larger than the whole."""
    part = min(appliance.part_120_w, watts)
    return checked(
        Appliance,
        {
            **{name: getattr(appliance, name) for name in Appliance.model_fields},
            "load_w": watts,
            "part_120_w": part,
        },
    )


def first_place(site: Site, panel_id: str, poles: int) -> str:
    """The first free place of a panel as text; empty when there is none."""
    panel = site.panel_by_id.get(panel_id)
    free = free_spaces(site, panel) if panel else set()
    if poles == 2:
        pair = next(pairs_of_spaces(free), None)
        return ", ".join(map(str, pair)) if pair else ""
    return "".join(map(str, sorted(free)[:1]))
