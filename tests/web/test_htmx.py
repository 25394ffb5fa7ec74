"""The htmx vocabulary. Header names and values: the htmx 4 reference, request and response headers."""

from __future__ import annotations

import pytest
from starlette.requests import Request

from app.web import htmx

REQUESTS = [
    # headers, is it htmx, is a fragment enough
    ({}, False, False),
    ({"hx-request": "true"}, True, True),
    ({"hx-request": "true", "hx-request-type": "partial"}, True, True),
    ({"hx-request": "true", "hx-request-type": "full"}, True, False),
    ({"hx-request": "true", "hx-boosted": "true"}, True, False),
    ({"hx-request": "true", "hx-history-restore-request": "true"}, True, False),
    ({"hx-request": "false"}, False, False),
    ({"hx-request-type": "partial"}, False, False),
]


def request(headers: dict[str, str]) -> Request:
    """A request with these headers."""
    return Request(
        {"type": "http", "headers": [(name.encode(), value.encode()) for name, value in headers.items()]}
    )


@pytest.mark.parametrize(("headers", "is_htmx", "fragment"), REQUESTS)
def test_what_a_request_says(headers: dict[str, str], is_htmx: bool, fragment: bool) -> None:
    assert htmx.is_htmx(request(headers)) is is_htmx
    assert htmx.wants_fragment(request(headers)) is fragment


def test_a_finished_form_leads_on_with_and_without_scripts() -> None:
    plain = htmx.go_to(request({}), "/layout/1")
    assert (plain.status_code, plain.headers["location"]) == (303, "/layout/1")
    scripted = htmx.go_to(request({"hx-request": "true"}), "/layout/1")
    assert scripted.headers["hx-redirect"] == "/layout/1"
    assert "location" not in scripted.headers


def test_headers_have_one_home() -> None:
    """No other module or template spells a header of htmx."""
    from app.settings import PROJECT

    home = PROJECT / "app" / "web" / "htmx.py"
    others = [file for file in (PROJECT / "app").rglob("*.py") if file != home]
    assert [
        str(file) for file in others if "HX-" in file.read_text().replace('"Vary": "HX-Request', "")
    ] == []
