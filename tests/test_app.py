import gc
import threading

import pytest
from fastapi.testclient import TestClient

import server.app
from server.api.models import CircuitEdit, MoveEdit, PinEdit, ProblemDocument, ScenarioEdit
from server.app import create_app, load_demos
from server.domain.errors import InputError
from server.paths import DEMOS
from server.settings import Settings
from tests.builders import normal_only_site


@pytest.fixture
def url(tmp_path):
    return f"sqlite:///{tmp_path / 'sites.db'}"


@pytest.fixture
def built():
    """Builds planners and closes their databases afterwards."""
    made = []

    def build(*args, **kwargs):
        made.append(create_app(Settings(*args, **{"warm_up": False} | kwargs)))
        return made[-1]

    yield build
    for planner in made:
        planner.state.engine.dispose()


def test_an_empty_database_is_filled_with_every_demo(built, url):
    store = built(url).state.store
    assert len(store.list_sites()) == len(list(DEMOS.glob("*.json"))) > 0


def test_demos_are_loaded_once_and_not_after_they_were_deleted(built, url):
    store = built(url).state.store
    for card in store.list_sites():
        store.delete(card.id)
    assert built(url).state.store.list_sites() == ()


def test_demos_stay_away_from_a_database_in_use(built, url):
    built(url, load_demos=False).state.store.create(normal_only_site())
    assert len(built(url).state.store.list_sites()) == 1


def test_a_missing_demo_folder_is_no_failure(built, url, tmp_path, monkeypatch):
    monkeypatch.setattr(server.app, "DEMOS", tmp_path / "none")
    planner = built(url, load_demos=False)
    load_demos(planner.state.store)
    assert planner.state.store.list_sites() == ()


def test_a_database_that_cannot_be_opened_says_so(built, tmp_path):
    (tmp_path / "sites.db").mkdir()
    with pytest.raises(InputError, match="cannot be opened"):
        built(f"sqlite:///{tmp_path / 'sites.db'}")


def test_the_kernel_is_compiled_behind_the_first_page(built, url, monkeypatch):
    started, let_go = threading.Event(), threading.Event()

    def slow_warm_up():
        started.set()
        let_go.wait(10)

    monkeypatch.setattr(server.app, "warm_up", slow_warm_up)
    planner = built(url, warm_up=True)
    assert not started.is_set()
    with TestClient(planner, base_url="http://localhost") as client:
        assert started.wait(10)
        assert client.get("/sites").status_code == 200
    let_go.set()


def test_what_was_loaded_at_the_start_is_left_out_of_later_rounds(built, url, monkeypatch):
    monkeypatch.setattr(server.app, "warm_up", lambda: None)
    ready = built(url, warm_up=True)
    gc.unfreeze()
    with TestClient(ready, base_url="http://localhost"):
        assert ready.state.kernels_ready.wait(30)
        assert gc.get_freeze_count() > 100_000
    gc.unfreeze()


def test_a_planner_that_serves_has_built_its_routes_before_its_first_page(built, url, monkeypatch):
    with TestClient(built(url), base_url="http://localhost") as client:
        monkeypatch.setattr("fastapi.routing.create_model_field", None)
        assert client.get("/sites").status_code == 200
        assert client.get("/help/models").status_code == 200


def test_the_front_page_leads_to_the_sites(built, url):
    client = TestClient(built(url), base_url="http://localhost")
    answer = client.get("/")
    assert answer.status_code == 200
    assert "Tansy Bank Flower Farm" in answer.text


def test_openapi_has_examples_and_documents_every_failure(built, url):
    client = TestClient(built(url, load_demos=False), base_url="http://localhost")
    document = client.get("/api/v1/openapi.json").json()
    assert "ProblemDocument" in document["components"]["schemas"]
    move = document["paths"]["/api/v1/sites/{site_id}/move"]["post"]
    assert {"200", "400", "404", "409", "413", "422"} <= set(move["responses"])
    for name in ("MoveEdit", "PinEdit", "CircuitEdit", "ScenarioEdit", "ProblemDocument"):
        assert document["components"]["schemas"][name]["examples"]
    for item in document["paths"].values():
        for operation in item.values():
            assert operation["summary"]


@pytest.mark.parametrize("model", [MoveEdit, PinEdit, CircuitEdit, ScenarioEdit, ProblemDocument])
def test_every_example_is_what_it_shows(model):
    for example in model.model_json_schema()["examples"]:
        model.model_validate(example)
