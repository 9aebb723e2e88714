"""What the board says of harm that a press brings."""

from __future__ import annotations

from server.domain.catalogue import KINDS
from server.simulate.run import simulate
from server.web.board_edits import give_role
from server.web.board_harms import harm_brought
from tests.builders import backed_up_site, circuit, generator, scenario, with_parts

OUT = scenario("out", span_h=30, outage_h=(1, 29))


def house():
    """A set that carries an oxygen concentrator and a refrigerator through an outage of 28 h."""
    base = backed_up_site(generators=(generator(rated_kw=10),))
    device = KINDS["oxygen-concentrator"].appliance("device")
    box = KINDS["refrigerator"].appliance("box")
    bed = circuit("bed", "backed", 9, appliances=(device,), load_class="must_serve")
    kitchen = circuit("kitchen", "backed", 11, appliances=(box,), load_class="important")
    return with_parts(base, circuits=(*base.circuits, bed, kitchen), scenarios=(OUT,))


def said(circuit_id: str, role: str) -> tuple[str, ...]:
    site = house()
    edited = give_role(site, circuit_id, role).site
    return harm_brought(simulate(site, OUT), simulate(edited, OUT))


def test_a_device_that_somebody_needs_is_named_where_its_circuit_is_switched_off():
    (line,) = said("bed", "off")
    assert line.startswith(KINDS["oxygen-concentrator"].name)
    assert line.endswith("; before: not at all.")


def test_food_that_spoils_by_a_press_is_named_and_a_change_without_harm_says_nothing():
    (line,) = said("kitchen", "off")
    assert "food" in line
    assert said("kitchen", "on") == ()
    site = house()
    off = give_role(site, "bed", "off").site
    assert harm_brought(simulate(off, OUT), simulate(site, OUT)) == ()


def test_a_device_that_was_dark_from_the_start_and_is_dark_for_longer_is_told():
    """Dark for the minutes until a hand changes over, past its wait, then for the whole outage."""
    site = with_parts(house(), generators=(generator(rated_kw=10, start="by_hand"),))
    out = OUT.model_copy(update={"hand_start_min": 20})
    off = give_role(site, "bed", "off").site
    line = harm_brought(simulate(site, out), simulate(off, out))[0]
    assert line.startswith(f"{KINDS['oxygen-concentrator'].name} is without power for 28 h")
    assert "; before: " in line
    assert harm_brought(simulate(off, out), simulate(site, out)) == ()
