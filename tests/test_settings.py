import pytest

from server.domain.errors import InputError
from server.settings import Settings

URL = "sqlite:///sites.db"


@pytest.mark.parametrize(
    ("host", "bound", "name"),
    [
        ("127.0.0.1", "127.0.0.1", "127.0.0.1"),
        ("127.0.0.2", "127.0.0.2", "127.0.0.2"),
        ("localhost", "localhost", "localhost"),
        ("LOCALHOST", "localhost", "localhost"),
        ("::1", "::1", "[::1]"),
        ("[::1]", "::1", "[::1]"),
        ("0:0:0:0:0:0:0:1", "::1", "[::1]"),
    ],
)
def test_loopback_is_taken_and_answers_to_its_own_name(host, bound, name):
    settings = Settings(URL, host=host)
    assert settings.bound == bound
    assert settings.address == f"http://{name}:8400"
    assert name in settings.names


@pytest.mark.parametrize(
    "host",
    [
        "0.0.0.0",
        "::",
        "",
        "192.168.1.4",
        "example.org",
        "localhost.example.org",
        "1",
        "127.1",
        "[127.0.0.1]",
        "[localhost]",
        "::1%lo",
        "::ffff:127.0.0.1",
        "127.0.0.1 ",
        "127.0.0.1:80",
    ],
)
def test_any_other_bind_is_refused_with_the_reason(host):
    with pytest.raises(InputError, match="no sign-in yet") as caught:
        Settings(URL, host=host)
    assert caught.value.field == "host"


@pytest.mark.parametrize("port", [0, -1, 65_536])
def test_an_impossible_port_is_refused(port):
    with pytest.raises(InputError, match="1 to 65535"):
        Settings(URL, port=port)


def test_settings_do_not_change():
    with pytest.raises(AttributeError):
        Settings(URL).port = 1
