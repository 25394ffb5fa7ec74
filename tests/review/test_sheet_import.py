"""Official sheets read back from PDF, pasted text and tables.

Source of every figure: the sample of ISU "judges details per skater" sheets in tests/reference (public results,
seasons 2018/19 to 2025/26). The files are rendered by `published.py` in the
published order of columns; the people are invented.
"""

from __future__ import annotations

import gzip
import json
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from app.errors import InputError
from app.review.official import OfficialSheet, sheet_from_json, sheet_json
from app.review.pdf_lines import MOST_PAGES, lines_of_pdf
from app.review.sheet_import import MOST_BYTES, SheetReading, read_lines, read_text
from app.review.sheet_lines import LONGEST_LINE, Other, Summary, Unread, read_line
from tests.review import round_trip
from tests.review.published import as_pdf, as_text, picture_only

FILE = Path(__file__).parents[1] / "reference" / "sheets.jsonl.gz"
SHEETS: list[dict[str, Any]] = [
    json.loads(line) for line in gzip.decompress(FILE.read_bytes()).decode().splitlines()
]
Way = Callable[[list[dict[str, Any]]], SheetReading]


@pytest.mark.parametrize("first", range(0, len(SHEETS), 20))
def test_every_sample_sheet_comes_back_from_a_pdf(first: int) -> None:
    some = SHEETS[first : first + 20]
    assert round_trip.differences(some, round_trip.through_pdf(some)) == []


@pytest.mark.parametrize(
    "way",
    [
        round_trip.through_text,
        lambda some: round_trip.through_table(some, ","),
        lambda some: round_trip.through_table(some, ";"),
        lambda some: round_trip.through_table(some, "\t"),
    ],
    ids=["pasted", "commas", "semicolons with decimal commas", "tabs"],
)
def test_every_sample_sheet_comes_back_from_text(way: Way) -> None:
    for first in range(0, len(SHEETS), 60):
        some = SHEETS[first : first + 60]
        assert round_trip.differences(some, way(some)) == []


def test_a_pdf_written_column_by_column_is_read_by_rows() -> None:
    assert round_trip.differences(SHEETS[:8], round_trip.through_pdf(SHEETS[:8], by_column=True)) == []


def test_a_lost_mark_is_noticed() -> None:
    """The comparison itself can fail: one changed figure is a difference."""
    wrong = json.loads(json.dumps(SHEETS[:1]))
    wrong[0]["elements"][0]["judges"][0] = -5
    assert round_trip.differences(SHEETS[:1], round_trip.through_text(wrong)) != []


def test_a_row_that_cannot_be_read_is_shown_and_its_number_is_missing() -> None:
    """Nothing is guessed: the row comes back as text with the reason, and the sheet says which row it lacks."""
    text = as_text(SHEETS[:1]).replace("2 3F ", "2 3Q ", 1)
    reading = read_text(text)
    (line,) = reading.doubtful
    assert line.text.startswith("2 3Q ")
    assert "3Q" in line.why
    assert reading.sheets[0].sheet.gaps == (2,)


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("3 3Lz 5.90 0.59 1 1 1 1 7 6.49", "'7'"),
        ("3 3Lz 5.9 0.59 1 1 1 6.49", "base value"),
        ("3 3Lz+4Z 5.90 0.59 1 1 1 6.49", "4Z"),
        ("Composition 1.33 8.00 11.00 8.00 8.00", "off the scale"),
        ("12.30 14.50 99.00", "no order"),
        ("Deductions: somebody knows -1.00 more", "expected a kind"),
        ("1 " + "9.99 " * LONGEST_LINE, "signs in one line"),
    ],
)
def test_what_fits_no_column_is_unread_with_a_reason(line: str, why: str) -> None:
    found = read_line(line)
    assert isinstance(found, Unread)
    assert why in found.why


