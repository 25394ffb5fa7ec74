"""What a sheet says of an attempt for the own log. Fates as a coach would tell them; programs are invented."""

from __future__ import annotations

import pytest

from app.chances.record import FATES
from app.practice.endings import fates_for
from app.review.official import SheetRow
from app.review.own_log import as_called, attempts_on, could_be_meant, fate_of
from tests.review.season_programs import sheet_of, state_of


def row(code: str, goe: int = 0, info: str = "") -> SheetRow:
    """One row of a sheet; figures play no part."""
    return SheetRow(1, code, info, 100, False, goe, (), 100 + goe)


@pytest.mark.parametrize(
    ("tried", "code", "goe", "info", "fate"),
    [
        ("3Lz+3T", "3Lz+3T", 50, "", "clean"),
        ("3Lz+3T", "3Lz+3T", 0, "", "clean"),
        ("3Lz+3T", "3Lz+3T", -1, "", "error"),
        ("3Lz+3T", "3Lz+3T<", -90, "<", "<"),
        ("3Lz+3T", "3Lzq+3T<", -90, "q <", "<"),
        ("3Lz+3T", "3Lzq+3T", 10, "q", "q"),
        ("3Lz+3T", "3Lz<<+3T", -200, "<<", "<<"),
        ("3F", "3Fe", -100, "e", "edge"),
        ("3F", "3F!", 20, "!", "edge"),
        ("3F", "3Fe<", -100, "e <", "<"),
        ("3Lz+3T", "3Lz", -250, "F", "fall"),
        ("3Lz+3T", "3Lz", -50, "", "tail not tried"),
        ("3Lz+3T", "3Lz+2T", -20, "", "tail shortened"),
        ("3F", "2F", -20, "", "popped by one"),
        ("3F", "1F", -20, "", "popped to a single"),
        ("2A", "1A", -20, "", "popped by one"),
        ("3F", "F", 0, "", "popped to a single"),
        ("3S", "3S*", 0, "", "clean"),
        ("3S", "3S+REP", 0, "", "clean"),
        ("3S+2A+SEQ", "3S+2A+SEQ", 30, "", "clean"),
    ],
)
def test_how_an_attempt_ended(tried: str, code: str, goe: int, info: str, fate: str) -> None:
    assert fate_of(tried, row(code, goe, info)) == fate
    assert fate in FATES
    assert fate in fates_for(tried)


def test_another_take_off_says_nothing() -> None:
    assert fate_of("3Lz", row("3F")) is None
    assert fate_of("3S", row("2T")) is None


def test_the_element_of_a_row_without_its_calls() -> None:
    assert as_called(row("3Lz<+3T*")) == "3Lz+3T"
    assert as_called(row("3F+COMBO")) == "3F"
    assert as_called(row("3Sq+2A*+SEQ")) == "3S+2A+SEQ"
    assert as_called(row("3Lo+REP")) == "3Lo"
    # TPH25: listed jump, Euler, three-turn, Axel stays a combination; this used to become a sequence.
    assert as_called(row("3F+1Eu+2A<")) == "3F+1Eu+2A"


def test_what_was_meant_is_what_was_logged_then_what_was_planned_then_the_call() -> None:
    sheet = sheet_of(("3Lz", -50), ("3F+2T", 20), ("2S", -20), ("2A", 30))
    told = attempts_on(sheet, state_of("3Lz", "3F+2T>3F+2T", "2S", "2A"))
    assert [(one.tried, one.known) for one in told] == [
        ("3Lz+3T", True),
        ("3F+2T", True),
        ("3S+2T", True),
        ("2A", True),
    ]
    planned = attempts_on(sheet, state_of())
    assert [one.tried for one in planned] == ["3Lz+3T", "3F", "3S+2T", "2A"]
    alone = attempts_on(sheet, None)
    assert [(one.tried, one.known) for one in alone][::2] == [("3Lz", False), ("2S", False)]


def test_without_a_program_elements_from_the_same_take_off_may_have_been_meant() -> None:
    mine = ("3Lz+3T", "3Lz", "3F", "3S+2T", "3S")
    assert could_be_meant(row("3Lz"), mine) == ("3Lz+3T", "3Lz")
    assert could_be_meant(row("2S"), mine) == ("3S+2T", "3S")
