"""One step of a run: what is live, which way each switch stands, who carries how much."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property

from server.domain.site import Site
from server.domain.supply import Feeder
from server.domain.topology import bus_of_circuit, bus_of_panel
from server.simulate.fed import fed_by
from server.simulate.results import LimitPoint, Run
from server.web.drawing.gauge import on_generator, positions

Pair = tuple[float, float]
NONE: Pair = (0.0, 0.0)

_ELEMENT_KINDS = (
    "panel_bus",
    "transfer_switch",
    "double_throw",
    "generator",
    "service_main",
    "solar_breaker",
)


@dataclass(frozen=True)
class Moment:
    """A run looked at in one step."""

    run: Run
    step: int

    @property
    def site(self) -> Site:
        """The site that was run."""
        return self.run.site

    @property
    def at(self) -> datetime:
        """Local time at the start of the step."""
        return self.run.time_of(self.step)

    @cached_property
    def _row_of(self) -> dict[str, int]:
        return {point.id: i for i, point in enumerate(self.run.points)}

    @cached_property
    def _bus_row(self) -> dict[str, int]:
        rows = {bus.id: i for i, bus in enumerate(self.run.buses)}
        by_element = {p: rows[bus.id] for p, bus in bus_of_panel(self.site).items()}
        by_element |= {b.root_id: i for i, b in enumerate(self.run.buses) if b.panel_ids}
        return by_element

    @cached_property
    def _circuit_bus(self) -> dict[str, int]:
        rows = {bus.id: i for i, bus in enumerate(self.run.buses)}
        return {c: rows[bus.id] for c, bus in bus_of_circuit(self.site).items()}

    def amps(self, point_id: str) -> Pair | None:
        """Amps of both legs at a limit point, None where there is no such point. [A]"""
        row = self._row_of.get(point_id)
        if row is None:
            return None
        return float(self.run.amps[row, 0, self.step]), float(self.run.amps[row, 1, self.step])

    def shares(self, point_id: str) -> dict[str, list[float]]:
        """Amps of each circuit along the total of each leg at a point; they sum to it. [A]"""
        if point_id not in self._shares:
            found: dict[str, list[float]] = {}
            for leg, place in (("L1", 0), ("L2", 1)):
                for part in self.run.who_was_on(point_id, leg, self.step):  # type: ignore[arg-type]
                    found.setdefault(part.circuit_id, [0.0, 0.0])[place] += part.amps_a
            self._shares[point_id] = found
        return self._shares[point_id]

    @cached_property
    def _shares(self) -> dict[str, dict[str, list[float]]]:
        return {}

    def limit(self, point_id: str) -> float | None:
        """The limit of each leg at a limit point. [A]"""
        row = self._row_of.get(point_id)
        return None if row is None else self.run.points[row].leg_rating_a

    def point_of(self, element_id: str) -> str | None:
        """The limit point that stands for a source, switch or panel."""
        wanted = (f"{kind}:{element_id}" for kind in _ELEMENT_KINDS)
        return next((point_id for point_id in wanted if point_id in self._row_of), None)

    def point_of_feeder(self, feeder: Feeder) -> str | None:
        """The tighter of a feeder's own limit points."""
        own = [f"{kind}:{feeder.id}" for kind in ("feeder_breaker", "feeder_conductor")]
        rated = [(self.limit(p) or 0.0, p) for p in own if p in self._row_of]
        return min(rated)[1] if rated else None

    def utility_out(self) -> bool:
        """Whether the utility is out in the middle of the step."""
        middle = self.at + timedelta(seconds=self.run.scenario.step_s / 2)
        return any(w.start <= middle < w.end for w in self.run.scenario.outages)

    def generator_feeds(self, generator_id: str) -> bool:
        """Whether some bus is fed by this set."""
        fed = fed_by(self.run, {generator_id})
        return bool(fed[:, self.step].any())

    def circuit_live(self, circuit_id: str) -> bool:
        """Whether the bus of a circuit has supply."""
        row = self._circuit_bus.get(circuit_id)
        return row is not None and bool(self.run.bus_live[row, self.step] >= 0.5)

    def circuit_on_generator(self, circuit_id: str) -> bool:
        """Whether a generator feeds the bus of a circuit."""
        row = self._circuit_bus.get(circuit_id)
        return row is not None and bool(on_generator(self.run, row)[self.step])

    def live(self, element_id: str) -> bool:
        """Whether a source, switch or panel has supply."""
        if element_id in self._bus_row:
            return bool(self.run.bus_live[self._bus_row[element_id], self.step] >= 0.5)
        if any(s.id == element_id for s in self.site.services):
            return not self.utility_out()
        if any(g.id == element_id for g in self.site.generators):
            return self.generator_feeds(element_id)
        return any(self.carries(f) for f in self.site.feeders_into.get(element_id, ()))

    def point_live(self, point: LimitPoint) -> bool:
        """Whether what is rated at a limit point has supply, or carried any amps in this step."""
        if max(self.amps(point.id) or NONE) > 0:
            return True
        if point.kind == "circuit_breaker":
            return self.circuit_live(point.element_id)
        if point.kind == "solar_breaker":
            panel = next(a.panel_id for a in self.site.solar if a.id == point.element_id)
            return self.live(panel)
        feeder = next((f for f in self.site.feeders if f.id == point.element_id), None)
        return self.live(feeder.from_id if feeder else point.element_id)

    def selected(self, switch_id: str) -> str:
        """The input a switch stands on."""
        if any(d.id == switch_id for d in self.site.double_throws):
            return "backed_up" if positions(self.run, switch_id)[self.step] else "normal"
        row = self._bus_row.get(switch_id)
        if row is not None and on_generator(self.run, row)[self.step]:
            return "generator"
        return "utility"

    def carries(self, feeder: Feeder) -> bool:
        """Whether a feeder is live and its switch, if any, stands on it."""
        if not self.live(feeder.from_id):
            return False
        return feeder.to_input is None or self.selected(feeder.to_id) == feeder.to_input

    def feeder_amps(self, feeder: Feeder) -> Pair:
        """Amps through a feeder, at its far end where it has no limit of its own. [A]"""
        if not self.carries(feeder):
            return NONE
        own = self.point_of_feeder(feeder) or self.point_of(feeder.to_id)
        return (self.amps(own) or NONE) if own else NONE
