import asyncio

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from starlette.requests import Request

from server import failures, guard
from server.app import create_app
from server.settings import Settings

ORIGIN = "http://127.0.0.1:8400"


@pytest.fixture(scope="module")
def planner(tmp_path_factory):
    url = f"sqlite:///{tmp_path_factory.mktemp('guard') / 'sites.db'}"
    planner = create_app(Settings(url, load_demos=False, warm_up=False, max_body_bytes=1_000_000))

    @planner.get("/broken")
    @planner.get("/api/broken")
    def broken() -> None:
        raise RuntimeError("the secret inside")

    @planner.post("/length")
    async def length(request: Request) -> int:
        return len(await request.body())

    yield planner
    planner.state.engine.dispose()


@pytest.fixture
def client(planner):
    return TestClient(planner, base_url=ORIGIN, follow_redirects=False)


@pytest.mark.parametrize(
    "host", ["127.0.0.1:8400", "localhost", "LOCALHOST:8400", "[::1]:8400", "127.0.0.1"]
)
def test_its_own_names_are_answered(client, host):
    assert client.get("/api/v1/sites", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "127.0.0.1.evil.example",
        "localhost.evil.example:8400",
        "testserver",
        "",
        "[::1",
        "127.0.0.1@evil.example",
        "192.168.0.2:8400",
    ],
)
def test_any_other_name_is_refused(client, host):
    answer = client.get("/api/v1/sites", headers={"host": host})
    assert answer.status_code == 400
    assert answer.json()["title"] == "The request cannot be read"


def test_two_host_headers_are_refused(planner):
    sent = []

    async def send(message):
        sent.append(message)

    async def receive():
        return {"type": "http.request", "body": b"", "more_body": False}

    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "GET",
        "scheme": "http",
        "path": "/sites",
        "raw_path": b"/sites",
        "query_string": b"",
        "root_path": "",
        "headers": [(b"host", b"127.0.0.1"), (b"host", b"evil.example")],
        "client": ("127.0.0.1", 1),
        "server": ("127.0.0.1", 8400),
    }
    asyncio.run(planner(scope, receive, send))
    assert sent[0]["status"] == 400


@pytest.mark.parametrize(
    "headers",
    [
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"sec-fetch-site": "cross-site", "origin": ORIGIN},
        {
            "sec-fetch-site": "cross-site",
            "sec-fetch-mode": "navigate",
            "sec-fetch-dest": "document",
        },
        {"sec-fetch-site": "nonsense"},
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:9000"},
        {"origin": "https://127.0.0.1:8400"},
    ],
)
def test_a_change_sent_by_another_site_is_refused(client, headers):
    assert client.post("/length", content=b"x", headers=headers).status_code == 403


@pytest.mark.parametrize(
    "headers",
    [{}, {"origin": ORIGIN}, {"sec-fetch-site": "same-origin"}, {"sec-fetch-site": "none"}],
)
def test_a_change_of_its_own_page_or_of_a_program_is_taken(client, headers):
    answer = client.post("/length", content=b"xyz", headers=headers)
    assert (answer.status_code, answer.json()) == (200, 3)


def test_a_link_from_another_site_opens_but_nothing_is_embedded(client):
    link = {
        "sec-fetch-site": "cross-site",
        "sec-fetch-mode": "navigate",
        "sec-fetch-dest": "document",
    }
    assert client.get("/sites", headers=link).status_code == 200
    for dest in ("iframe", "image", "empty"):
        assert client.get("/sites", headers=link | {"sec-fetch-dest": dest}).status_code == 403
    no_cors = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "no-cors"}
    assert client.get("/api/v1/sites", headers=no_cors).status_code == 403


def chunks(total: int, size: int = 50_000):
    for _ in range(0, total, size):
        yield b"x" * size


def test_a_large_body_is_refused_by_its_declared_length(client):
    answer = client.post("/length", content=b"x" * 1_000_001)
    assert answer.status_code == 413
    assert "larger than 1 MB" in answer.text


def test_a_large_body_is_refused_while_it_streams_in(client):
    assert client.post("/length", content=chunks(1_000_000)).json() == 1_000_000
    assert client.post("/length", content=chunks(1_050_000)).status_code == 413
    answer = client.post("/api/v1/sites", content=chunks(2_000_000))
    assert answer.status_code == 413
    assert answer.headers["content-type"] == failures.PROBLEM_TYPE


