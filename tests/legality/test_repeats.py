"""Repetition. TPH25 = ISU Technical Panel Handbook 2025/26; sheet = official ISU sheet; slides = panel slides 2026."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.legality.repeats import repeat_class
from app.rulebook.editions import Edition, edition
from tests.legality.programs import CLAUSE, STARRED, after, called, free, last

CALLS = [
    # until 2025/26
    ("2A 2T 2T 2T", "2A 2T 2T 2T*"),  # TPH25: doubles at most twice, no +REP
    ("2A 2A 3Lz+2A+SEQ", "2A 2A 3Lz+2A*+SEQ"),  # 2A is a double
    ("2A 3Lz 3Lz", "2A 3Lz 3Lz+REP"),  # TPH25: none in a unit
    ("2A 3Lz 3Lz+2T", "2A 3Lz 3Lz+2T"),
    ("2A 3Lz+2T 3Lz", "2A 3Lz+2T 3Lz"),  # either order
    ("2A 3Lz 3Lz+2T 3F+3Lz", "2A 3Lz 3Lz+2T 3F+3Lz*"),  # TPH25: a third execution
    ("2A 3T<< 3T< 3T<", "2A 3T<< 3T<+REP 3T<*"),  # sheet: downgraded counts as intended
    ("2A 3S 3S<<", "2A 3S 3S<<+REP"),  # sheet
    ("2A 3Lz+2T 3Lz 3F+2T 3F 3Lo+2Lo 3Lo", "2A 3Lz+2T 3Lz 3F+2T 3F 3Lo+2Lo 3Lo*"),  # two different ones only
    ("3A 4T 4T+3T 4S 4S+2T", "3A 4T 4T+3T 4S 4S*+2T"),  # one of them a quad
    ("3A 4T+2T 4T 3T+2T 3T", "3A 4T+2T 4T 3T+2T 3T"),  # 3T and 4T are different jumps
    ("3A 3A+COMBO+2T", "3A 3A+COMBO+2T*"),  # sheet: the broken unit is a unit, no +REP
    ("1A 1T 1T 1T 1T", "1A 1T 1T 1T 1T"),  # singles are free before 2026/27
    ("2A 3Lz 3Lz 3F 3F 3S+2T 3S", "2A 3Lz 3Lz+REP 3F 3F+REP 3S+2T 3S*"),  # +REP holds a repeat
    ("2A 2F+2T+2Lo 2F+2T 3T+2T", "2A 2F+2T+2Lo 2F+2T 3T+2T*"),
]


@pytest.mark.parametrize(("done", "expected"), CALLS)
def test_repeats_until_2025_26(done: str, expected: str) -> None:
    assert called(free(who="senior/men"), done) == expected


CALLS_2026 = [
    # slides 2026: the same take-off, whatever the revolutions, three times
    ("2A 3T 3Lz+2T 2T", "2A 3T 3Lz+2T 2T"),
    ("2A 3T 3Lz+2T 3F+2T 1T", "2A 3T 3Lz+2T 3F+2T 1T*"),
    ("2A 3T 3Lz+2T 3F+3T 4T", "2A 3T 3Lz+2T 3F+3T 4T*"),
    ("1A 2A 3A 1A", "1A 2A 3A 1A*"),  # Axels are a take-off too
    ("2A 3Lz+2T 3Lz 3F+2Lo 3F 3Lo", "2A 3Lz+2T 3Lz 3F+2Lo 3F 3Lo"),
    ("2A 2S 2S 2S", "2A 2S 2S 2S*"),  # doubles still twice
]


@pytest.mark.parametrize(("done", "expected"), CALLS_2026)
def test_repeats_from_2026_27(done: str, expected: str) -> None:
    assert called(free("2026-27", "senior/men"), done) == expected


def test_the_clause_on_two_repeats_can_be_read_away() -> None:
    """Slides 2026 name the cap and not the old clause; the default keeps it (inferred)."""
    done = "2A 4T+2T 4T 4S+2Lo 4S"
    assert called(free("2026-27", "senior/men"), done) == "2A 4T+2T 4T 4S+2Lo 4S*"
    assert called(free("2026-27", "senior/men", **{CLAUSE: "dropped"}), done) == done
    barred = last(free("2026-27", "senior/men"), done)[0]
    assert barred.certainty == "inferred"
    assert barred.why == "4S may not be repeated: 4T already is, and only one quad may be"


def test_a_starred_jump_uses_up_an_execution_or_not() -> None:
    """Open in every text read; no sheet decides it. A 2T behind a break, then two more."""
    done = "2A 3T+COMBO+2T 3Lz+2T 2T"
    assert called(free(), done) == "2A 3T+COMBO+2T* 3Lz+2T 2T*"
    assert called(free(**{STARRED: "no"}), done) == "2A 3T+COMBO+2T* 3Lz+2T 2T"
    # also when it stands behind others
    behind = "2A 2T 3T+COMBO+2T 3Lz+2T"
    assert called(free(), behind).split()[-1] == "3Lz+2T*"
    assert called(free(**{STARRED: "no"}), behind).split()[-1] == "3Lz+2T"
    # every jump behind a break, not only the first
    both = "2A 3T+COMBO+2T+2Lo 2Lo 3Lz+2Lo"
    assert called(free(), both).split()[-1] == "3Lz+2Lo*"
    # a jump barred by its own quota leaves no trace either, but is barred
    assert called(free(**{STARRED: "no"}), "2A 2T 2T 2T") == "2A 2T 2T 2T*"
    assert after(free(**{STARRED: "no"}), "2A 2T 2T 2T").times("2T") == 2
    assert after(free(), "2A 2T 2T 2T").times("2T") == 3


def test_a_quad_behind_a_break_holds_no_repeat_it_could_not_have() -> None:
    """4S is the one repeated quad, so a starred second 4F leaves the second place to a triple."""
    assert called(free(who="senior/men"), "3A 4S+2T 4S 4F 3T+SEQ+4F 3T").split()[-1] == "3T"


def test_a_jump_behind_a_break_was_repeated_in_a_unit() -> None:
    """Fact sheet 3.4, 9 and 10, under the reading that it uses up an execution: it takes one of the two repeats."""
    done = "2A 3F 3T+SEQ+3F 3Lz+2T 3Lz 3S+2Lo 3S"
    assert called(free(), done).split()[-1] == "3S*"
    assert called(free(**{STARRED: "no"}), done).split()[-1] == "3S"
    # one of two executions in a unit: the solo one needs no +REP
    assert called(free(), "2A 3T+COMBO+3Lz 3Lz") == "2A 3T+COMBO+3Lz* 3Lz"


def test_a_jump_behind_a_break_holds_no_place_beyond_its_quotas() -> None:
    """Slides 2026: three toe loops of any kind. The second 3T is a fourth one, so two others may still be repeated."""
    done = "3T+2T 2A+COMBO+2T+3T 3Lz 3Lz 3S 3S"
    assert called(free("2026-27"), done) == "3T+2T 2A+COMBO+2T*+3T* 3Lz 3Lz+REP 3S 3S+REP"
    # Announcements of club events 2022/23, cubs B: one of 2T, 2S, 2Lo.
    cubs = edition("club/2022-23/cubs-b/all/free")
    assert called(cubs, "1A+2T 1F+COMBO+2S 2S") == "1A+2T 1F+COMBO+2S* 2S*"


def with_triples(executions: int) -> Edition:
    """A rulebook that allows each triple, quad and quintuple so many times."""
    book = free()
    repeats = book.rules.repeats
    assert repeats
    doubles, triples = repeats.classes
    classes = (doubles, triples.model_copy(update={"executions": executions}))
    own = repeats.model_copy(update={"classes": classes})
    return replace(book, name="own", rules=book.rules.model_copy(update={"repeats": own}))


def test_a_rulebook_may_allow_a_jump_once() -> None:
    """Invented numbers."""
    own = with_triples(1)
    assert called(own, "2A 3Lz 3Lz+2T") == "2A 3Lz 3Lz*+2T"
    assert last(own, "2A 3Lz 3Lz+2T")[0].why == "no more 3Lz: executed once"


def test_reasons_in_words() -> None:
    men = free(who="senior/men")
    assert last(men, "2A 2T 2T 2T")[0].why == "no more 2T: executed twice"
    assert last(men, "3A 3Lz 3Lz")[0].why == "second solo 3Lz, none in a unit: keeps 70 %"
    assert (
        last(men, "2A 3Lz+2T 3Lz 3F+2T 3F 3Lo 3Lo")[0].why
        == "3Lo may not be repeated: 3F and 3Lz already are"
    )
    assert (
        last(free("2026-27"), "2A 3T 3Lz+2T 3F+2T 1T")[0].why
        == "no more T: three times this take-off, whatever the revolutions"
    )


def test_children_may_repeat_one_single_and_one_double() -> None:
    """Event announcements 2022/23: one single and one double, the double Axel included."""
    novice = free("2022-23", "intermediate-novice/all")
    assert called(novice, "1A 2T 2T 2S 2S") == "1A 2T 2T 2S 2S*"
    assert called(novice, "1A 1A 2A 2A 1Lo") == "1A 1A 2A 2A 1Lo"
    assert called(novice, "1A 1A 1Lo 1Lo 2T") == "1A 1A 1Lo 1Lo* 2T"
    assert called(novice, "1A 3T 2T 2F") == "1A 3T* 2T 2F"  # no triples


def test_a_rulebook_may_allow_a_jump_three_times() -> None:
    """Invented numbers: the vocabulary must hold for other rulebooks too."""
    own = with_triples(3)
    assert called(own, "2A 3Lz 3Lz+2T 3Lz 3F+3Lz") == "2A 3Lz 3Lz+2T 3Lz 3F+3Lz*"
    # A jump that holds one of the two places needs no second one.
    assert called(own, "2A 3Lz+2T 3Lz 3F+2Lo 3F 3Lz") == "2A 3Lz+2T 3Lz 3F+2Lo 3F 3Lz"


def test_every_number_of_revolutions_finds_its_quota() -> None:
    book = free()
    assert repeat_class(book, "1T") is None
    assert [repeat_class(book, f"{turns}T") == repeat_class(book, "3T") for turns in (2, 4, 5)] == [
        False,
        True,
        True,
    ]
    assert repeat_class(edition("isu/2025-26/senior/women/short"), "3T") is None
