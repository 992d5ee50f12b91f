"""Starts the bench: binds the address, prints the way in, opens the browser, serves until told."""

from __future__ import annotations

import asyncio
import socket
import webbrowser
from collections.abc import Callable
from typing import Any

import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

from fitcheck.bench.app import make_app
from fitcheck.bench.asking import Bench
from fitcheck.bench.guard import Entry
from fitcheck.source import BadInput, Problem

LOCAL = "127.0.0.1"
USUAL_PORT = 8771
SECONDS_TO_ASK = 10.0
MOST_AT_ONCE = 128
MOST_WAITING = 64
_MOST_OF_A_HEAD = 32 * 1024


class _Prompt(H11Protocol):
    """Ends a connection on which nothing whole is asked in good time."""

    def connection_made(self, transport: Any) -> None:
        """Start the clock."""
        super().connection_made(transport)
        self._clock = self.loop.call_later(SECONDS_TO_ASK, self._late)

    def _late(self) -> None:
        if self.cycle is None and not self.transport.is_closing():
            self.transport.close()

    def connection_lost(self, exc: Exception | None) -> None:
        """Stop the clock."""
        self._clock.cancel()
        super().connection_lost(exc)


def bound(address: str, port: int, *, exactly: bool) -> socket.socket:
    """A socket at an address; another port where the usual one is taken and none was asked for."""
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    for wanted in (port,) if exactly else (port, 0):
        made = socket.socket(family, socket.SOCK_STREAM)
        try:
            made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            made.bind((address, wanted))
            made.listen(MOST_WAITING)
        except (OSError, OverflowError) as error:
            made.close()
            why = getattr(error, "strerror", None) or str(error)
            last = Problem(
                f"the bench can't listen at {address}, port {wanted}: {str(why).lower()}",
                None,
                "give another with --port, or an address of this machine",
            )
        else:
            return made
    raise BadInput([last])


def hosts_of(address: str, port: int) -> frozenset[str]:
    """What browsers call a bound address."""
    if address == LOCAL:
        return frozenset(f"{name}:{port}" for name in (LOCAL, "localhost"))
    return frozenset({f"[{address}]:{port}" if ":" in address else f"{address}:{port}"})


def serve(
    make: Callable[[Entry], Bench],
    sockets: list[socket.socket],
    entry: Entry,
    say: Callable[[str], None],
    *,
    browse: bool,
) -> None:
    """Serve until the keyboard's interrupt, or until the owner shuts the bench."""
    bench = make(entry)
    config = uvicorn.Config(
        make_app(bench),
        http=_Prompt,
        ws="none",
        lifespan="off",
        log_level="critical",
        access_log=False,
        server_header=False,
        date_header=False,
        proxy_headers=False,
        limit_concurrency=MOST_AT_ONCE,
        timeout_keep_alive=30,
        timeout_graceful_shutdown=2,
        h11_max_incomplete_event_size=_MOST_OF_A_HEAD,
    )
    server = uvicorn.Server(config)
    address = f"http://{LOCAL}:{entry.port}/enter?token={entry.token}"
    try:
        say(f"The bench is open at {address}")
        say("It serves this machine alone. Ctrl-C shuts it; what was kept stays in the file.")
        if browse:
            webbrowser.open(address)
        asyncio.run(server.serve(sockets=sockets))
    except KeyboardInterrupt:
        pass
    finally:
        bench.aside.close()
        if "jobs" in bench.more:
            bench.more["jobs"].close()
