"""The policy over HTTP: made in the background, found again after each tap, small enough, silent where it must be."""

from __future__ import annotations

import json
import time
from typing import Any

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from app import engine
from tests.conftest import Knock

MOST_BYTES = 300_000
"""The issue's limit for a usual layout."""


@pytest.fixture(scope="module", autouse=True)
def compiled_loops() -> None:
    """On a fresh checkout the loops are compiled first, which takes longer than any wait here."""
    engine.warm()


@pytest.fixture
def laptop(demo_app: FastAPI, knock: Knock) -> TestClient:
    """The laptop's own browser, at the demo."""
    return knock(demo_app)


def start(laptop: TestClient, kind: str = "run-through") -> str:
    """Address of a new program from the demo's first layout."""
    answer = laptop.post("/live", data={"layout_id": 1, "kind": kind, "event": "Invented Cup"})
    return str(answer.headers["location"])


def here(laptop: TestClient, live: str) -> dict[str, Any]:
    """Where the program stands, once the policy is made."""
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline:
        said: dict[str, Any] = laptop.get(f"{live}/policy/here").json()
        if said["version"] or said["mode"] not in ("advice", "silent"):
            return said
        time.sleep(0.05)
    raise AssertionError("no policy within a minute")


def policy(laptop: TestClient, live: str, version: str) -> dict[str, Any]:
    """The policy itself."""
    said: dict[str, Any] = laptop.get(f"{live}/policy/{version}").json()
    return said


def test_a_policy_is_made_and_small(laptop: TestClient) -> None:
    live = start(laptop)
    version = here(laptop, live)["version"]
    answer = laptop.get(f"{live}/policy/{version}")
    packed = int(answer.headers["content-length"])
    assert answer.headers["content-encoding"] == "gzip"
    assert packed <= MOST_BYTES
    assert len(answer.content) > packed
    assert json.loads(answer.content)["version"] == version


def test_a_tap_leads_to_the_node_that_the_policy_names(laptop: TestClient) -> None:
    live = start(laptop)
    place = here(laptop, live)
    said = policy(laptop, live, place["version"])
    pad = said["pads"][said["rows"][0][0]]
    sends = next(one for one in pad["sends"] if " lost-" in one)
    lead = said["rows"][0][7 + pad["sends"].index(sends)]
    laptop.post(f"{live}/pass", data={"number": 1, "tap": sends, "event_id": "one"})
    behind = here(laptop, live)
    assert (behind["version"], behind["node"]) == (place["version"], lead - 1)
    assert behind["cents"] == said["cents"][said["rows"][0][1]][pad["sends"].index(sends)]


def test_what_is_not_in_the_policy_makes_a_new_one(laptop: TestClient) -> None:
    live = start(laptop)
    first = here(laptop, live)
    laptop.post(f"{live}/pass", data={"number": 1, "tap": "typed", "code": "1T+1T+1T", "event_id": "one"})
    assert laptop.get(f"{live}/policy/here").json()["version"] is None
    again = here(laptop, live)
    assert again["version"] != first["version"]
    assert again["node"] == 0


def test_a_policy_made_anew_leaves_the_one_a_page_was_just_told_of(laptop: TestClient) -> None:
    """Used to be: the page asked for a policy that was gone by then, and its browser reported an error."""
    live = start(laptop)
    first = here(laptop, live)
    laptop.post(f"{live}/pass", data={"number": 1, "tap": "typed", "code": "1T+1T+1T", "event_id": "one"})
    assert here(laptop, live)["version"] != first["version"]
    assert policy(laptop, live, first["version"])["version"] == first["version"]


def test_a_policy_with_advice_is_not_given_out_once_advice_is_hidden(laptop: TestClient) -> None:
    live = start(laptop)
    version = here(laptop, live)["version"]
    laptop.post(f"{live}/hide", data={"event_id": "one"})
    assert laptop.get(f"{live}/policy/{version}").status_code == 404
    assert here(laptop, live)["mode"] == "silent"


def test_a_competition_without_leave_gets_no_advice_in_its_policy(laptop: TestClient) -> None:
    live = start(laptop, "competition")
    place = here(laptop, live)
    said = policy(laptop, live, place["version"])
    assert place["mode"] == said["mode"] == "silent"
    assert said["lines"] == [None]
    assert set(said["texts"]) == set()
    assert all(pad["swap"] is None for pad in said["pads"])
    text = json.dumps(said)
    assert "Keep the plan" not in text
    assert "more expected" not in text


def test_a_stopped_program_has_no_policy(laptop: TestClient) -> None:
    live = start(laptop)
    laptop.post(f"{live}/hurt", data={"event_id": "one"})
    assert here(laptop, live)["mode"] == "stopped"
    assert here(laptop, live)["version"] is None


def test_a_policy_nobody_keeps_is_said_to_be_gone(laptop: TestClient) -> None:
    answer = laptop.get(f"{start(laptop)}/policy/0123456789ab")
    assert answer.status_code == 404
    assert "ask for the place anew" in answer.json()["error"]
