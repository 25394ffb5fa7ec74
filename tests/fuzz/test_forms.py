"""Whatever is sent to whatever route, nothing breaks: no 5xx at once, and none on the pages shown afterwards.

What is refused is refused with a 4xx. A value that was taken must not spoil the pages that show it: after every form
that was accepted, the pages are opened again. `scripts/fuzz forms` does the same at length and with a limit on time.
"""

from __future__ import annotations

import os
import time
from typing import Any

import pytest
from hypothesis import given, strategies as st
from starlette.testclient import TestClient

from tests.fuzz.hostile import Attack, Target, attacks, many, targets

LEFT_OUT = {
    "GET /live/{program_id}/stream": "never ends; tests/fuzz/test_events.py attacks what it reads",
    "POST /phones/open": "listens on the network of the machine that runs the tests",
    "POST /phones/certificate": "makes keys, which takes its time; it has no fields",
}
"""Routes that are not attacked here, and why."""

PAGES = ("/", "/live", "/live/1", "/live/1/passes", "/live/1/review", "/live/1/aim", "/live/2", "/day",
         "/day/1", "/day/1/order", "/day/1/starts/1", "/skaters/1", "/skaters/1/log", "/skaters/1/log/attempts.csv",
         "/layouts/1", "/sheets/new", "/sheets/1",
         "/sheets/1/skate", "/rulebooks", "/phones")  # fmt: skip
SECONDS = float(os.environ.get("RECOUP_FUZZ_SECONDS", "0"))
"""Longest an answer may take; 0: not measured (in the tests nothing is)."""

ATTACKED = [one for one in targets() if str(one) not in LEFT_OUT]


def test_every_route_is_attacked_or_left_out_for_a_reason() -> None:
    assert {str(one) for one in targets()} >= set(LEFT_OUT)
    assert len(ATTACKED) + len(LEFT_OUT) == len(list(targets())) > 80


def send(client: TestClient, method: str, attack: Attack) -> int:
    """Send it; the status. A server error is raised by the client with its own traceback."""
    more: dict[str, Any] = {"params": attack.query}
    if attack.body is not None:
        more |= {"content": attack.body, "headers": {"content-type": attack.kind.encode("latin-1")}}
    elif method == "POST":
        more |= {"data": attack.form, "files": attack.files}
    began = time.perf_counter()
    answer = client.request(method, attack.path, **more)
    if SECONDS:
        assert time.perf_counter() - began < SECONDS, f"longer than {SECONDS} s: {method} {attack}"
    return answer.status_code


@pytest.mark.parametrize("target", ATTACKED, ids=str)
def test_nothing_that_is_sent_breaks_a_page(target: Target, used: TestClient) -> None:
    taken: list[Attack] = []

    @many(8)
    @given(st.data())
    def attacked(data: st.DataObject) -> None:
        attack = data.draw(attacks(target))
        status = send(used, target.method, attack)
        assert status < 500
        if target.method == "POST" and status < 400:
            taken.append(attack)

    attacked()
    for page in PAGES if taken else ():
        assert used.get(page).status_code < 500, f"{page} after {taken}"
