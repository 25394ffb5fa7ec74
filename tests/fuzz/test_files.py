"""Files that somebody edited, cut short or made up: read, or refused in one message. Never another error.

Rule files and value tables name file and place in what they refuse (the promise of their loaders); what is brought in
by a form raises InputError, which the form shows.
"""

from __future__ import annotations

import gzip
import json
import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, strategies as st

from app.errors import InputError, RulebookError
from app.practice.log_table import TableFacts, read_table, write_table
from app.review.official import sheet_from_json, sheet_json
from app.review.pdf_lines import lines_of_pdf
from app.review.sheet_import import SheetReading, read_text
from app.rulebook.editions import DATA, edition, load_all, value_tables
from app.rulebook.own_file import file_text, read_file
from app.rulebook.values import load_values
from tests.fuzz.hostile import CODES, FREE, HOSTILE, many
from tests.review.published import as_text

SHEETS = Path(__file__).parents[1] / "reference" / "sheets.jsonl.gz"
RULES, VALUES = "rules/isu/2025-26/free.toml", "values/2025-26.csv"
TOML_VALUES = (
    "0",
    "-1",
    "7",
    "9" * 400,
    "1e999",
    "nan",
    "inf",
    "true",
    '""',
    '"x"',
    "[]",
    "[1, 2]",
    '["T"]',
    "{}",
    "{ a = 1 }",
    "[[[[]]]]",
    "2026-01-01",
    '"\\u0000"',
    "'''\n'''",
    "=",
    "é",
    "[" * 300,
)


@st.composite
def edited(draw: st.DrawFn, text: str, values: tuple[str, ...], parting: str) -> str:
    """The text with up to four slips: a line gone, doubled, moved, cut; a value replaced; signs put in."""
    lines = text.splitlines()
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(lines) - 1))
        match draw(
            st.sampled_from(("gone", "double", "moved", "cut", "value", "value", "name", "signs", "end"))
        ):
            case "gone" if len(lines) > 1:
                del lines[at]
            case "double":
                lines.insert(draw(st.integers(0, len(lines))), lines[at])
            case "moved":
                lines.insert(draw(st.integers(0, len(lines) - 1)), lines.pop(at))
            case "cut":
                lines[at] = lines[at][: draw(st.integers(0, len(lines[at])))]
            case "value":
                lines[at] = f"{lines[at].partition(parting)[0]}{parting}{draw(st.sampled_from(values))}"
            case "name":
                lines[at] = f"{draw(st.sampled_from(HOSTILE))}{parting}{lines[at].partition(parting)[2]}"
            case "signs":
                place = draw(st.integers(0, len(lines[at])))
                lines[at] = lines[at][:place] + draw(st.text(max_size=4)) + lines[at][place:]
            case _:
                del lines[at + 1 :]
    return "\n".join(lines)


def refused_well(read: Callable[[], object], wanted: type[Exception], place: str) -> None:
    """Either it is read, or it is refused by that error, on one line that names the place."""
    said = None
    try:
        read()
    except wanted as error:
        said = str(error).strip()
    assert said is None or (place in said and len(said) < 2_000), said


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder of one season of free skating, to be spoilt."""
    found = tmp_path_factory.mktemp("data")
    for name in (RULES, VALUES):
        (found / name).parent.mkdir(parents=True)
        shutil.copy(DATA / name, found / name)
    return found


def test_a_spoilt_rule_file_is_refused_by_name(folder: Path) -> None:
    whole = (DATA / RULES).read_text(encoding="utf-8")

    @many(60)
    @given(edited(whole, TOML_VALUES, " = "))
    def spoilt(text: str) -> None:
        (folder / RULES).write_text(text, encoding="utf-8", errors="replace")
        refused_well(lambda: load_all(folder), RulebookError, "2025-26/")

    spoilt()


def test_a_spoilt_value_table_is_refused_by_name(tmp_path: Path) -> None:
    whole = "\n".join((DATA / VALUES).read_text(encoding="utf-8").splitlines()[:40])

    @many(100)
    @given(edited(whole, ("", "-1", "1,2", "NaN", "inf", "1e999", "9" * 5_000, '"', "1.234", "٣"), ","))
    def spoilt(text: str) -> None:
        file = tmp_path / "2025-26.csv"
        file.write_text(text, encoding="utf-8", errors="replace")
        refused_well(lambda: load_values(file), RulebookError, "2025-26.csv")

    spoilt()


@cache
def own_rulebook() -> str:
    """A rulebook as the app gives it away."""
    book = edition(FREE)
    return file_text(book, value_tables()[book.values.name])


def test_a_spoilt_rulebook_of_ones_own_is_refused_at_its_field() -> None:
    tables = value_tables()

    @many(60)
    @given(edited(own_rulebook(), TOML_VALUES, " = "))
    def spoilt(text: str) -> None:
        refused_well(lambda: read_file(text, tables), InputError, "")

    spoilt()


def is_whole(reading: SheetReading) -> None:
    """What was read of a sheet can be kept and comes back the same."""
    for found in reading.sheets:
        assert sheet_from_json(sheet_json(found.sheet)) == found.sheet


def test_a_spoilt_sheet_is_read_line_by_line() -> None:
    lines = gzip.decompress(SHEETS.read_bytes()).decode().splitlines()
    whole = as_text([json.loads(lines[0])])

    @many(150)
    @given(edited(whole, ("x", "-", "9" * 5_000, "NaN", "5,90", "5.90x", "+", "<<", "\u22121.00"), " "))
    def spoilt(text: str) -> None:
        refused_well(lambda: is_whole(read_text(text)), InputError, "")

    spoilt()


@many(200)
@given(st.text(max_size=400) | st.text(alphabet='0123456789.,;x-+=()3LzTSFAqe<!* \t\n"', max_size=400))
def test_any_text_is_a_sheet_or_none(text: str) -> None:
    refused_well(lambda: is_whole(read_text(text)), InputError, "")


@many(10)
@given(
    st.binary(max_size=300),
    st.sampled_from((b"1 0 obj << /Type /Catalog >>", b"stream", b"trailer << /Root 1 0 R >>", b"")),
)
def test_any_file_is_a_pdf_or_none(raw: bytes, more: bytes) -> None:
    refused_well(lambda: lines_of_pdf(b"%PDF-1.7\n" + raw + more), InputError, "file")


TABLE = (
    "date,element,entry,place,result,count\n"
    + "2026-11-20,3Lz+3T,long edge,alone,clean,4\n20/11/2026,2A,,,fall,1\n" * 3
)


@many(200)
@given(
    edited(
        TABLE, (*CODES, "9" * 5_000, "-1", '"', "²", "=1+1", "0001-01-01", "31/31/2026", "99999-01-01"), ","
    )
)
def test_a_spoilt_log_is_read_line_by_line(text: str) -> None:
    """And what was read of it is written so that it reads back the same."""
    facts = TableFacts(1, "s", date(2026, 11, 25), order="day first")
    try:
        reading = read_table(text, facts)
    except InputError:
        return
    again = read_table(write_table(one for _, one in reading.read), facts)
    assert again.unread == ()
    plain = [replace(one, line=0) for _, one in reading.read]
    assert [replace(one, line=0) for _, one in again.read] == plain
