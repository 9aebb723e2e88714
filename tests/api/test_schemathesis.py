"""Everything the API documents, tried with what fits its description and with what does not."""

from pathlib import Path

import pytest
import schemathesis
from fastapi import FastAPI
from hypothesis import HealthCheck, given, settings
from schemathesis import GenerationMode
from schemathesis.specs.openapi.checks import positive_data_acceptance

from server.api import router
from server.app import create_app
from server.settings import LOOPBACK_NAMES, Settings
from tests.builders import double_throw_site

# What fits the description can still contradict itself (two circuits in one space, a panel fed by
# nothing): refusing that with 422 is right, so acceptance is not asked for.
EXCLUDED = [positive_data_acceptance]
# Nothing is timed here: a slow machine is not a failure, an answer that never comes is.
HUNG_S = 300
BOUNDED = settings(
    max_examples=10, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck)
)


def documented() -> list[tuple[str, str]]:
    """Path and method of every operation."""
    api = FastAPI()
    api.include_router(router)
    return [(path, method) for path, item in api.openapi()["paths"].items() for method in item]


OPERATIONS = documented()
MODES = [GenerationMode.POSITIVE, GenerationMode.NEGATIVE]


@pytest.fixture(scope="module")
def planner(tmp_path_factory):
    folder: Path = tmp_path_factory.mktemp("schemathesis")
    url = f"sqlite:///{folder / 'sites.db'}"
    names = (*LOOPBACK_NAMES, "testserver")
    planner = create_app(Settings(url, load_demos=False, warm_up=False, trusted_hosts=names))
    yield planner
    planner.state.engine.dispose()


@pytest.fixture(scope="module")
def schema(planner):
    return schemathesis.openapi.from_asgi("/api/v1/openapi.json", planner)


@pytest.mark.parametrize(
    ("path", "method", "mode"),
    [
        (path, method, mode)
        for path, method in OPERATIONS
        for mode in MODES
        if mode is GenerationMode.POSITIVE or "{" in path or method != "get"
    ],
)
def test_no_request_breaks_the_api(schema, path, method, mode):
    operation = schema[path][method]

    @BOUNDED
    @given(case=operation.as_strategy(generation_mode=mode))
    def try_it(case):
        case.call_and_validate(excluded_checks=EXCLUDED, timeout=HUNG_S)

    try_it()


@pytest.mark.parametrize("mode", MODES, ids=lambda mode: mode.value)
@pytest.mark.parametrize(("path", "method"), [o for o in OPERATIONS if "{site_id}" in o[0]])
def test_no_request_about_a_real_site_breaks_the_api(planner, schema, path, method, mode):
    store = planner.state.store
    operation = schema[path][method]
    answers = {int(code) for code in operation.definition.raw["responses"]}

    @BOUNDED
    @given(case=operation.as_strategy(generation_mode=mode))
    def try_it(case):
        cards = store.list_sites()
        stored = store.get(cards[0].id) if cards else store.create(double_throw_site())
        site = stored.site
        real = {"site_id": stored.id}
        if site.circuits:
            real["circuit_id"] = site.circuits[0].id
        if site.scenarios:
            real["scenario_id"] = site.scenarios[0].id
        for name in case.path_parameters:
            case.path_parameters[name] = real.get(name, case.path_parameters[name])
        if isinstance(case.body, dict) and "revision" in case.body:
            case.body["revision"] = stored.revision
        answer = case.call(timeout=HUNG_S)
        assert answer.status_code in answers, answer.text

    try_it()
