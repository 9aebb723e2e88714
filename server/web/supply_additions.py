"""A new part of the supply with the feeders it needs, in one edit: nothing is fed by nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from pydantic import ValidationError

from server.domain.current_path import SupplyGroup, SupplyPart
from server.domain.edits import free_name, free_spaces, new_id, pairs_of_spaces
from server.domain.errors import Problem, SiteFileError
from server.domain.panel import Panel
from server.domain.problems import problems_in
from server.domain.site import Site
from server.domain.supply import (
    DoubleThrow,
    Feeder,
    FeederInput,
    Generator,
    Service,
    SolarArray,
    TransferSwitch,
)
from server.domain.supply_edits import feed, feeder_id, put_parts
from server.rules.overcurrent import devices_above
from server.web.forms import nested
from server.web.supply_form import part_from
from server.web.supply_wiring import NEW, NOTHING, USUAL, blank_part, starts, usual_start


@dataclass
class Addition:
    """Parts on their way into a site, with what was typed about their wiring."""

    site: Site
    values: Mapping[str, str]
    parts: list[tuple[SupplyGroup, SupplyPart]] = field(default_factory=list)

    def taken(self) -> set[str]:
        """Ids that are in use, or about to be."""
        return set(self.site.name_of) | {part.id for _, part in self.parts} | {NEW}

    def name(self, wanted: str) -> str:
        """A name that no part has."""
        held = set(self.site.name_of.values()) | {part.name for _, part in self.parts}
        return free_name(wanted, held)

    def put(self, group: SupplyGroup, part: SupplyPart) -> None:
        """Take a part along."""
        self.parts.append((group, part))

    def feed(
        self,
        from_field: str,
        to: SupplyPart,
        to_input: FeederInput | None = None,
        *,
        breaker: bool = True,
        start: str | None = None,
        breaker_a: float | None = None,
    ) -> None:
        """Take a feeder along, from what was chosen or from ``start``.

        Its breaker is the one typed, or ``breaker_a`` where that is not its.
        """
        from_id = start or self.values.get(from_field, "")
        breaker_a = self._breaker_a() if breaker else breaker_a
        known = dict(starts(self.site)) | {p.id: p.name for _, p in self.parts}
        if from_id not in known:
            raise SiteFileError((Problem(from_field, "Choose what it comes from."),))
        try:
            made = feed(
                self._with_feeders(),
                from_id,
                to.id,
                to_input,
                to_name=to.name,
                breaker_a=breaker_a,
                guess=True,
            )
        except ValidationError as error:
            text = problems_in(error)[0].message
            raise SiteFileError((Problem("feed_breaker_a", text),)) from error
        self.put("feeders", made)

    def _with_feeders(self) -> Site:
        """The site with the feeders taken so far, so that each finds spaces of its own."""
        made = tuple(p for g, p in self.parts if g == "feeders")
        ids = {p.id for p in made}
        kept = tuple(f for f in self.site.feeders if f.id not in ids)
        return self.site.model_copy(update={"feeders": (*kept, *made)})

    def _breaker_a(self) -> float | None:
        text = str(nested({"a": self.values.get("feed_breaker_a", "")})["a"])
        try:
            return float(text) if text else None
        except ValueError as error:
            message = "Write a number, such as 12.5."
            raise SiteFileError((Problem("feed_breaker_a", message),)) from error

    def new_panel(self, name: str, rating_a: float) -> Panel:
        """A panel of its own for a source or switch, a guess to be mended."""
        panel = Panel(
            id=new_id(name, self.taken()),
            name=self.name(name),
            rating_a=rating_a,
            spaces=24,
            figure_source="guess",
        )
        self.put("panels", panel)
        return panel

    def generator(self, from_field: str, *, by_hand: bool = False) -> str:
        """Id of the chosen generator, which is made where a new one was asked for.

        ``by_hand`` where its switch is: then it is started by a person too.
        """
        wanted = self.values.get(from_field, "")
        if wanted != NEW:
            return wanted
        part = blank_part(self.site, "generators")
        start = "by_hand" if by_hand else "automatic"
        part = part.model_copy(update={"id": new_id(part.name, self.taken()), "start": start})
        self.put("generators", part)
        return part.id


def with_new_part(site: Site, group: SupplyGroup, values: Mapping[str, str]) -> tuple[Site, str]:
    """The site with the typed part and its wiring, and the part's id.

    Raises
    ------
    SiteFileError   With the problems, named by field.
    """
    addition = Addition(site, values)
    part_id = new_id(values.get("name", ""), addition.taken())
    base: dict[str, Any] = {"id": part_id}
    if group == "feeders":
        return _with_new_feeder(site, values, base), part_id
    if group in {"solar", "batteries"}:
        base |= ends_from(group, values)
    part = part_from(group, values, base)
    if isinstance(part, SolarArray) and not part.spaces and part.panel_id in site.panel_by_id:
        pairs = list(pairs_of_spaces(free_spaces(site, site.panel(part.panel_id))))
        part = part.model_copy(update={"spaces": pairs[-1] if pairs else ()})
    addition.put(group, part)
    _wire(addition, part)
    return put_parts(site, addition.parts), part_id


def ends_from(group: SupplyGroup, values: Mapping[str, str]) -> dict[str, Any]:
    """The fields that say where a feeder runs, or where solar or a battery ties in."""
    if group == "feeders":
        to_id, _, to_input = values.get("to", "").partition("/")
        return {
            "from_id": values.get("from_id", ""),
            "to_id": to_id,
            "to_input": to_input or None,
        }
    return {"panel_id": values["panel_id"]} if "panel_id" in values else {}


def _with_new_feeder(site: Site, values: Mapping[str, str], base: dict[str, Any]) -> Site:
    part = part_from("feeders", values, base | ends_from("feeders", values))
    if not isinstance(part, Feeder):
        raise TypeError(part)
    present = site.feeder_into(part.to_id, part.to_input)
    kept = tuple(f for f in site.feeders if present is None or f.id != present.id)
    panel = site.panel_by_id.get(part.from_id)
    if panel is not None and part.breaker_a is not None and not part.spaces:
        own = frozenset({present.id} if present else ())
        pairs = pairs_of_spaces(free_spaces(site, panel, leaving=own))
        part = part.model_copy(update={"spaces": next(iter(pairs), ())})
    return put_parts(site.model_copy(update={"feeders": kept}), [("feeders", part)])


def _wire(addition: Addition, part: SupplyPart) -> None:
    if isinstance(part, Panel):
        addition.feed("fed_from", part)
    elif isinstance(part, Service):
        _wire_service(addition, part)
    elif isinstance(part, Generator):
        _wire_generator(addition, part)
    elif isinstance(part, TransferSwitch):
        _wire_transfer(addition, part)
    elif isinstance(part, DoubleThrow):
        _wire_ahead(addition, part, "normal_from", "normal", "Switchable panel")
        addition.feed("backed_from", part, "backed_up")


def _wire_service(addition: Addition, service: Service) -> None:
    feeds = addition.values.get("feeds", NOTHING)
    if feeds == NEW:
        panel = addition.new_panel(f"{service.name[:60]} panel", service.main_a)
        addition.feed("feeds", panel, breaker=False, start=service.id)
    elif feeds in addition.site.panel_by_id:
        panel = addition.site.panel(feeds)
        addition.feed("feeds", panel, breaker=False, start=service.id)


def _wire_generator(addition: Addition, generator: Generator) -> None:
    switch_id, _, side = addition.values.get("feeds", NOTHING).partition("/")
    switch = next((t for t in addition.site.transfer_switches if t.id == switch_id), None)
    if switch is not None and side == "generator":
        addition.feed("feeds", switch, "generator", breaker=False, start=generator.id)


def _wire_transfer(addition: Addition, typed: TransferSwitch) -> None:
    generator_id = addition.generator("generator_from", by_hand=not typed.automatic)
    switch, backfed_a = _as_main(addition, typed)
    addition.parts = [(g, switch if p is typed else p) for g, p in addition.parts]
    if switch.kind != "handles":
        _wire_ahead(addition, switch, "utility_from", "utility", "Backed-up panel")
    addition.feed(
        "generator_from",
        switch,
        "generator",
        breaker=False,
        start=generator_id,
        breaker_a=backfed_a,
    )


def _as_main(addition: Addition, switch: TransferSwitch) -> tuple[TransferSwitch, float | None]:
    """An interlock as its panel's main has it, and the back-fed breaker where that was typed. [A]

    Its plate carries no amps: what is typed below the main is the breaker of the inlet.
    """
    panel = addition.site.panel_by_id.get(addition.values.get("ahead", NOTHING))
    if switch.kind != "interlock" or panel is None:
        return switch, None
    ahead = [panel.main_a] if panel.main_a is not None else []
    ahead = ahead or [amps for _, amps in devices_above(addition.site, panel.id)]
    main_a = max(ahead, default=0.0)
    if switch.rating_a >= main_a:
        return switch, None
    return switch.model_copy(update={"rating_a": main_a}), switch.rating_a


def _wire_ahead(
    addition: Addition,
    switch: TransferSwitch | DoubleThrow,
    from_field: str,
    side: FeederInput,
    panel_name: str,
) -> None:
    """The switch's first side, and what it feeds: a new panel, one that is there, or nothing."""
    site, ahead = addition.site, addition.values.get("ahead", NOTHING)
    present = site.feeder_into(ahead) if ahead in site.panel_by_id else None
    usual = addition.values.get(from_field, USUAL) == USUAL
    if usual and present is not None:
        name = f"Feeder to {switch.name[:50]}"
        moved = {"to_id": switch.id, "to_input": side, "name": name}
        addition.put("feeders", present.model_copy(update=moved))
        made = {
            "id": feeder_id(site, switch.id, f"{ahead}-panel", None),
            "name": f"Feeder to {site.panel(ahead).name[:60]}",
            "from_id": switch.id,
            "to_id": ahead,
            "figure_source": "guess",
        }
        addition.put("feeders", Feeder.model_validate(made))
        return
    first = usual_start(site)
    addition.feed(from_field, switch, side, start=first[0] if usual and first else None)
    if ahead == NEW:
        panel = addition.new_panel(panel_name, switch.rating_a)
        addition.feed("ahead", panel, breaker=False, start=switch.id)
    elif present is not None:
        panel = site.panel(ahead)
        addition.feed("ahead", panel, breaker=False, start=switch.id)
