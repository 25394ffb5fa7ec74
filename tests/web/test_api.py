"""The engine over HTTP: same contract as the command line, every refusal names its field, everything served here."""

from __future__ import annotations

import json
import re

import pytest
from starlette.testclient import TestClient

from app.settings import PROJECT
from app.web.routes.api import ADVISE_EXAMPLE, MOST_BYTES, SCORE_EXAMPLE


def test_score_answers_the_example_of_the_contract(laptop: TestClient) -> None:
    # The figures of the contract's own example: 3Lz<+3T with grades 1 2 2 1 3 in the second half, CCoSp4
    # with fewer than the needed features, one component at factor 2.67, one fall.
    answered = laptop.post("/api/score", json=SCORE_EXAMPLE)
    assert answered.status_code == 200
    got = answered.json()
    assert [(one["code"], one["base_value"], one["goe"], one["score"]) for one in got["elements"]] == [
        ("3Lz<+3T", 9.81, 0.78, 10.59),
        ("CCoSp4", 3.5, 0.7, 4.2),
    ]
    totals = ("element_score", "component_score", "deductions", "total")
    assert tuple(got[name] for name in totals) == (14.79, 21.36, -1.0, 35.15)


def changed(example: dict[str, object], **changes: object) -> str:
    """The example with some fields changed; None takes a field out."""
    return json.dumps({name: value for name, value in (example | changes).items() if value is not None})


PASSES = ADVISE_EXAMPLE["passes"]
REFUSED = [
    # name, address, body, what the message must name
    ("not JSON", "score", "{", "request: not JSON"),
    ("nothing", "score", "", "request: not JSON"),
    ("a list", "score", "[]", "request: list given; expected one JSON object"),
    ("not a number", "score", '{"falls": NaN}', "NaN is not a number of JSON"),
    ("deep", "score", "[" * 100_000, "request: not JSON"),
    ("not text", "score", b"\xff\xfe{", "request: not JSON"),
    ("half a sign", "score", r'{"elements": [{"code": "\ud800"}]}', "request: half a sign"),
    ("half a sign for a name", "advise", r'{"\udfff": 1}', "request: half a sign"),
    (
        "unknown edition",
        "score",
        changed(SCORE_EXAMPLE, edition="isu/1999"),
        "edition: no rulebook called 'isu/1999'",
    ),
    ("no edition", "score", changed(SCORE_EXAMPLE, edition=None), "edition"),
    ("unknown field", "score", changed(SCORE_EXAMPLE, colour="red"), "colour"),
    ("bad code", "score", changed(SCORE_EXAMPLE, elements=[{"code": "9Q"}]), "elements"),
    (
        "unknown edition",
        "advise",
        changed(ADVISE_EXAMPLE, edition="none"),
        "edition: no rulebook called 'none'",
    ),
    (
        "pass without options",
        "advise",
        changed(ADVISE_EXAMPLE, passes=[{"planned": "3F", "options": []}]),
        "options",
    ),
    (
        "chances that do not sum to 1",
        "advise",
        changed(
            ADVISE_EXAMPLE,
            attempts={"3F+2T": [{"becomes": "3F", "chance": 0.5}], "3F": [{"becomes": "3F", "chance": 1}]},
        ),
        "attempts",
    ),
    ("option without an entry", "advise", changed(ADVISE_EXAMPLE, attempts={}), "3F+2T"),
    ("more done than boxes", "advise", changed(ADVISE_EXAMPLE, done=[{"code": "2A"}] * 9), "done"),
]


@pytest.mark.parametrize(
    ("verb", "body", "named"), [row[1:] for row in REFUSED], ids=[f"{row[1]}: {row[0]}" for row in REFUSED]
)
def test_bad_input_is_422_and_names_the_field(
    laptop: TestClient, verb: str, body: str | bytes, named: str
) -> None:
    answered = laptop.post(f"/api/{verb}", content=body)
    assert answered.status_code == 422
    assert list(answered.json()) == ["error"]
    assert named in answered.json()["error"]
    assert "\n" not in answered.json()["error"]


def test_too_long_a_request_is_not_even_read(laptop: TestClient) -> None:
    answered = laptop.post("/api/score", content=b" " * (MOST_BYTES + 1))
    assert answered.status_code == 413
    assert "send the programs one by one" in answered.json()["error"]


@pytest.mark.parametrize(
    ("method", "address", "status"), [("GET", "/api/score", 405), ("POST", "/api/nothing", 404)]
)
def test_other_errors_have_the_same_shape(laptop: TestClient, method: str, address: str, status: int) -> None:
    answered = laptop.request(method, address)
    assert answered.status_code == status
    assert list(answered.json()) == ["error"]


def test_the_description_names_every_field_of_both_contracts(laptop: TestClient) -> None:
    described = laptop.get("/api/openapi.json").json()
    for verb, example in (("score", SCORE_EXAMPLE), ("advise", ADVISE_EXAMPLE)):
        body = described["paths"][f"/api/{verb}"]["post"]["requestBody"]["content"]["application/json"]
        assert body["example"] == example
        assert set(example) <= set(body["schema"]["properties"])
        assert "$ref" not in json.dumps(body)
    assert set(described["paths"]) == {"/api/score", "/api/advise"}


def test_the_description_page_fetches_nothing_from_elsewhere(laptop: TestClient) -> None:
    shown = laptop.get("/api/docs").text
    fetched = re.findall(r'(?:src|href)="(?!data:)([^"]+)"', shown)
    assert fetched
    assert all(address.startswith("/") and not address.startswith("//") for address in fetched)
    for address in fetched:
        assert laptop.get(address).status_code == 200, f"{address}: run scripts/test.py, which puts it there"


def test_vendored_htmx_is_version_4() -> None:
    # The attribute names in the templates are those of htmx 4; its SSE extension is the one of version 4 as well.
    assert "4." in (PROJECT / "static/vendor/htmx/htmx.min.js").read_text()
    assert "hx-sse:connect" in (PROJECT / "static/vendor/htmx/hx-sse.min.js").read_text()
