import pytest

from server.domain.errors import InputError
from server.settings import Settings

URL = "sqlite:///sites.db"


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "::1", "[::1]", "127.8.8.8"])
def test_loopback_is_taken(host):
    assert Settings(URL, host=host).host == host


@pytest.mark.parametrize(
    "host", ["0.0.0.0", "::", "", "192.168.1.4", "example.org", "localhost.example.org", "1"]
)
def test_any_other_bind_is_refused_with_the_reason(host):
    with pytest.raises(InputError, match="no sign-in yet") as caught:
        Settings(URL, host=host)
    assert caught.value.field == "host"


@pytest.mark.parametrize("port", [0, -1, 65_536])
def test_an_impossible_port_is_refused(port):
    with pytest.raises(InputError, match="1 to 65535"):
        Settings(URL, port=port)


@pytest.mark.parametrize(
    ("host", "address"),
    [("127.0.0.1", "http://127.0.0.1:8400"), ("::1", "http://[::1]:8400")],
)
def test_the_address_can_be_opened(host, address):
    assert Settings(URL, host=host).address == address


def test_settings_do_not_change():
    with pytest.raises(AttributeError):
        Settings(URL).port = 1
