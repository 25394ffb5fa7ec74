"""Every error, from every layer, in the same shape: a page for people, a fragment for htmx, JSON for programs."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from app.errors import InputError, RecoupError, RulebookError
from app.security.headers import PROTECTION
from app.security.pairing import TooManyTries
from app.storage.stores import NotStored
from app.web.error_pages import OUR_FAULT

Knock = Callable[..., TestClient]
SECRET = "the inside of the program"

RAISED: list[tuple[str, Exception, int, str]] = [
    (
        "input",
        InputError("edition", "'x' given; expected <one> of them"),
        422,
        "edition: 'x' given; expected <one> of them",
    ),
    ("not stored", NotStored("layout", 7), 404, "layout: nothing stored under 7"),
    ("too many", TooManyTries(30), 429, "wait 31 seconds"),
    ("rulebook", RulebookError("values/x.csv, row 3", "no number"), 500, "values/x.csv, row 3: no number"),
    ("ours", RecoupError("plain"), 500, "plain"),
    ("unexpected", ZeroDivisionError(SECRET), 500, OUR_FAULT),
]
KINDS = {
    "page": {"accept": "text/html"},
    "fragment": {"hx-request": "true", "accept": "*/*"},
    "json": {"accept": "*/*"},
}


@pytest.fixture
def failing(web_app: FastAPI) -> TestClient:
    """The app with a route for each error above."""
    for number, (_, error, _, _) in enumerate(RAISED):

        def fail(error: Exception = error) -> None:
            raise error

        web_app.router.add_api_route(f"/fail/{number}", lambda fail=fail: fail(), include_in_schema=False)
    return TestClient(
        web_app, base_url="http://localhost:8000", client=("127.0.0.1", 5), raise_server_exceptions=False
    )


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("number", range(len(RAISED)), ids=[row[0] for row in RAISED])
def test_every_error_has_its_shape(failing: TestClient, number: int, kind: str) -> None:
    _, _, status, message = RAISED[number]
    answered = failing.get(f"/fail/{number}", headers=KINDS[kind])
    assert answered.status_code == status
    assert {name: answered.headers[name] for name in PROTECTION} == PROTECTION
    assert SECRET not in answered.text
    if kind == "json":
        assert message in answered.json()["error"]
        return
    assert message.replace("<", "&lt;").replace(">", "&gt;").replace("'", "&#39;") in answered.text
    assert ("<!doctype html>" in answered.text) is (kind == "page")
    assert answered.text.count("<h1>") == 1


def test_a_page_that_is_not_there_leads_back(laptop: TestClient) -> None:
    answered = laptop.get("/nowhere")
    assert answered.status_code == 404
    assert 'href="/"' in answered.text


@pytest.mark.parametrize(
    ("method", "path", "data"),
    [
        ("GET", f"/live/{10**20}", None),
        ("GET", f"/layouts/{10**20}", None),
        ("GET", f"/skaters/{10**20}", None),
        ("POST", "/live", {"layout_id": str(10**20), "kind": "run-through"}),
        ("POST", "/skaters/1/elements/1", {"attempts": str(10**20), "landed": "0"}),
    ],
)
def test_a_number_no_table_can_hold_is_no_mistake_of_ours(
    demo_laptop: TestClient, method: str, path: str, data: dict[str, str] | None
) -> None:
    # These used to end in "Recoup made a mistake": the database refuses whole numbers beyond 64 bits.
    answered = demo_laptop.request(method, path, data=data)
    assert answered.status_code in (404, 422)


@pytest.mark.parametrize(
    ("referer", "back"),
    [
        ("http://testserver/skaters/1?x=2", "/skaters/1?x=2"),
        ("http://elsewhere/skaters/1", ""),
        ("http://testserver//elsewhere/x", "/elsewhere/x"),
        ("javascript:alert(1)", ""),
        ("", ""),
    ],
)
def test_an_error_leads_back_to_the_page_before_and_to_no_other_server(
    laptop: TestClient, referer: str, back: str
) -> None:
    # Used to be: the only way out was the first page, wherever one came from.
    host = laptop.base_url.netloc.decode()
    headers = {"accept": "text/html", "referer": referer.replace("testserver", host)}
    shown = laptop.get("/layouts/999", headers=headers).text
    links = re.findall(r'<a class="button" href="([^"]*)"', shown)
    assert links == ([back] if back else []) + ["/"]
