"""Is this request addressed to us, and does a writing request come from our own pages?

Two attacks are refused here. A foreign web page may point a name of its own at 127.0.0.1 (DNS rebinding): the Host
header must therefore be a loopback name or the very address the connection arrived at, never any other name. And a
foreign page may send a form to us: every unsafe request must come from our own origin, as the browser itself says in
`Sec-Fetch-Site` and `Origin` (WHATWG Fetch, "Origin header"; W3C Fetch Metadata). Of reading requests a foreign page
may cause one kind only: a person follows a link to us. It may not load us as a picture, a script, a frame or a stream.
"""

from __future__ import annotations

from dataclasses import dataclass
from ipaddress import ip_address

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
LOOPBACK_NAMES = frozenset({"localhost", "127.0.0.1", "[::1]"})


@dataclass(frozen=True)
class Verdict:
    """Let it pass, or refuse it with a reason in plain words."""

    passes: bool
    reason: str = ""


PASS = Verdict(True)


def name_of(host: str) -> str:
    """The Host header without its port: `[::1]:8000` -> `[::1]`."""
    if host.startswith("["):
        return host[: host.find("]") + 1].lower()
    return host.partition(":")[0].lower()


def is_loopback(address: str) -> bool:
    """Is this the address of the machine itself (IPv4 carried in IPv6 included)?"""
    try:
        parsed = ip_address(address)
    except ValueError:
        return False
    mapped = getattr(parsed, "ipv4_mapped", None)
    return (mapped or parsed).is_loopback


def judge_host(host: str, arrived_at: str) -> Verdict:
    """Is `host` (the Host header) a name of ours? `arrived_at`: the address the connection came in on."""
    name = name_of(host)
    if name in LOOPBACK_NAMES:
        return PASS
    if arrived_at and name.strip("[]") == arrived_at.lower() and _is_address(arrived_at):
        return PASS
    return Verdict(False, f"Recoup does not answer to {name!r}; use the address shown where it was started.")


def judge_public(host: str, public: str) -> Verdict:
    """Is `host` the public name of a club's door? Compared whole, with its port where it has one."""
    if host.lower() == public:
        return PASS
    return Verdict(
        False, f"Recoup answers to {public!r} here, and was asked for {host!r}; look at the proxy."
    )


def judge_write(
    method: str, scheme: str, host: str, origin: str | None, fetch_site: str | None, *, changes: bool = True
) -> Verdict:
    """May this request change something? Reading requests always may pass here.

    `changes`: whether there is anything to change at that address. There, a sender that says nothing of itself is
    refused: every browser of today says it. Where there is not (the engine), programs need not say it.
    """
    if method in SAFE_METHODS:
        return PASS
    # 'none' is the user's own doing: typed address, bookmark. Everything else but same-origin is a foreign page.
    if fetch_site is not None and fetch_site not in {"same-origin", "none"}:
        return Verdict(False, f"a page from elsewhere ({fetch_site}) tried to change something here.")
    if origin is not None and origin.lower() != f"{scheme}://{host}".lower():
        return Verdict(False, f"a page from {origin!r} tried to change something here.")
    if changes and origin is None and fetch_site is None:
        return Verdict(
            False,
            "nothing says where this request comes from; a program sends the header 'Origin' with the address of"
            " Recoup, a browser from before 2020 has to be renewed.",
        )
    return PASS


def judge_read(method: str, fetch_site: str | None, mode: str | None, destination: str | None) -> Verdict:
    """May this reading request pass? `mode`, `destination`: `Sec-Fetch-Mode` and `-Dest`, as browsers send them.

    A foreign page would learn nothing from the answer, but could set costly work going, or frame a page.
    """
    if method not in SAFE_METHODS or fetch_site in {None, "same-origin", "none"}:
        return PASS
    if mode == "navigate" and destination == "document":
        return PASS
    return Verdict(False, f"a page from elsewhere ({fetch_site}) tried to load something from here.")


def is_laptop(client: str, host: str) -> bool:
    """Does the request come from the machine itself, through its own name?"""
    return is_loopback(client) and name_of(host) in LOOPBACK_NAMES


def _is_address(text: str) -> bool:
    try:
        ip_address(text)
    except ValueError:
        return False
    return True
