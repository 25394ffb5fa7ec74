"""The phones' door: a second listening socket of the same process, open only while the coach wants it."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import Callable
from contextlib import suppress
from ipaddress import ip_address
from typing import Protocol

EVERYWHERE = "0.0.0.0"  # that is its purpose; strangers see the pairing page only
PROBE = ("192.0.2.1", 9)  # an address reserved for documentation (RFC 5737): nothing is ever sent there


class Listener(Protocol):
    """What the door needs of a server."""

    started: bool
    should_exit: bool

    async def open(self) -> None:
        """Serve until `should_exit`."""

    @property
    def port(self) -> int:
        """Where it listens."""

    @property
    def scheme(self) -> str:
        """http or https."""


MakeListener = Callable[[str, int], Listener]


class PhoneDoor:
    """Closed at first. `after`: the laptop's own port; the phones get the first free one behind it."""

    def __init__(self, make: MakeListener, *, port: int = 0, after: int = 8000) -> None:
        self._make = make
        self._wanted = port
        self.after = after
        self._listener: Listener | None = None
        self._task: asyncio.Task[None] | None = None

    @property
    def is_proxied(self) -> bool:
        """It is opened and shut from a page."""
        return False

    @property
    def is_open(self) -> bool:
        """Can phones reach us now?"""
        return self._task is not None and not self._task.done()

    @property
    def port(self) -> int | None:
        """The phones' port, None while closed."""
        return self._listener.port if self._listener is not None and self.is_open else None

    async def open(self) -> None:
        """Open it; nothing happens when it is open already. Raises InputError when no port is free."""
        if self.is_open:
            return
        listener = self._make(EVERYWHERE, self._wanted or self.after + 1)
        self._listener, self._task = listener, asyncio.create_task(listener.open())
        while not listener.started and self.is_open:
            await asyncio.sleep(0.01)

    async def close(self) -> None:
        """Shut it; streams to phones end."""
        if self._listener is None or self._task is None:
            return
        self._listener.should_exit = True
        await asyncio.gather(self._task, return_exceptions=True)
        self._listener = self._task = None

    def addresses(self) -> tuple[str, ...]:
        """Where a phone finds us, most likely first; empty while closed or without a network."""
        port, listener = self.port, self._listener
        if port is None or listener is None:
            return ()
        return tuple(f"{listener.scheme}://{name}:{port}" for name in own_addresses())


def own_addresses() -> tuple[str, ...]:
    """This machine's IPv4 addresses in the network, the one of the default route first."""
    found = [_default_route()]
    with suppress(OSError):  # some machines do not know their own name
        found += [str(info[4][0]) for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)]
    usable = (name for name in found if name and not ip_address(name).is_loopback)
    return tuple(dict.fromkeys(usable))


def _default_route() -> str:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(PROBE)
        except OSError:
            return ""
        return str(probe.getsockname()[0])
