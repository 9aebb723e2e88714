"""Inputs that once broke something, each held to a plain answer."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from pydantic import ValidationError
from sqlalchemy import event
from typer.testing import CliRunner

from server.cli import BAD_INPUT, app
from server.domain.behaviour import Stage, Zone
from server.domain.edits import put_scenario
from server.domain.errors import SiteFileError
from server.domain.site import Place, Site
from server.domain.supply import DoubleThrow, FuelPoint, Generator
from server.domain.wiring import MAX_APPLIANCES
from server.exchange.sitefile import read_site_file, write_site_file
from server.rules.check import check_site
from server.rules.demand.ratings import devices_ahead
from server.simulate.builtin import builtin_scenarios
from server.simulate.run import simulate
from server.store.sites import SiteStore
from tests.builders import (
    appliance,
    circuit,
    double_throw_site,
    feeder,
    normal_only_site,
    panel,
    scenario,
    with_parts,
)
from tests.planner import one_planner, planner
from tests.web.conftest import form_in

__all__ = ["one_planner", "planner"]


@pytest.fixture
def browser(planner: FastAPI) -> TestClient:
    return TestClient(planner, base_url="http://127.0.0.1:8400", follow_redirects=False)


def test_export_never_writes_over_the_database(store: SiteStore, database_url: str):
    file = database_url.removeprefix("sqlite:///")
    made = store.create(double_throw_site())
    arguments = ["export", made.id, file, "--force", "--database", database_url]
    answer = CliRunner().invoke(app, arguments)
    assert answer.exit_code == BAD_INPUT
    assert "is a database" in answer.output
    assert store.get(made.id).site == made.site


def test_export_asks_before_it_replaces_a_file(store: SiteStore, database_url: str, tmp_path):
    made = store.create(double_throw_site())
    target = tmp_path / "mine.json"
    target.write_text("mine")
    arguments = ["export", made.id, str(target), "--database", database_url]
    assert CliRunner().invoke(app, arguments).exit_code == BAD_INPUT
    assert target.read_text() == "mine"
    assert CliRunner().invoke(app, [*arguments, "--force"]).exit_code == 0
    assert target.read_text().startswith("{")


@pytest.mark.parametrize(
    "field",
    [
        "zones.999999999.id",
        "outages.999999999.start",
        "weather",
        "outages.a.a.start",
        f"outages.{'9' * 5000}.start",
        "outages." + "a." * 900 + "a",
        "behaviour.0.x",
    ],
)
@pytest.mark.parametrize("form", ["settings", "scenario", "appliance"])
def test_odd_field_names_get_a_plain_answer(browser: TestClient, field: str, form: str):
    site = put_scenario(double_throw_site(scenarios=()), scenario(id="day"))
    made = browser.app.state.store.create(site)
    circuit = next(c for c in site.circuits if c.appliances)
    address = {
        "settings": "settings",
        "scenario": "scenarios/day/edit",
        "appliance": f"circuits/{circuit.id}/appliances/{circuit.appliances[0].id}",
    }[form]
    answer = browser.post(f"/sites/{made.id}/{address}", data={"revision": "1", field: "1"})
    assert answer.status_code in {303, 422}
    assert len(answer.content) < 500_000


def test_minute_of_a_site_without_a_panel_is_not_found(browser: TestClient):
    made = browser.app.state.store.create(Site(name="e", scenarios=(scenario(id="day"),)))
    assert browser.get(f"/sites/{made.id}/scenarios/day/minute").status_code == 404


@pytest.mark.parametrize(
    "make",
    [
        lambda: scenario(start=datetime(9999, 12, 31, 12)),
        lambda: Zone(id="z", name="Z", loss_btuh_per_f=1e-200),
        lambda: Zone(id="z", name="Z", loss_btuh_per_f=300, time_constant_h=1e-200),
        lambda: Zone(id="z", name="Z\x00", loss_btuh_per_f=300),
        lambda: Stage(minutes=600, share=1, cycle_on_s=1e-17, cycle_off_s=1e-17),
        lambda: with_points((0, 100), (1, 0)),
        lambda: with_points((0, 1), (1e-170, 10_000)),
    ],
)
def test_figures_that_cannot_be_computed_with_are_refused(make):
    with pytest.raises(ValidationError):
        make()


def with_points(*points: tuple[float, float]) -> Generator:
    pairs = tuple(FuelPoint(load_kw=load, rate_per_h=rate) for load, rate in points)
    return Generator(id="g", name="G", rated_kw=20, fuel_points=pairs)


def test_run_that_would_not_fit_in_memory_is_refused_at_once(browser: TestClient):
    loads = tuple(appliance(f"a{i}", 10) for i in range(60))
    circuits = tuple(
        circuit(
            f"c{i}",
            "main",
            i + 1,
            appliances=tuple(a.model_copy(update={"id": f"{a.id}-{i}"}) for a in loads),
        )
        for i in range(33)
    )
    fortnight = scenario(id="long", span_h=336, step_s=10)
    site = with_parts(
        normal_only_site(),
        panels=(panel("main", spaces=42),),
        circuits=circuits,
        scenarios=(fortnight,),
    )
    made = browser.app.state.store.create(site)
    answer = browser.get(f"/api/v1/sites/{made.id}/scenarios/long/run")
    assert answer.status_code == 422
    assert "too large to run" in answer.text
    assert browser.get(f"/sites/{made.id}").status_code == 422


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        ("Well\u202epump", "Wellpump"),
        ("\u2066Well\u2069 pump\u200f", "Well pump"),
        ("We\u200bll\ufeff pu\u00admp", "Well pump"),
        ("Well\n\npump\u2028north", "Well pump north"),
        ("Well\u200d pump", "Well pump"),
        ("پمپ چاه می\u200cشود", "پمپ چاه می\u200cشود"),
        ("Pump 👩\u200d🔧", "Pump 👩\u200d🔧"),
        ("Pu" + "\u0323\u0330\u20dd" * 20 + "mp", "Pu" + "\u0323\u0330\u20dd" * 2 + "mp"),
        ("é" + "\u0323\u200b\u0330" * 20, "é" + "\u0323\u0330" * 3),
        ("\u05e9\u05bc\u05c1\u05b8\u0591", "\u05e9\u05bc\u05c1\u05b8\u0591"),
    ],
)
def test_a_name_keeps_only_what_can_be_seen(given: str, kept: str):
    read = circuit("a", "main", 1, name=given).name
    assert read == kept
    assert circuit("a", "main", 1, name=read).name == kept


@pytest.mark.parametrize(
    "name", ["\u200b", " \u202e\u2066 ", "\u3164\u2800", "\n", "a\x7f", "\x9b1m"]
)
def test_a_name_of_nothing_or_of_controls_is_refused(name: str):
    with pytest.raises(ValidationError):
        circuit("a", "main", 1, name=name)


@pytest.mark.parametrize(
    "zone",
    [
        "localtime",
        "posixrules",
        "posix/America/Denver",
        "right/America/Denver",
        "Factory",
        "../../etc/passwd",
        "/etc/localtime",
        "America",
        "America/../America/Denver",
        "America/Denver\x00",
        "America/Denver\n",
        "tzdata.zi",
        "",
        "9",
    ],
)
def test_a_time_zone_that_is_no_place_is_refused_in_words(zone: str):
    with pytest.raises(ValidationError, match="This time zone is not known"):
        Place(time_zone=zone)


def test_a_form_that_cannot_be_written_comes_back_with_what_was_typed(browser: TestClient):
    made = browser.app.state.store.create(
        put_scenario(double_throw_site(scenarios=()), scenario(id="day"))
    )

    def forbid(connection, _record, _proxy):
        connection.execute("PRAGMA query_only = ON")

    event.listen(browser.app.state.engine, "checkout", forbid)
    form = browser.get(f"/sites/{made.id}/settings")
    assert form.status_code == 200
    typed = form_in(form.text, f"/sites/{made.id}/settings") | {"name": "Typed with care"}
    answer = browser.post(f"/sites/{made.id}/settings", data=typed)
    assert answer.status_code == 503
    assert 'value="Typed with care"' in answer.text
    assert "nothing you typed is lost" in answer.text
    gone = browser.post(f"/sites/{made.id}/delete")
    assert gone.status_code == 503
    assert "Nothing was saved by this step" in gone.text
    program = browser.delete(f"/api/v1/sites/{made.id}")
    assert (program.status_code, program.json()["status"]) == (503, 503)
    assert browser.get(f"/sites/{made.id}/circuits").status_code == 200


def large_site(*, appliances: int, note: str = "") -> Site:
    """A house of one panel with this many appliances, up to 60 on a circuit."""
    circuits = tuple(
        circuit(
            f"c{i}",
            "main",
            i + 1,
            note=note,
            appliances=tuple(
                appliance(f"a{i}-{j}", 1, note=note) for j in range(min(60, appliances - 60 * i))
            ),
        )
        for i in range(-(-appliances // 60))
    )
    return with_parts(normal_only_site(), panels=(panel("main", spaces=84),), circuits=circuits)


def test_a_site_of_more_appliances_than_the_pages_carry_is_refused_in_words():
    assert large_site(appliances=MAX_APPLIANCES)
    with pytest.raises(ValidationError, match=r"at most 2,000 appliances; this one has 2,001"):
        large_site(appliances=MAX_APPLIANCES + 1)


def test_a_site_is_not_kept_once_no_site_file_could_carry_it_away(store: SiteStore):
    made = store.create(normal_only_site())
    grown = large_site(appliances=MAX_APPLIANCES, note="n" * 2000)
    with pytest.raises(SiteFileError, match="larger than 5 MB"):
        store.save(made.id, grown, base_revision=1, label="Grow")
    with pytest.raises(SiteFileError, match="larger than 5 MB"):
        store.create(grown)
    assert store.get(made.id) == made


@pytest.mark.parametrize("letters", range(1720, 1728))
def test_every_site_that_is_kept_can_be_written_as_a_file(store: SiteStore, letters: int):
    site = large_site(appliances=MAX_APPLIANCES, note="n" * letters)
    try:
        made = store.create(site)
    except SiteFileError:
        with pytest.raises(SiteFileError):
            write_site_file(with_parts(site, note="n" * 200))
        return
    assert read_site_file(write_site_file(store.get(made.id).site)) == site


def test_a_supply_of_many_diamonds_is_walked_once():
    """Twenty double-throws in a row, each fed twice from the panel above: 2 to the 20 ways."""
    throws = tuple(DoubleThrow(id=f"t{i}", name=f"T{i}", rating_a=60) for i in range(20))
    feeders = [feeder("grid", "main")]
    for i, throw in enumerate(throws):
        above = f"p{i - 1}" if i else "main"
        feeders += [feeder(above, throw.id, side) for side in ("normal", "backed_up")]
        feeders.append(feeder(throw.id, f"p{i}"))
    site = with_parts(
        normal_only_site(),
        panels=(panel("main"), *(panel(f"p{i}") for i in range(20))),
        feeders=tuple(feeders),
        double_throws=throws,
        scenarios=(scenario(),),
    )
    assert devices_ahead(site, "p19") == (site.services[0].main_a,)
    assert check_site(site).demand
    for ready in builtin_scenarios(site, start=date(2026, 1, 1)):
        assert simulate(site, ready).limits


def test_a_document_sent_as_no_json_and_a_seed_beyond_reading_are_refused_in_words(
    browser: TestClient,
):
    made = browser.app.state.store.create(double_throw_site())
    sent = browser.put(f"/api/v1/sites/{made.id}", content=b'{"revision": 1}')
    assert sent.status_code == 422
    assert "sent as application/json" in sent.json()["detail"]
    path = f"/api/v1/sites/{made.id}/scenarios/{made.site.scenarios[0].id}/run"
    asked = browser.get(path, params={"seed": "9" * 5000})
    assert asked.status_code == 422
    assert "too long" in asked.json()["detail"]
