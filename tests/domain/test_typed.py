"""Numbers as people type them. Decimal comma and point alike: ISO 80000-1, 7.3.2, from memory."""

from __future__ import annotations

import re

import pytest

from app.domain.typed import read_number, with_point


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("62.40", 62.4),
        ("62,40", 62.4),
        (" 0,5 ", 0.5),
        ("-1,5", -1.5),
        ("\N{MINUS SIGN}1", -1.0),
        ("+2", 2.0),
        ("3", 3.0),
        (",5", 0.5),
        ("\N{FULLWIDTH DIGIT ONE}\N{FULLWIDTH FULL STOP}\N{FULLWIDTH DIGIT FIVE}", 1.5),
    ],
)
def test_comma_and_point_are_the_same(typed: str, number: float) -> None:
    assert read_number(typed) == number


@pytest.mark.parametrize(
    "typed", ["", "x", "1.2.3", "1,2,3", "1.234,5", "nan", "inf", "1e3", "1_000", "3Lz", "--1"]
)
def test_anything_else_is_no_number(typed: str) -> None:
    with pytest.raises(ValueError, match=rf"^{re.escape(typed)}$"):
        read_number(typed)


@pytest.mark.parametrize("text", ["3Lz 6,10", "2, 3", "yes", "1,2,3"])
def test_what_is_no_number_stays_as_it_is(text: str) -> None:
    assert with_point(text) == text
