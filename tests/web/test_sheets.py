"""The pages of an official sheet: bring in, choose, check, forget. Figures of ISU sheets; people invented."""

from __future__ import annotations

import html
import re

from starlette.testclient import TestClient

from app.storage.stores import Stores
from tests.reference.sheet_mapping import edition_name
from tests.review.published import as_pdf, as_text
from tests.review.test_sheet_import import SHEETS

SHEET = next(s for s in SHEETS if s["season"] == "2025/26" and s["segment"] == "free")
BELONGS = {"edition": edition_name(SHEET), "skater_id": "0", "program_id": "0", "note": "Invented Open"}


def hidden(page: str, place: int = 0) -> str:
    """The sheet that a form of the page carries."""
    return html.unescape(re.findall(r'name="sheet" value="([^"]*)"', page)[place])


def test_from_a_pdf_to_a_right_sheet(laptop: TestClient) -> None:
    pdf = as_pdf([SHEET, SHEETS[0]])
    read = laptop.post("/sheets/read", data=BELONGS, files={"file": ("sheet.pdf", pdf, "application/pdf")})
    assert read.status_code == 200
    assert "Sheets found: 2." in read.text
    assert "Mira EXAMPLE" in read.text
    kept = laptop.post("/sheets", data=BELONGS | {"sheet": hidden(read.text)}, files={"file": b""})
    assert kept.status_code == 303
    page = laptop.get(kept.headers["location"]).text
    assert "The sheet is right" in page
    assert f"{SHEET['total']:.2f}" in page
    assert "EXAMPLE" not in page


def test_a_wrong_sum_is_shown_with_its_words_and_limits(laptop: TestClient) -> None:
    wrong = SHEET | {"total": SHEET["total"] + 1}
    read = laptop.post("/sheets/read", data=BELONGS | {"text": as_text([wrong])}, files={"file": b""})
    kept = laptop.post("/sheets", data=BELONGS | {"sheet": hidden(read.text)}, files={"file": b""})
    page = laptop.get(kept.headers["location"]).text
    assert "Rows to ask about: 1" in page
    assert "Could you please check the segment score?" in page
    assert "24 hours" in page
    assert "second-hand" in page


def test_no_name_reaches_the_database(laptop: TestClient, stores: Stores) -> None:
    read = laptop.post("/sheets/read", data=BELONGS | {"text": as_text([SHEET])}, files={"file": b""})
    laptop.post("/sheets", data=BELONGS | {"sheet": hidden(read.text)}, files={"file": b""})
    (record,) = stores.sheets.recent()
    assert "EXAMPLE" not in repr(record)
    assert record.note == "Invented Open"
    assert record.skater_id is None


def test_an_unread_line_is_shown_before_anything_is_kept(laptop: TestClient, stores: Stores) -> None:
    text = as_text([SHEET]).replace(SHEET["elements"][2]["code"], "9Zz", 1)
    page = laptop.post("/sheets/read", data=BELONGS | {"text": text}, files={"file": b""}).text
    assert "Lines that could not be read" in page
    assert "9Zz" in page
    assert "Row 3 is missing" in page
    assert stores.sheets.recent() == ()


def test_nothing_given_and_no_pdf_are_said_in_words(laptop: TestClient) -> None:
    for file in (b"", b"\x89PNG\r\n\x1a\n\0\0", b"%PDF-1.4 broken"):
        answer = laptop.post("/sheets/read", data=BELONGS, files={"file": ("f", file)})
        assert answer.status_code == 422
        assert 'role="alert"' in answer.text


def test_what_never_was_a_sheet_is_refused(laptop: TestClient) -> None:
    half = '{"rows": [{"number": 1, "code": "2A", "info": "", "base": "much", "late": false}]}'
    for text in (
        "",
        "[]",
        "{}",
        '{"rows": [{}], "components": [], "detail": []}',
        half,
        "nonsense",
        "[" * 20_000,
    ):
        answer = laptop.post("/sheets", data=BELONGS | {"sheet": text}, files={"file": b""})
        assert answer.status_code == 422, text


def test_a_name_slipped_into_the_sheet_is_dropped(laptop: TestClient, stores: Stores) -> None:
    read = laptop.post("/sheets/read", data=BELONGS | {"text": as_text([SHEET])}, files={"file": b""})
    slipped = '{"name": "Mira EXAMPLE", ' + hidden(read.text)[1:]
    laptop.post("/sheets", data=BELONGS | {"sheet": slipped}, files={"file": b""})
    (record,) = stores.sheets.recent()
    assert "EXAMPLE" not in repr(record)


def test_another_rulebook_says_what_it_cannot_read(laptop: TestClient) -> None:
    """A rulebook without the element's value asks for another rulebook; it does not fail."""
    belongs = BELONGS | {"edition": "isu/2025-26/senior/women/free"}
    row = "1 5Lz 14.00 0.00 0 0 0 0 0 14.00"
    read = laptop.post("/sheets/read", data=belongs | {"text": row}, files={"file": b""})
    kept = laptop.post("/sheets", data=belongs | {"sheet": hidden(read.text)}, files={"file": b""})
    assert laptop.get(kept.headers["location"]).status_code == 200


def test_a_sheet_can_be_forgotten(laptop: TestClient, stores: Stores) -> None:
    read = laptop.post("/sheets/read", data=BELONGS | {"text": as_text([SHEET])}, files={"file": b""})
    kept = laptop.post("/sheets", data=BELONGS | {"sheet": hidden(read.text)}, files={"file": b""})
    address = kept.headers["location"]
    assert "Invented Open" in laptop.get("/sheets/new").text
    assert laptop.post(f"{address}/forget").status_code == 303
    assert laptop.get(address).status_code == 404
    assert stores.sheets.recent() == ()
