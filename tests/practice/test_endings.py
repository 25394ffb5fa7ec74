"""Which endings an element is asked about. Jump names and edge calls: ISU Technical Panel Handbook 2025/26."""

from __future__ import annotations

import pytest

from app.chances.record import FATES
from app.practice.endings import FATE_WORDS, fates_for

TAILS = {"tail not tried", "tail shortened"}
POPS = {"popped by one", "popped to a single"}


def test_every_fate_has_words_of_its_own() -> None:
    assert tuple(FATE_WORDS) == FATES
    assert len(set(FATE_WORDS.values())) == len(FATES)


@pytest.mark.parametrize("code", ["3Lz", "2A", "1T", "3S"])
def test_a_solo_jump_has_no_tail_to_lose(code: str) -> None:
    assert not TAILS & set(fates_for(code))


@pytest.mark.parametrize(
    ("code", "edge"),
    # Edge calls belong to flip and Lutz (handbook, wrong edge; the notation of the panel allows e and ! there only).
    [("3Lz", True), ("3F+2T", True), ("2A+Eu+3F", True), ("3Lo+2T", False), ("2A", False), ("3T", False)],
)
def test_only_flip_and_lutz_have_a_wrong_edge(code: str, edge: bool) -> None:
    assert ("edge" in fates_for(code)) == edge


@pytest.mark.parametrize(
    ("code", "pops"),
    # A pop opens to fewer turns; from a double one fewer is the single (common practice, no source).
    [("3Lz", POPS), ("4T+3T", POPS), ("2A", {"popped by one"}), ("2F+2T", {"popped by one"}), ("1F", set())],
)
def test_only_what_has_turns_to_lose_pops(code: str, pops: set[str]) -> None:
    assert POPS & set(fates_for(code)) == pops


@pytest.mark.parametrize(
    ("code", "tails"),
    [("3Lz+3T", TAILS), ("3F+1T", {"tail not tried"}), ("2A+Eu+3S", TAILS), ("1F+1Lo", {"tail not tried"})],
)
def test_a_single_tail_cannot_be_shortened(code: str, tails: set[str]) -> None:
    assert TAILS & set(fates_for(code)) == tails
