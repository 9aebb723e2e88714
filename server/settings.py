"""What a running planner is told: where its data lies and where it listens."""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass

from server.domain.errors import InputError

LOOPBACK_NAMES = ("127.0.0.1", "localhost", "[::1]")
DEFAULT_PORT = 8400


def loopback(host: str) -> str | None:
    """The plain form of an address that reaches this computer alone; None for any other.

    >>> [loopback(host) for host in ("127.0.0.2", "[::1]", "LocalHost", "0.0.0.0", "[127.0.0.1]")]
    ['127.0.0.2', '::1', 'localhost', None, None]
    """
    if host.lower() == "localhost":
        return "localhost"
    bracketed = host.startswith("[") and host.endswith("]")
    try:
        if bracketed or ":" in host:
            address: ipaddress.IPv4Address | ipaddress.IPv6Address
            address = ipaddress.IPv6Address(host[1:-1] if bracketed else host)
            plain = address.scope_id is None and address.ipv4_mapped is None
        else:
            address, plain = ipaddress.IPv4Address(host), True
    except ValueError:
        return None
    return str(address) if plain and address.is_loopback else None


@dataclass(frozen=True)
class Settings:
    """Settings of one server.

    ``trusted_hosts`` are the names a request may address it by, without port, besides ``host``.
    ``max_body_bytes`` bounds everything that is sent to it; it leaves room for a site file and its
    form.

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
        if loopback(self.host) is None:
            raise InputError(
                f"Threebus does not listen on {self.host or 'an empty address'}: it has no sign-in "
                "yet, so anybody who reached it could change your sites. Use 127.0.0.1.",
                field="host",
            )
        if not 1 <= self.port <= 65_535:
            raise InputError("The port must be from 1 to 65535.", field="port")

    @property
    def bound(self) -> str:
        """The address to listen on, as a socket takes it."""
        return loopback(self.host) or self.host

    @property
    def served_name(self) -> str:
        """The name of this server in an address and in a Host header."""
        return f"[{self.bound}]" if ":" in self.bound else self.bound

    @property
    def names(self) -> frozenset[str]:
        """Every name a request may address it by."""
        return frozenset((*self.trusted_hosts, self.served_name))

    @property
    def address(self) -> str:
        """The address to open in a browser."""
        return f"http://{self.served_name}:{self.port}"
