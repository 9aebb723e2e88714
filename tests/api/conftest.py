import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from server.domain.site import Site
from server.exchange.sitefile import write_site_file
from tests.builders import double_throw_site
from tests.planner import one_planner, planner

__all__ = ["one_planner", "planner"]


@pytest.fixture
def client(planner: FastAPI) -> TestClient:
    return TestClient(planner, base_url="http://127.0.0.1:8400/api/v1/")


@pytest.fixture
def add(client: TestClient):
    """Stores a site through the API and gives what was saved."""

    def stored(site: Site | None = None) -> dict:
        data = write_site_file(site or double_throw_site())
        answer = client.post("sites", content=data)
        assert answer.status_code == 201, answer.text
        return answer.json()

    return stored
