"""The short program, judged whole. TPH25 = ISU Technical Panel Handbook 2025/26; sheet = an official ISU sheet.

`#` behind a code marks a fall or another failed attempt. Deeper placement of +COMBO: tests/reference.
"""

from __future__ import annotations

import pytest

from app.errors import ProgramError
from app.legality.short_program import ShortElement, combo_place, judge_short
from app.rulebook.editions import edition
from tests.legality.programs import STARRED, elements, free, short_called, short_verdicts

CALLS = [
    ("senior/women", "2A 3F 3Lz+3T", "2A 3F 3Lz+3T"),
    ("senior/men", "4T 3Lz# 3A", "4T 3Lz+COMBO 3A"),  # TPH25: fall on the second
    ("senior/men", "4T# 3Lz 3A", "4T+COMBO 3Lz 3A"),  # TPH25: the first was kept from it
    ("senior/men", "2T 3Lz# 3A", "2T+COMBO 3Lz 3A"),  # TPH25: else it would be 2T*
    ("senior/women", "3F 3Lz 2A", "3F 3Lz+COMBO 2A"),  # TPH25: unclear, so the later one
    ("senior/women", "3F 3Lz+COMBO+3T 2A", "3F 3Lz+COMBO+3T* 2A"),  # TPH25: failure between the jumps
    ("senior/women", "3T 3F+3T 2A", "3T 3F+3T* 2A"),  # sheet: repeats the solo jump
    ("senior/men", "3A 3F 3A+2T", "3A 3F 3A*+2T"),  # TPH25: only the repeated jump
    ("senior/women", "2A 3F 3Lz+2T+2Lo", "2A 3F 3Lz+2T+2Lo*"),  # TPH25: a third jump
    ("senior/women", "2A 3F 2Lz+2T", "2A 3F 2Lz+2T*"),  # TPH25: two doubles, the lesser
    ("senior/women", "2A 3F 2Lz<+2T", "2A 3F 2Lz<+2T*"),  # 1.68 against 1.30
    ("senior/women", "2A 3F 2Lze<+2T", "2A 3F 2Lze<*+2T"),  # 1.26 against 1.30, after the calls
    ("senior/women", "2A 3F 2T+2T", "2A 3F 2T+2T*"),  # sheet: equal, the second
    ("junior/women", "2A 3Lo 2Lz+2T", "2A 3Lo 2Lz+2T"),  # TPH25: junior women may
    ("junior/women", "3A 3Lo 3Lz+2T", "3A* 3Lo 3Lz+2T"),  # TPH25: a double Axel only
    ("junior/men", "3A 3F 3T+3T", "3A 3F* 3T+3T"),  # TPH25: the Loop is prescribed in 2025/26
    ("senior/women", "2A 4T 3Lz+3T", "2A 4T* 3Lz+3T"),  # TPH25: triples only
    ("senior/men", "1A 3F 3Lz+2T", "1A* 3F 3Lz+2T"),  # sheet
    ("senior/men", "A 3F 3Lz+2T", "A* 3F 3Lz+2T"),  # sheet
    ("senior/women", "2A 3F 3Lz+1T", "2A 3F 3Lz+1T*"),  # sheet
    ("senior/women", "2A 3F 1Lz+3T", "2A 3F 1Lz*+3T"),  # sheet
    ("senior/women", "2A 3F 3Lzq+T", "2A 3F 3Lzq+T*"),  # sheet
    # C2623 as reported: no Euler here; TPH25: it is a listed jump, so the Salchow is the third, without value.
    ("senior/women", "2A 3F 3Lz+1Eu+3S", "2A 3F 3Lz+1Eu*+3S*"),
    ("senior/women", "2A 3F 1Eu+3Lz+3T", "2A 3F 1Eu*+3Lz+3T"),  # TPH25: no listed jump without one before it
    (
        "senior/women",
        "2A 3F+2T 3Lz+2T",
        "2A 3F+2T 3Lz+2T*",
    ),  # one combination, the second unit is the solo jump
    ("senior/women", "2A 3F 3Lz+2T 3Lo", "2A 3F 3Lz+2T 3Lo*"),  # TPH25: extra, whatever it is
    ("senior/men", "4Lz# 3A 1F", "4Lz 3A 1F*+COMBO"),  # sheet
    ("senior/women", "1A 3F 3Lz", "1A* 3F 3Lz+COMBO"),  # a popped Axel is still the Axel element
    ("senior/men", "4A 3A 4Lz+3T", "4A 3A 4Lz+3T"),  # sheet: a 4A as the solo jump
    ("senior/men", "4A 3F 3A", "4A 3F+COMBO 3A"),  # and so the later of the two others is the combination
    ("senior/women", "3F 3Lz 3S", "3F 3Lz* 3S+COMBO"),  # no Axel at all: the last one (inferred)
]


@pytest.mark.parametrize(("who", "done", "expected"), CALLS)
def test_calls_of_2025_26(who: str, done: str, expected: str) -> None:
    book = edition(f"isu/2025-26/{who}/short")
    assert short_called(book, done) == expected


