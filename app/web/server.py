"""Running the app: the laptop's own door, and the phones' door when it is opened."""

from __future__ import annotations

import asyncio
import errno
import gc
import socket
import sys
import webbrowser
from collections.abc import Generator, Iterable
from contextlib import contextmanager, nullcontext
from datetime import UTC, datetime

import uvicorn
from fastapi import FastAPI

from app import engine
from app.errors import InputError
from app.live.broadcast import Hub
from app.security import limits, origin
from app.security.certificate import Certificate
from app.settings import Settings
from app.storage.stores import open_stores
from app.web.patience import PatientProtocol
from app.web.phone_door import own_addresses

PORTS_TRIED = 20
GRACE_SECONDS = 2
RUBBISH = (10_000, 20, 50)
"""How much is made until the newest things, the newer ones, and all are looked through; see Python's `gc`."""
OTHER_RUNS = 3
"""The exit code when another server has the data folder and nothing was opened."""
LOOPBACK = "127.0.0.1"
EVERYWHERE = ("0.0.0.0", "::")  # compared with, never bound here
NO_SUCH_ADDRESS = {errno.EADDRNOTAVAIL, getattr(errno, "WSAEADDRNOTAVAIL", errno.EADDRNOTAVAIL)}


def bind(host: str, port: int) -> socket.socket:
    """A socket on `host`, on `port` or the next free one. Raises InputError when none of them is free."""
    for candidate in range(port, port + PORTS_TRIED) if port else (0,):
        bound = _try(host, candidate)
        if bound is not None:
            return bound
    raise InputError("port", f"{port} to {port + PORTS_TRIED - 1} are all taken; give another with --port")


def _try(host: str, port: int) -> socket.socket | None:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # Named as TCP, or the event loop leaves Nagle's delay on: 40 ms more for every answer.
    candidate = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if sys.platform != "win32":  # there the option means something else: sharing a port in use
        candidate.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        candidate.bind((host, port))
        candidate.listen(128)
    except PermissionError as error:
        candidate.close()
        raise InputError(
            "port", f"{port} is reserved for the system; give one above 1023 with --port"
        ) from error
    except OSError as error:
        candidate.close()
        if isinstance(error, socket.gaierror) or error.errno in NO_SUCH_ADDRESS:
            raise InputError("host", f"{host!r} is no address of this machine; try {LOOPBACK}") from error
        return None
    return candidate


class Door(uvicorn.Server):
    """One listening socket. Only the main door listens for Ctrl-C. With a certificate it speaks https."""

    def __init__(
        self, app: FastAPI, bound: socket.socket, *, main: bool, certificate: Certificate | None = None
    ) -> None:
        super().__init__(
            uvicorn.Config(
                app,
                http=PatientProtocol,
                h11_max_incomplete_event_size=limits.MOST_HEAD,
                limit_concurrency=limits.MOST_LINES,
                lifespan="on" if main else "off",
                log_level="warning",
                access_log=False,
                proxy_headers=False,
                server_header=False,
                timeout_graceful_shutdown=GRACE_SECONDS,
                ssl_certfile=certificate.certificate_file if certificate else None,
                ssl_keyfile=certificate.key_file if certificate else None,
            )
        )
        self._bound = bound
        self._main = main
        self._hub: Hub = app.state.hub

    @property
    def port(self) -> int:
        """The port it listens on."""
        return int(self._bound.getsockname()[1])

    @property
    def scheme(self) -> str:
        """http, or https with a certificate."""
        return "https" if self.config.is_ssl else "http"

    @contextmanager
    def capture_signals(self) -> Generator[None, None, None]:
        """The main door handles Ctrl-C; the other leaves it alone."""
        with super().capture_signals() if self._main else nullcontext():
            yield

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Stop serving; streams to screens end first, or closing would wait for them."""
        self._hub.hang_up()
        await super().shutdown(sockets)

    async def open(self) -> None:
        """Serve until told to stop."""
        await self.serve(sockets=[self._bound])


def already_running(process: int, address: str, settings: Settings) -> int:
    """A second start on one data folder: say where the first one is, and open it. 0 when it was opened."""
    who = f" (process {process})" if process else ""
    if not address:
        print(f"Recoup is just starting on {settings.data_dir}{who}. Try again in a moment.", flush=True)
        return OTHER_RUNS
    print(f"Recoup already runs on {settings.data_dir}{who}: {address}", flush=True)
    if not settings.open_browser:
        print("Use that one, or start this one on another folder with --data-dir.", flush=True)
        return OTHER_RUNS
    webbrowser.open(address)
    return 0


def serve(app: FastAPI, settings: Settings) -> int:
    """Run until Ctrl-C. Raises InputError when no port can be had."""
    bound = bind(settings.host, settings.port)
    asyncio.run(_run(app, settings, bound))
    return 0


async def _run(app: FastAPI, settings: Settings, bound: socket.socket) -> None:
    door = Door(app, bound, main=True)
    if settings.port not in (0, door.port):
        print(f"Port {settings.port} is taken; using {door.port}.", flush=True)
    app.state.phone_door.after = door.port
    waiting = asyncio.create_task(_greet(app, settings, door))
    set_aside = asyncio.create_task(asyncio.to_thread(_set_aside))
    await door.open()
    waiting.cancel()
    await set_aside


def _set_aside() -> None:
    """What the start has made stays as long as the server: looking through it for rubbish would hold up every tap.

    Nor is all that came later looked through so often: with a hundred programs that takes a tenth of a second.
    """
    engine.warm()
    gc.collect()
    gc.freeze()
    gc.set_threshold(*RUBBISH)


async def _greet(app: FastAPI, settings: Settings, door: Door) -> None:
    while not door.started:
        await asyncio.sleep(0.02)
    address = shown_address(settings.host, door.port)
    app.state.folder_lock.announce(address)
    print(f"Recoup is at {address}   (Ctrl-C stops it)", flush=True)
    if settings.lan:
        await app.state.phone_door.open()
    if settings.lan or not is_own(settings.host):
        hosts = own_addresses() if settings.host in EVERYWHERE else (settings.host,)
        direct = tuple(f"http://{host}:{door.port}" for host in hosts)
        await asyncio.to_thread(_invite, app, app.state.phone_door.addresses() or direct)
    if settings.open_browser:
        await asyncio.to_thread(webbrowser.open, f"{address}phones" if settings.lan else address)


def shown_address(host: str, port: int) -> str:
    """Where the laptop's own browser finds a door on that host and port."""
    shown = LOOPBACK if host in EVERYWHERE else host
    return f"http://{f'[{shown}]' if ':' in shown else shown}:{port}/"


def is_own(host: str) -> bool:
    """Does a door on `host` hear this machine only?"""
    return host == "localhost" or origin.is_loopback(host)


def _invite(app: FastAPI, addresses: Iterable[str]) -> None:
    """Say on the terminal how a phone comes in; the page /phones says it with a QR code."""
    with open_stores(app.state.database) as stores:
        code = app.state.pairing_desk.offer(stores.devices, datetime.now(UTC))
    for address in addresses:
        print(f"Phones: {address}/pair   code {code.spaced}, good once within ten minutes", flush=True)
