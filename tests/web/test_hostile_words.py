"""Whatever somebody types is text on every page: a name full of markup stays a name (OWASP ASVS 5.0.0, 1.2.1)."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from starlette.testclient import TestClient

from app.storage.stores import Stores
from tests.storage.everything import fill

HOSTILE = "x1<script>alert(7)</script>\"'><img src=x onerror=alert(8)>{{ 7*191 }}"
"""Breaks out of text, of an attribute in either kind of quotes, and of a template, where one is not careful."""
RAW = ("<script>alert(7)", "<img src=x", "'><img", "\"'>", "1337")


@pytest.fixture
def pages(laptop: TestClient, stores: Stores) -> list[str]:
    """Pages that show something of a skater with a hostile name, hostile elements' words, days and phones."""
    skater = fill(stores, HOSTILE)
    stores.days.add(HOSTILE, "run-through", datetime.now(UTC))
    stores.devices.add(HOSTILE[:40], "hash", datetime.now(UTC))
    program, days = stores.live.recent(skater)[0].id, stores.days.all()
    sheet = stores.sheets.recent()[0].id
    layout = stores.layouts.of_skater(skater)[0].id
    return [
        *("/", "/live", "/day", "/phones", "/data", "/data/rulebooks", "/sheets/new", "/rulebooks"),
        *(
            f"/skaters/{skater}{path}"
            for path in ("", "/log", "/log/entries", "/log/table", "/trainer", "/layouts/new")
        ),
        *(f"/skaters/{skater}/layouts/new?copy={layout}", f"/skaters/{skater}/season"),
        *(f"/layouts/{layout}{path}" for path in ("", "/trainer", "/sturdier")),
        *(f"/live/{program}{path}" for path in ("", "/big", "/passes", "/review", "/aim")),
        *(f"/day/{day.id}{path}" for day in days for path in ("", "/order")),
        *(f"/sheets/{sheet}", f"/sheets/{sheet}/skate", f"/sheets/new?program={program}"),
        *(f"/data/skaters/{skater}", f"/data/skaters/{skater}/delete"),
        *(
            f"/data/{what}/delete"
            for what in (f"programs/{program}", f"layouts/{layout}", f"days/{days[0].id}")
        ),
    ]


def test_markup_in_a_name_is_text_everywhere(laptop: TestClient, pages: list[str]) -> None:
    shown = 0
    for page in pages:
        answer = laptop.get(page, follow_redirects=True)
        assert answer.status_code == 200, page
        assert [one for one in RAW if one in answer.text] == [], page
        shown += "&lt;script&gt;alert(7)" in answer.text
    assert shown > len(pages) // 2, "most of these pages show the name"


@pytest.mark.parametrize(
    ("address", "data"),
    [
        ("/skaters", {"name": HOSTILE * 20}),
        ("/live", {"layout_id": HOSTILE, "kind": "run-through"}),
        ("/day", {"name": "x", "kind": HOSTILE}),
        ("/pair/leave", {}),
        ("/language", {"language": HOSTILE, "back": "javascript:alert(7)"}),
    ],
)
def test_a_refusal_quotes_what_was_typed_as_text(
    laptop: TestClient, address: str, data: dict[str, str]
) -> None:
    answer = laptop.post(address, data=data)
    assert answer.status_code == 422
    assert [one for one in RAW if one in answer.text] == []


@pytest.mark.parametrize(
    "back", ["//evil.example", "https://evil.example/", "/\\evil.example", "javascript:alert(7)"]
)
def test_no_redirect_leads_elsewhere(laptop: TestClient, back: str) -> None:
    """OWASP ASVS 5.0.0, 3.7.2."""
    answer = laptop.post("/language", data={"language": "en", "back": back})
    assert answer.status_code == 303
    assert answer.headers["location"] == "/"
