"""Serving the planner: taking the port, answering until told to stop, and ending at once."""

from __future__ import annotations

import errno
import logging
import os
import socket
import sys

import typer
import uvicorn

from server.app import create_app
from server.domain.errors import InputError
from server.settings import Settings

INTERRUPTED = 130
"""Exit code of what Ctrl-C ended, as shells have it."""
_LAST_ANSWERS_S = 1
"""What answers under way are given once the planner is told to stop. [s]"""


class _Server(uvicorn.Server):
    """A server that ends without complaint."""

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        # Answers are cut off on purpose from here on, which is nothing to complain of.
        logging.getLogger("uvicorn.error").setLevel(logging.CRITICAL)
        await super().shutdown(sockets)


def serve(settings: Settings) -> None:
    """Build the planner, take the port, print the address, and answer until Ctrl-C."""
    listener = _listener(settings)
    with listener:
        planner = create_app(settings)
        config = uvicorn.Config(
            planner,
            log_level="warning",
            access_log=False,
            server_header=False,
            proxy_headers=False,
            timeout_graceful_shutdown=_LAST_ANSWERS_S,
        )
        typer.echo(f"Threebus is at {settings.address} (Ctrl-C stops it).")
        server = _Server(config)
        try:
            server.run(sockets=[listener])
        except KeyboardInterrupt:
            _leave_at_once()
        # An interrupt that comes as the last answer goes out is taken, and raised by nobody.
        if server.started:
            _leave_at_once()


def _leave_at_once() -> None:
    """End now, whatever is still being worked out.

    Python would wait for every thread that answers a request, and a thousand draws take minutes.
    Nothing is lost: an edit is committed before it is answered, and a run is kept nowhere.
    """
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(INTERRUPTED)


def _listener(settings: Settings) -> socket.socket:
    """A socket already bound and listening, so that the address printed is one that answers."""
    host = settings.bound
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        listener = socket.socket(family, socket.SOCK_STREAM)
    except OSError as error:
        raise _not_here(host) from error
    try:
        if sys.platform != "win32":
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind((host, settings.port))
        listener.listen(128)
    except OSError as error:
        listener.close()
        if error.errno == errno.EADDRNOTAVAIL:
            raise _not_here(host) from error
        raise InputError(
            f"Port {settings.port} cannot be taken: {error.strerror}. Threebus may be running "
            "already; otherwise choose another with --port.",
            field="port",
        ) from error
    return listener


def _not_here(host: str) -> InputError:
    return InputError(f"This computer has no address {host}. Use --host 127.0.0.1.", field="host")
