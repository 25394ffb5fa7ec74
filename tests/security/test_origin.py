"""Whose name, whose page: every decision of the gate as a table.

What a browser sends: WHATWG Fetch Standard, "Origin header"; W3C Fetch Metadata Request Headers, "Sec-Fetch-Site".
"""

from __future__ import annotations

import pytest

from app.security.origin import is_laptop, is_loopback, judge_host, judge_read, judge_write, name_of

HOSTS = [
    # Host header, address the connection arrived at, passes?
    ("localhost:8000", "127.0.0.1", True),
    ("LOCALHOST", "127.0.0.1", True),
    ("127.0.0.1:8000", "127.0.0.1", True),
    ("[::1]:8000", "::1", True),
    ("192.168.7.20:8001", "192.168.7.20", True),
    ("[fe80::1]:8001", "fe80::1", True),
    # A name of somebody else's that points here: DNS rebinding.
    ("rebound.example", "127.0.0.1", False),
    ("rebound.example:8000", "192.168.7.20", False),
    ("localhost.rebound.example", "127.0.0.1", False),
    ("127.0.0.1.rebound.example", "127.0.0.1", False),
    ("192.168.7.21:8001", "192.168.7.20", False),
    ("testserver", "testserver", False),
    ("", "127.0.0.1", False),
    ("", "", False),
]


@pytest.mark.parametrize(("host", "arrived_at", "passes"), HOSTS)
def test_only_own_names_are_answered(host: str, arrived_at: str, passes: bool) -> None:
    verdict = judge_host(host, arrived_at)
    assert verdict.passes is passes
    assert passes or repr(name_of(host)) in verdict.reason


OURS = "http://localhost:8000"
WRITES = [
    # method, Origin, Sec-Fetch-Site, passes?
    ("POST", OURS, "same-origin", True),
    ("POST", OURS, None, True),
    ("POST", None, "same-origin", True),
    ("POST", None, "none", True),
    ("POST", None, None, False),  # says nothing of itself: no browser of today
    ("POST", OURS.upper(), "same-origin", True),
    ("POST", "http://evil.example", "cross-site", False),
    ("POST", "http://evil.example", None, False),
    ("POST", None, "cross-site", False),
    ("POST", None, "same-site", False),
    ("POST", "http://localhost:9000", None, False),  # another program's page on this machine
    ("POST", "https://localhost:8000", None, False),
    ("POST", "http://127.0.0.1:8000", None, False),
    ("POST", "null", None, False),  # a sandboxed frame, a local file
    ("POST", "null", "same-origin", False),
    ("POST", OURS, "cross-site", False),
    ("POST", OURS, "something-new", False),
    ("PUT", "http://evil.example", None, False),
    ("PATCH", None, "cross-site", False),
    ("DELETE", None, "cross-site", False),
    ("BREW", None, "cross-site", False),
    ("GET", None, "cross-site", True),
    ("HEAD", None, "cross-site", True),
    ("GET", "http://evil.example", None, True),
]


@pytest.mark.parametrize(("method", "origin", "fetch_site", "passes"), WRITES)
def test_only_own_pages_write(method: str, origin: str | None, fetch_site: str | None, passes: bool) -> None:
    assert judge_write(method, "http", "localhost:8000", origin, fetch_site).passes is passes


def test_where_nothing_can_be_changed_a_program_need_not_say_where_it_comes_from() -> None:
    assert judge_write("POST", "http", "localhost:8000", None, None, changes=False).passes
    assert not judge_write("POST", "http", "localhost:8000", "null", None, changes=False).passes


READS = [
    # Sec-Fetch-Site, -Mode, -Dest, passes?
    (None, None, None, True),
    ("same-origin", "cors", "empty", True),
    ("none", "navigate", "document", True),  # typed, or a bookmark
    ("cross-site", "navigate", "document", True),  # a link somebody follows
    ("cross-site", "navigate", "iframe", False),
    ("cross-site", "navigate", "object", False),
    ("cross-site", "no-cors", "image", False),
    ("cross-site", "no-cors", "script", False),
    ("cross-site", "cors", "empty", False),  # fetch and EventSource
    ("same-site", "cors", "empty", False),  # another program's page on this machine
    ("same-site", "no-cors", "image", False),
    ("cross-site", None, None, False),
]


@pytest.mark.parametrize(("fetch_site", "mode", "destination", "passes"), READS)
def test_a_foreign_page_may_lead_here_and_load_nothing(
    fetch_site: str | None, mode: str | None, destination: str | None, passes: bool
) -> None:
    assert judge_read("GET", fetch_site, mode, destination).passes is passes


LOOPBACKS = [
    ("127.0.0.1", True),
    ("127.8.9.1", True),
    ("::1", True),
    ("::ffff:127.0.0.1", True),
    ("192.168.1.2", False),
    ("::ffff:192.168.1.2", False),
    ("fe80::1", False),
    ("localhost", False),
    ("", False),
]


@pytest.mark.parametrize(("address", "expected"), LOOPBACKS)
def test_loopback_addresses(address: str, expected: bool) -> None:
    assert is_loopback(address) is expected


LAPTOPS = [
    ("127.0.0.1", "localhost:8000", True),
    ("::1", "[::1]:8000", True),
    ("127.0.0.1", "192.168.7.20:8001", False),  # through the network name even from here: treated as a phone
    ("192.168.7.33", "192.168.7.20:8001", False),
    ("192.168.7.33", "localhost:8001", False),  # a phone that lies about the name it called
    ("", "localhost", False),
]


@pytest.mark.parametrize(("client", "host", "expected"), LAPTOPS)
def test_who_counts_as_the_laptop(client: str, host: str, expected: bool) -> None:
    assert is_laptop(client, host) is expected