def test_a_large_form_is_refused_while_it_streams_in(client):
    multipart = {"content-type": "multipart/form-data; boundary=b"}
    answer = client.post("/sites/open", content=chunks(2_000_000), headers=multipart)
    assert answer.status_code == 413


@pytest.mark.parametrize("length", ["-1", "1e3", "", "٣"])
def test_a_length_that_is_no_number_is_refused(client, length):
    headers = {"content-length": length.encode()}
    assert client.post("/length", content=b"", headers=headers).status_code == 400


@pytest.mark.parametrize("path", ["/sites", "/api/v1/sites", "/none", "/api/none", "/broken"])
def test_every_answer_carries_the_security_headers(client, path):
    headers = client.get(path).headers
    for name, value in guard.HEADERS.items():
        assert headers[name] == value
    assert headers["cache-control"] == "no-store"


def test_refusals_carry_the_security_headers_too(client):
    answer = client.get("/sites", headers={"host": "evil.example"})
    assert answer.headers["content-security-policy"] == guard.CONTENT_POLICY


def test_no_inline_script_or_style_is_allowed():
    assert "unsafe" not in guard.CONTENT_POLICY
    assert "default-src 'self'" in guard.CONTENT_POLICY
    assert "frame-ancestors 'none'" in guard.CONTENT_POLICY


@pytest.mark.parametrize(
    "path", ["/", "/sites", "/help", "/api/v1/sites", "/static/css/tokens.css", "/none"]
)
def test_head_is_answered_like_get_without_the_body(client, path):
    read, head = client.get(path), client.head(path)
    assert head.status_code == read.status_code != 405
    assert head.content == b""
    for name in ("content-type", "content-length", "content-security-policy"):
        assert head.headers.get(name) == read.headers.get(name)


def test_static_files_with_a_version_are_kept_for_long(client):
    path = "/static/css/tokens.css"
    assert client.get(path, params={"v": "1"}).headers["cache-control"] == guard.STATIC_VERSIONED
    assert client.get(path).headers["cache-control"] == "no-cache"
    missing = client.get("/static/none.css", params={"v": "1"})
    assert (missing.status_code, missing.headers["cache-control"]) == (404, "no-store")


@pytest.mark.parametrize(
    "path",
    ["/static/../server/cli.py", "/static/%2e%2e/server/cli.py", "/static/..%2fserver/cli.py"],
)
def test_static_serves_nothing_beside_its_folder(client, path):
    assert client.get(path).status_code == 404


def test_an_unexpected_error_shows_no_traceback(client, caplog):
    page = client.get("/broken")
    assert page.status_code == 500
    assert page.headers["content-type"].startswith("text/html")
    problem = client.get("/api/broken")
    assert problem.json()["status"] == 500
    for answer in (page, problem):
        assert "secret" not in answer.text
        assert "Traceback" not in answer.text
    assert "the secret inside" in caplog.text


def test_an_error_after_the_answer_began_is_not_hidden():
    async def app(scope, receive, send):
        await send({"type": "http.response.start", "status": 200, "headers": []})
        raise RuntimeError("late")

    async def ignore(message):
        pass

    wrapped = failures.NoTraceback(app)
    with pytest.raises(RuntimeError, match="late"):
        asyncio.run(wrapped({"type": "http", "method": "GET", "path": "/"}, ignore, ignore))


def test_websockets_are_closed(planner):
    sent = []

    async def send(message):
        sent.append(message)

    async def receive():
        return {"type": "websocket.connect"}

    guarded = guard.TrustedHosts(planner, names=("127.0.0.1",))
    asyncio.run(guarded({"type": "websocket", "path": "/", "headers": []}, receive, send))
    assert sent == [{"type": "websocket.close", "code": 1003}]


def test_there_are_no_pages_that_load_scripts_from_elsewhere(client):
    for path in ("/docs", "/redoc", "/openapi.json"):
        assert client.get(path).status_code == 404


def test_failures_work_without_a_template():
    app = FastAPI()
    failures.install(app)
    answer = TestClient(app).get("/none")
    assert answer.status_code == 404
    assert "<h1>Nothing is here</h1>" in answer.text
    assert 'href="/sites"' in answer.text
