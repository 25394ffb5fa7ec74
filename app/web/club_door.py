"""The door of a club: one public name, https by a proxy on the same machine, several workers behind it.

The laptop's own door stays what it was: on loopback, for whoever sits at the machine (or comes by an SSH tunnel), and
there one is the coach. What the proxy passes on arrives at a second port, and whoever arrives there is a stranger
until paired, whatever the request says of itself. So a proxy that passes on a wrong Host header lets nobody in.
"""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlsplit

from app.domain.words import say
from app.errors import InputError


@dataclass(frozen=True, slots=True)
class PublicDoor:
    """The public name (`recoup.example.org`, with a port where it is not the usual one), its scheme, our port."""

    scheme: str
    host: str
    port: int


def public_door(address: str, port: int) -> PublicDoor | None:
    """The door behind that public address; None: there is none. Raises InputError."""
    if not address:
        return None
    said = urlsplit(address)
    if said.scheme not in ("https", "http") or not said.netloc or said.path.strip("/") or "@" in said.netloc:
        raise InputError("address", f"{address!r} given; expected such as https://recoup.example.org")
    return PublicDoor(said.scheme, said.netloc.lower(), port)


class ClubDoor:
    """In place of the phones' door: open as long as Recoup runs, or never."""

    def __init__(self, address: str) -> None:
        self._address = address.rstrip("/")
        self.after = 0

    @property
    def is_open(self) -> bool:
        """Whether phones can come in."""
        return bool(self._address)

    @property
    def is_proxied(self) -> bool:
        """It is neither opened nor closed from a page."""
        return True

    def addresses(self) -> tuple[str, ...]:
        """Where a phone finds us."""
        return (self._address,) if self._address else ()

    async def open(self) -> None:
        """Raises InputError: that is done by whoever starts the server."""
        if not self._address:
            raise InputError(
                "address",
                say(
                    "with several workers phones come in by a public address; give it with --address when starting"
                ),
            )

    async def close(self) -> None:
        """Closed by stopping the server, or in the proxy."""
