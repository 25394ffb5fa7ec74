"""A pasted log: what is understood, what is asked, what is left out and why. Every line here is invented."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, strategies as st

from app.errors import InputError
from app.practice.endings import fates_for
from app.practice.log_table import MOST_BYTES, MOST_LINES, TableFacts, read_table, write_table
from app.practice.table_dates import AmbiguousDay, read_day
from app.storage.records import PLACES, AttemptRecord

TODAY = date(2026, 11, 25)
FACTS = TableFacts(1, "sending-1", TODAY)


def only(text: str, facts: TableFacts = FACTS) -> AttemptRecord:
    reading = read_table(text, facts)
    assert reading.unread == ()
    ((_, attempt),) = reading.read
    return attempt


@pytest.mark.parametrize("delimiter", [",", ";", "\t"], ids=["comma", "semicolon", "tab"])
def test_columns_are_found_by_their_names_in_any_order(delimiter: str) -> None:
    header = delimiter.join(("Result", "Count", "Day", "Jump", "Where", "coach"))
    line = delimiter.join(("fell", "3", "24.11.2026", "3Lz+3T", "Run-through", "nobody"))
    expected = AttemptRecord(1, "sending-1", "3Lz+3T", "", date(2026, 11, 24), "run-through", "fall", 3)
    assert only(f"{header}\n{line}\n") == expected


def test_what_a_line_does_not_say_is_one_attempt_in_the_place_of_the_form() -> None:
    found = only("date,element,result\n2026-11-24,2A,clean", replace(FACTS, place="in program"))
    assert (found.count, found.place, found.entry) == (1, "in program", "")


def test_a_line_without_entry_means_the_only_entry_there_is() -> None:
    text = "date,element,result\n2026-11-24,2A,clean"
    assert only(text, replace(FACTS, entries={"2A": ("mohawk",)})).entry == "mohawk"
    assert only(text, replace(FACTS, entries={"2A": ("mohawk", "")})).entry == ""
    (left,) = read_table(text, replace(FACTS, entries={"2A": ("mohawk", "steps")})).unread
    assert "expected one of: mohawk; steps" in left.why


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("2026-11-24,3Q,clean,1", "cannot read '3Q'"),
        ("2026-11-24,CCoSp4,clean,1", "expected a jump element"),
        ("2026-11-24,3Lz<,clean,1", "expected the element as tried"),
        ("2026-11-24,,clean,1", "element: nothing given"),
        ("2026-11-24,2A,wobbly,1", "result: 'wobbly' given; expected one of: clean, error"),
        ("2026-11-24,2A,landed,1", "result: 'landed' given"),
        ("2026-11-24,2A,tail not tried,1", "2A cannot end so"),
        ("2026-11-24,2A,clean,0", "count: '0' given; expected a whole number from 1 to 500"),
        ("2026-11-24,2A,clean,1.5", "count: '1.5' given"),
        ("2026-11-24,2A,clean,501", "count: '501' given"),
        ("2026-02-30,2A,clean,1", "there is no such day"),
        ("2026-11-27,2A,clean,1", "expected a day from 2000 to today"),
        ("24.11.26,2A,clean,1", "expected a day such as 2026-11-25"),
        ("yesterday,2A,clean,1", "expected a day such as 2026-11-25"),
        ('2026-11-24,2A,"clean,1', "quotation marks closed"),
    ],
)
def test_a_line_that_cannot_be_read_is_named_with_its_reason(line: str, why: str) -> None:
    reading = read_table(f"date,element,result,count\n{line}\n2026-11-24,3S,clean,2", FACTS)
    (left,) = reading.unread
    assert (left.number, left.text) == (2, line)
    assert why in left.why
    assert [(number, one.code) for number, one in reading.read] == [(3, "3S")]


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-3-4", date(2026, 3, 4)),
        ("4.3.2026", date(2026, 3, 4)),
        ("04. 03. 2026", date(2026, 3, 4)),
        ("25/11/2026", date(2026, 11, 25)),
        ("11/25/2026", date(2026, 11, 25)),
        ("5/5/2026", date(2026, 5, 5)),
    ],
)
def test_a_date_that_can_mean_one_day_is_read(text: str, day: date) -> None:
    assert read_day(text, TODAY) == day


def test_a_date_that_can_mean_two_days_is_asked_about() -> None:
    with pytest.raises(AmbiguousDay, match="3 April or 4 March"):
        read_day("03/04/2026", TODAY)
    assert read_day("03/04/2026", TODAY, "day first") == date(2026, 4, 3)
    assert read_day("03/04/2026", TODAY, "month first") == date(2026, 3, 4)
    reading = read_table("date,element,result\n03/04/2026,2A,clean\n25/11/2026,2A,clean", FACTS)
    assert reading.asked
    assert len(reading.read) == 1, "another line's date never decides for this one"


@given(st.dates(date(2000, 1, 1), TODAY))
def test_with_strokes_the_order_is_asked_exactly_when_two_days_exist(day: date) -> None:
    """From the definition: both readings are tried with the calendar; they must be one day, or it is asked."""
    written = f"{day.day}/{day.month}/{day.year}"
    readings = set()
    for d, m in ((day.day, day.month), (day.month, day.day)):
        try:
            readings.add(date(day.year, m, d))
        except ValueError:
            continue
    try:
        assert {read_day(written, TODAY)} == readings
    except AmbiguousDay:
        assert len(readings) == 2


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "nothing given"),
        ("\n \n", "nothing given"),
        ("a,b,c\n1,2,3", "no column date or element or result"),
        ("date,element\n2026-11-24,2A", "no column result"),
        ("date,element,result,day\n", "the column date stands there twice"),
        ("date,element,result\n" + "2026-11-24,2A,clean\n" * (MOST_LINES + 1), f"at most {MOST_LINES}"),
        ("date,element,result\n" + "x" * MOST_BYTES, f"at most {MOST_BYTES}"),
    ],
)
def test_a_table_that_is_none_is_refused_whole(text: str, why: str) -> None:
    with pytest.raises(InputError, match=why):
        read_table(text, FACTS)


CODES = st.sampled_from(["3Lz+3T", "2A", "1T", "3F+2T+2Lo", "2A+Eu+3S", "3F+2A+SEQ"])
ENTRIES = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=40).map(
    lambda text: " ".join(text.split())
)


@st.composite
def attempts(draw: st.DrawFn) -> AttemptRecord:
    code = draw(CODES)
    return AttemptRecord(
        skater_id=1,
        sending="sending-1",
        code=code,
        entry=draw(ENTRIES),
        day=draw(st.dates(TODAY - timedelta(days=4_000), TODAY)),
        place=draw(st.sampled_from(PLACES)),
        fate=draw(st.sampled_from(fates_for(code))),
        count=draw(st.integers(1, 500)),
    )


@given(st.lists(attempts(), max_size=12))
def test_a_written_log_reads_back_the_same(log: list[AttemptRecord]) -> None:
    reading = read_table(write_table(log), FACTS)
    assert reading.unread == ()
    assert [one for _, one in reading.read] == [replace(one, line=line) for line, one in enumerate(log)]


@given(attempts())
def test_no_cell_of_a_written_log_is_a_formula(attempt: AttemptRecord) -> None:
    """A spreadsheet computes a cell that begins with = + - or @ (OWASP, "CSV Injection")."""
    for row in csv.reader(io.StringIO(write_table([attempt]))):
        assert not [cell for cell in row if cell.startswith(("=", "+", "-", "@"))]
