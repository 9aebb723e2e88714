"""What a running planner is told: where its data lies and where it listens."""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass

from server.domain.errors import InputError

LOOPBACK_NAMES = ("127.0.0.1", "localhost", "[::1]")
DEFAULT_PORT = 8400


def is_loopback(host: str) -> bool:
    """Whether this address can be reached from this computer alone.

    >>> is_loopback("127.0.0.1"), is_loopback("localhost"), is_loopback("0.0.0.0")
    (True, True, False)
    """
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


@dataclass(frozen=True)
class Settings:
    """Settings of one server.

    ``trusted_hosts`` are the names a request may address it by, without port. ``max_body_bytes``
    bounds everything that is sent to it; it leaves room for a site file and its form.

    Raises
    ------
    InputError   When it would listen beyond this computer, or the port is none.
    """

    database_url: str
    host: str = "127.0.0.1"
    port: int = DEFAULT_PORT
    load_demos: bool = True
    warm_up: bool = True
    trusted_hosts: tuple[str, ...] = LOOPBACK_NAMES
    max_body_bytes: int = 6_000_000

    def __post_init__(self) -> None:
        if not is_loopback(self.host):
            raise InputError(
                f"Threebus does not listen on {self.host or 'an empty address'}: it has no sign-in "
                "yet, so anybody who reached it could change your sites. Use 127.0.0.1.",
                field="host",
            )
        if not 1 <= self.port <= 65_535:
            raise InputError("The port must be from 1 to 65535.", field="port")

    @property
    def address(self) -> str:
        """The address to open in a browser."""
        host = f"[{self.host}]" if ":" in self.host.strip("[]") else self.host
        return f"http://{host}:{self.port}"