def test_a_judge_without_a_mark_is_a_dash_of_any_kind() -> None:
    for dash in ("-", "−", "–", "—"):
        found = (
            read_lines([f"1 2A 3.30 {dash}0.33 {dash}1 {dash} {dash}1 {dash}1 2.97"]).sheets[0].sheet.rows[0]
        )
        assert found.judges == (-1, None, -1, -1)
        assert found.goe == -33


def test_an_x_may_touch_its_base_value() -> None:
    for text in ("7 2A 3.63x 0.33 1 1 1 3.96", "7 2A 3.63 x 0.33 1 1 1 3.96"):
        row = read_lines([text]).sheets[0].sheet.rows[0]
        assert (row.late, row.base, row.score) == (True, 363, 396)


def test_titles_are_no_figures_and_a_name_with_digits_is_no_figure() -> None:
    assert isinstance(read_line("JUDGES DETAILS PER SKATER"), Other)
    found = read_line("12 Ana-Maria PRZYKLAD II AAA 7 101.50 = 51.25 + 51.25 - 1.00")
    assert isinstance(found, Summary)
    assert (found.rank, found.start, found.total, found.deductions) == (12, 7, 10150, -100)


def test_the_sheet_carries_no_name() -> None:
    """What is stored is the sheet; the name stands beside it, for choosing."""
    for found in round_trip.through_text(SHEETS[:4]).sheets:
        assert found.who.split()[0] in ("Mira", "Lis", "Ana-Maria", "Kim")
        kept = json.dumps(sheet_json(found.sheet))
        assert found.who.split()[0] not in kept
        assert found.who.split()[-1] not in kept


def test_a_sheet_survives_storage() -> None:
    for sheet in SHEETS[::50]:
        kept: OfficialSheet = round_trip.expected(sheet)
        assert sheet_from_json(json.loads(json.dumps(sheet_json(kept)))) == kept


@pytest.mark.parametrize(
    ("raw", "why"),
    [
        (b"hello", "begins with %PDF"),
        (b"%PDF-1.7\nnothing of the kind", "cannot be read"),
        (b"%PDF-" + b"0" * MOST_BYTES, "expected at most"),
    ],
)
def test_what_is_no_pdf_is_refused_in_words(raw: bytes, why: str) -> None:
    with pytest.raises(InputError, match=why):
        lines_of_pdf(raw)


def test_too_many_pages_are_refused() -> None:
    with pytest.raises(InputError, match=f"at most {MOST_PAGES}"):
        lines_of_pdf(as_pdf(SHEETS[: MOST_PAGES + 1], a_page=1))


def test_a_scan_is_refused_in_words() -> None:
    with pytest.raises(InputError, match="no text in this PDF"):
        lines_of_pdf(picture_only())


def test_a_file_that_grows_without_end_costs_an_error_and_no_memory() -> None:
    """A page whose packed content unfolds to hundreds of megabytes, with two seconds and a limit on memory."""
    import zlib

    packed = zlib.compress(b"BT /F1 7 Tf (x) Tj ET\n" * 12_000_000, 1)
    began = time.process_time()
    with pytest.raises(InputError):
        lines_of_pdf(_one_page(packed))
    assert time.process_time() - began < 2


def _one_page(packed: bytes) -> bytes:
    """A PDF of one page with that packed content stream."""
    parts = [
        b"<</Type/Catalog/Pages 2 0 R>>",
        b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
        b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 600 800]/Contents 4 0 R/Resources<</Font<</F1 5 0 R>>>>>>",
        b"<</Length %d/Filter/FlateDecode>>stream\n" % len(packed) + packed + b"\nendstream",
        b"<</Type/Font/Subtype/Type1/BaseFont/Helvetica>>",
    ]
    out, places = b"%PDF-1.4\n", []
    for number, part in enumerate(parts, start=1):
        places.append(len(out))
        out += b"%d 0 obj" % number + part + b"endobj\n"
    table = b"".join(b"%010d 00000 n \n" % place for place in places)
    start = len(out)
    out += b"xref\n0 6\n0000000000 65535 f \n" + table
    return out + b"trailer<</Size 6/Root 1 0 R>>\nstartxref\n%d\n%%%%EOF" % start
