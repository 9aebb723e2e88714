"""Circuits are offered only where the wires that they need come."""

from __future__ import annotations

from server.advise.levers import levers_for
from server.simulate.run import simulate
from tests.builders import START, backed_up_site, circuit, scenario, with_parts


def test_no_circuit_of_120_v_is_moved_where_no_neutral_comes():
    """Of main's one-pole a and a two-pole kiln, the kiln alone may go behind two hots."""
    base = backed_up_site()
    site = with_parts(
        base,
        feeders=tuple(
            f.model_copy(update={"no_neutral": f.to_id == "backed"}) for f in base.feeders
        ),
        circuits=(
            base.circuit("a"),
            circuit("kiln", "main", 5, 7, load_w=2400, breaker_a=30),
            base.circuit("d"),
        ),
    )
    run = simulate(site, scenario())
    moves = {
        c.id: [x.to for x in levers_for(run, c.id, START) if x.kind == "move"]
        for c in site.circuits
    }
    assert moves == {"a": [], "kiln": ["backed"], "d": ["main"]}
