"""Boxes, the Axel that must be attempted, jumps without value. TPH25; sheet = an official ISU sheet."""

from __future__ import annotations

import pytest

from tests.legality.programs import called, free, last

OLD, NEW = free(), free("2026-27")
FULL = "2A 3Lz+2T 3F 3Lo 3S 3T"


@pytest.mark.parametrize(
    ("season", "done", "expected"),
    [
        (
            "2025-26",
            FULL + " 3F+2T 2Lz+2Lo",
            FULL + " 3F+2T 2Lz*+2Lo*",
        ),  # TPH25: an eighth is called, all its jumps *
        ("2026-27", FULL + " 3F+2T", FULL + " 3F*+2T*"),  # the seventh from 2026/27
        (
            "2025-26",
            "3Lz 3F 3Lo 3S 3T 2F 2Lz+2Lo<",
            "3Lz 3F 3Lo 3S 3T 2F 2Lz*+2Lo<*",
        ),  # sheet: no Axel, last box
        ("2025-26", "3Lz 3F 3Lo 3S 3T 2F", "3Lz 3F 3Lo 3S 3T 2F"),  # TPH25: last box empty, nothing lost
        ("2025-26", "A 3F 3Lo 3S 3T 2F 2Lz", "A 3F 3Lo 3S 3T 2F 2Lz"),  # sheet: an attempted Axel will do
        ("2025-26", "3Lz 3F 3Lo 3S 3T 2F 2Lz+1A+SEQ", "3Lz 3F 3Lo 3S 3T 2F 2Lz+1A+SEQ"),  # "be or include"
        ("2026-27", "3Lz 3F 3Lo 3S 3T 2F", "3Lz 3F 3Lo 3S 3T 2F*"),  # the sixth is the last box now
        ("2025-26", "2A 5T", "2A 5T"),
        ("2025-26", "2A 5T+2T", "2A 5T*+2T"),  # TPH25: quintuples alone
    ],
)
def test_places(season: str, done: str, expected: str) -> None:
    assert called(free(season), done) == expected


def test_an_attempt_without_revolutions_fills_a_box_and_is_printed_plain() -> None:
    """TPH25: every attempt fills a box. Sheets print it without a star and without value."""
    assert called(NEW, "A Lz 3F+T 3S 3T 2F 2Lo") == "A Lz 3F+T 3S 3T 2F 2Lo*"
    (behind,) = last(OLD, "2A 3F+1Eu+S")
    assert (behind.jump, behind.ruling) == (3, "nothing")
    (ruling,) = last(NEW, "A Lz")
    assert (ruling.ruling, ruling.why) == ("nothing", "Lz without a full revolution has no value")


def test_reasons_name_the_rule_and_how_sure_it_is() -> None:
    """Seven boxes were read in the handbook; six are second-hand."""
    seven = last(OLD, FULL + " 3F+2T 2Lz")[0]
    assert (seven.why, seven.certainty) == ("extra jump element: only 7 count", "read")
    six = last(NEW, FULL + " 2Lz")[0]
    assert (six.why, six.certainty) == ("extra jump element: only 6 count", "second-hand")
    axel = last(OLD, "3Lz 3F 3Lo 3S 3T 2F 2Lz")[0]
    assert axel.why == "no Axel-type jump attempted: the last jump element counts for nothing"
    novice = free("2022-23", "intermediate-novice/all")
    assert last(novice, "1A 3T")[0].why == "3T has no value at this level"
    assert last(OLD, "2A 5T+2T")[0].why == "5T counts only as a solo jump"