def test_the_euler_has_no_place_in_the_combination() -> None:
    """Communication 2623 as reported: no Euler in the short program; the mark says second-hand."""
    euler, salchow = short_verdicts(edition("isu/2026-27/senior/women/short"), "2A 3F 3Lz+Eu+3S")[2].rulings
    assert (euler.jump, euler.certainty) == (2, "second-hand")
    assert euler.why == "no Euler in the short program combination"
    # No text says what such a breach costs where the Euler is not a listed jump; reckoned as in the free skating.
    assert (salchow.jump, salchow.ruling, salchow.certainty) == (3, "nothing", "inferred")


def test_where_the_euler_is_allowed_it_stands_between_two_listed_jumps() -> None:
    """Fact sheet, section 7: the Euler was allowed here in 2024/25; TPH25: only between two listed jumps."""
    girls = edition("isu/2024-25/advanced-novice/girls/short")
    assert short_called(girls, "2A 2Lo 2F+1Eu+2T") == "2A 2Lo 2F+1Eu+2T"
    (ruling,) = short_verdicts(girls, "2A 2Lo 1Eu+2F+2T")[2].rulings
    assert (ruling.jump, ruling.why) == (1, "an Euler counts only between two listed jumps")


UNDER_WAY = [
    # with two of three elements skated nothing is lost yet
    ("3Lz 3F", "3Lz 3F"),
    ("3F 2A", "3F 2A"),
    ("3F 2Lz", "3F 2Lz"),  # the double may yet be the combination
    ("2Lz 3F", "2Lz 3F"),
    ("2A 3Lz+3T", "2A 3Lz+3T"),
    ("3Lz", "3Lz"),
    ("", ""),
    ("3Lz+3T 3Lz", "3Lz+3T 3Lz*"),  # a repeat is one at once
    ("4T", "4T*"),
]


@pytest.mark.parametrize(("done", "expected"), UNDER_WAY)
def test_a_program_under_way(done: str, expected: str) -> None:
    """TPH25: +COMBO is settled when the program is over; the second lone jump may yet be the combination."""
    assert short_called(edition("isu/2025-26/senior/women/short"), done) == expected


def test_reasons_in_words() -> None:
    women = edition("isu/2025-26/senior/women/short")

    def why(done: str, place: int) -> list[str]:
        return [one.why for one in short_verdicts(women, done)[place].rulings]

    assert why("1A 3F 3Lz+2T", 0) == ["1A is not the required Axel jump (2A or 3A)"]
    assert why("2A 4T 3Lz+2T", 1) == ["4T is not an allowed solo jump"]
    assert why("2A 3F 3Lz+1T", 2) == ["1T is not allowed in the combination"]
    assert why("2A 3F 3Lz+2T+2Lo", 2) == ["the combination has two jumps"]
    assert why("3T 3F+3T 2A", 1) == ["3T was already executed in another element"]
    assert why("2A 3F+2T 3Lz+2T", 2) == ["only one combination counts"]
    assert why("2A 3F 2Lz+2T", 2) == [
        "2Lz and 2T may not form the combination: the lesser counts for nothing"
    ]
    assert why("2A 3F 3Lz+COMBO+2T", 2) == ["the combination was broken before this jump"]
    assert why("A 3F 3Lz+2T", 0) == ["A without a full revolution has no value"]
    assert why("2A 3F 3Lz+2T 3Lo", 3) == ["extra jump element: only 3 count"]


def test_whether_a_starred_jump_may_be_repeated_is_a_switch() -> None:
    """Quad toe, worthless for women, then in nothing else; a starred 3T in front of another 3T."""
    done = "3Lz+COMBO+3T 3T 2A"
    book, lenient = (edition("isu/2025-26/senior/women/short", s) for s in ({}, {STARRED: "no"}))
    assert short_called(book, done) == "3Lz+COMBO+3T* 3T* 2A"
    assert short_called(lenient, done) == "3Lz+COMBO+3T* 3T 2A"


def test_an_axel_never_stands_for_the_combination() -> None:
    """TPH25: the later of the two non-Axel elements; with the Axel alone there is none."""
    short = edition("isu/2025-26/senior/women/short").rules.short
    assert short
    assert combo_place(short, [ShortElement(elements("2A")[0])]) is None
    assert combo_place(short, [ShortElement(one) for one in elements("3F 2A 3Lz")]) == 2


def test_a_free_skating_is_not_judged_here() -> None:
    with pytest.raises(ProgramError, match=r"^edition: .* is not a short program"):
        judge_short(free(), [])


def test_stars_that_were_handed_in_are_ignored() -> None:
    """Codes may come from a sheet; what was executed is judged anew."""
    assert [str(one) for one in elements("2A* 3F*")] == ["2A*", "3F*"]
    assert short_called(edition("isu/2025-26/senior/women/short"), "2A* 3F* 3Lz*+3T") == "2A 3F 3Lz+3T"
