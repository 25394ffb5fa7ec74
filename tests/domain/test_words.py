"""Texts that are English and remember how they were put together. Expected values follow from English grammar alone."""

from __future__ import annotations

import copy
from decimal import Decimal

import pytest

from app.domain.words import Text, both, either, figure, grouped, listed, say, say_many, sentences


def test_a_message_is_english_and_keeps_its_places() -> None:
    said = say("Pass %(number)s: %(element)s", number=3, element="3F")
    assert said == "Pass 3: 3F"
    assert (said.message, dict(said.values)) == (
        "Pass %(number)s: %(element)s",
        {"number": 3, "element": "3F"},
    )


def test_a_percent_sign_is_written_twice() -> None:
    assert say("%(share)s %% of it", share=68) == "68 % of it"


@pytest.mark.parametrize(("count", "words"), [(0, "0 passes"), (1, "1 pass"), (2, "2 passes")])
def test_a_number_chooses_its_form(count: int, words: str) -> None:
    said = say_many("%(count)s pass", "%(count)s passes", count)
    assert (said, said.many, said.number) == (words, "%(count)s passes", count)


def test_sentences_leave_empty_ones_out() -> None:
    first, last = say("Keep the plan."), say("Nothing is gained.")
    said = sentences(first, "", last)
    assert said == "Keep the plan. Nothing is gained."
    assert said.parts == (first, last)
    assert sentences("", "") == ""


@pytest.mark.parametrize(
    ("rows", "or_", "and_", "plain"),
    [
        ([], "", "", ""),
        (["a"], "a", "a", "a"),
        (["a", "b"], "a or b", "a and b", "a, b"),
        (["a", "b", "c"], "a, b or c", "a, b and c", "a, b, c"),
    ],
)
def test_several_are_joined(rows: list[str], or_: str, and_: str, plain: str) -> None:
    assert (either(rows), both(rows), listed(rows)) == (or_, and_, plain)


def test_a_copy_says_the_same() -> None:
    said = copy.deepcopy(say_many("%(count)s jump of %(name)s", "%(count)s jumps of %(name)s", 2, name="Ann"))
    assert isinstance(said, Text)
    assert (said, said.message, said.number) == ("2 jumps of Ann", "%(count)s jump of %(name)s", 2)


@pytest.mark.parametrize(
    ("number", "digits", "signed", "shown"),
    [(0.5, 1, False, "0.5"), (3.0, 2, True, "+3.00"), (-0.75, 2, True, "-0.75"), (12, 0, False, "12")],
)
def test_a_figure_has_its_digits(number: float, digits: int, signed: bool, shown: str) -> None:
    assert figure(number, digits, signed=signed) == shown
    assert figure(float(Decimal(str(number))), digits, signed=signed) == shown


@pytest.mark.parametrize(
    ("number", "written"), [(999, "999"), (15562, "15\u202f562"), (1000000, "1\u202f000\u202f000")]
)
def test_thousands_stand_apart_without_a_decimal_sign(number: int, written: str) -> None:
    """Groups of three with a small space, neither comma nor point: ISO 80000-1, 7.3.1, from memory."""
    assert grouped(number) == written
