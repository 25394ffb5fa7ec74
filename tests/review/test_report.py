"""What a report is made of, on invented passes worked by hand: strengths, misses, at most one thing to rehearse."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from app import engine
from app.review.compare import Beside, Called, Tried
from app.review.decisions import Decision
from app.review.price import Skate, price
from app.review.report import Miss, PassFact, facts, report
from app.web.views import report_words as words
from tests.review.skates import skate_of

CODES = re.compile(
    r"\b\d(T|S|Lo|Eu|F|Lz|A)\b|\+REP|\+COMBO|\+SEQ|<|\bGOE\b|\bq\b|\*|\b(T|S|Lo|Eu|F|Lz)\b|\d\.\d"
)
"""Codes, marks and points, which a guardian is spared."""
FINE = Decision(1, "3Lz+3T", "3Lz+3T", "3Lz+3T", 0.0, right=True, came=True)


def fact(number: int, planned: str, came: str | None, *misses: Miss, lost: int = 0) -> PassFact:
    """One pass tried as planned."""
    tried = None if came is None else planned
    return PassFact(number, planned, tried, came, None, misses, changed=False, lost=lost)


def test_the_choice_that_mattered_most_is_the_one_thing() -> None:
    better = Decision(4, "3S", "3S", "3S+2T", 1.1, right=False, came=True)
    small = Decision(5, "2A", "2A", "2A+2T", 0.9, right=False, came=True)
    found = [fact(1, "3Lz+3T", "3Lz", Miss.TAIL_LOST, lost=-420), fact(4, "3S", "3S")]
    told = report(found, [replace(FINE, came=False), small, better], 0.5)
    assert told.rehearsal is not None
    assert told.rehearsal.choice == better
    assert [one.number for one in told.unlucky] == [1]


def test_one_miss_alone_is_luck() -> None:
    told = report([fact(1, "3Lz+3T", "3Lz", Miss.TAIL_LOST, lost=-420), fact(2, "2A", "2A")], [FINE], 0.5)
    assert told.rehearsal is None
    assert words.coach_rehearsal(told)[0].startswith("Nothing new: every choice was the best")


def test_two_misses_of_a_kind_are_worth_a_look_and_the_dearer_kind_wins() -> None:
    found = [
        fact(1, "3Lz+3T", "3Lz", Miss.TAIL_LOST, lost=-420),
        fact(2, "3F", "2F", Miss.POPPED, lost=-350),
        fact(3, "3S+2T", "3S", Miss.TAIL_LOST, lost=-130),
        fact(4, "3Lo", "2Lo", Miss.POPPED, lost=-320),
    ]
    told = report(found, [FINE], 0.5)
    assert told.rehearsal is not None
    assert told.rehearsal.miss is Miss.POPPED  # 6.70 against 5.50
    assert [one.number for one in told.rehearsal.passes] == [2, 4]


def test_two_misses_that_cost_next_to_nothing_are_left_in_peace() -> None:
    found = [fact(n, "2A+2T", "2A+1T", Miss.TAIL_SHORT, lost=-20) for n in (1, 2)]
    assert report(found, [FINE], 0.5).rehearsal is None


def test_a_pass_not_attempted_is_never_practised() -> None:
    found = [fact(n, "3F", None, Miss.NOT_DONE, lost=-530) for n in (1, 2)]
    assert report(found, [FINE], 0.5).rehearsal is None


def test_going_on_after_a_fall_is_a_strength() -> None:
    fell, then = fact(1, "3Lz", "3Lz", Miss.FELL, lost=-100), fact(2, "2A", "2A")
    strengths = report([fell, then], [], 0.5).strengths
    assert strengths.after_fall == (then,)
    assert strengths.kept == (then,)


def test_a_right_change_that_came_is_a_strength_and_one_that_did_not_is_said_to_be_right() -> None:
    came = Decision(5, "2A", "2A+2T", "2A+2T", 0.0, right=True, came=True)
    told = report([fact(1, "3Lz", "3Lz")], [came, replace(came, number=6, came=False)], 0.5)
    assert told.strengths.changed_well == (came,)
    assert list(words.coach_choices(told)) == [
        "Pass 6: 2A+2T was the right choice; it did not come off this time."
    ]


@pytest.mark.parametrize(
    ("tried", "came", "fall", "error", "called", "expected"),
    [
        ("3Lz+3T", "3Lz", False, True, "3Lz", {Miss.TAIL_LOST}),
        ("3Lz+3T", "3Lz", True, True, "3Lz", {Miss.FELL, Miss.TAIL_LOST}),
        ("3F", "2F", False, True, "2F", {Miss.POPPED}),
        ("3F", "3F", False, True, "3F", {Miss.UNCLEAN}),
        ("2A+2T", "2A+1T", False, False, "2A+1T*", {Miss.TAIL_SHORT, Miss.RULE}),
        ("3Lz", "3Lz", False, False, "3Lz<", {Miss.TURNS}),
        ("3Lz", "3Lz", False, False, "3Lze", {Miss.EDGE}),
        ("3Lz", "3Lz", False, False, "3Lz+REP", {Miss.RULE}),
        ("3Lz", "3Lz", False, False, "3Lz", set()),
    ],
)
def test_every_way_to_miss_is_told_apart(
    tried: str, came: str, fall: bool, error: bool, called: str, expected: set[Miss]
) -> None:
    """Called codes as they stand on sheets; what they mean is the published key of the panel's marks."""
    book = engine.edition("isu/2025-26/senior/women/free")
    log = (Tried(tried, came, fall, error),)
    bare = called.replace("*", "").replace("+REP", "")
    rows = (Called(bare, called),)
    lines, skate = _one(tried, came, fall, bare)
    found = facts(lines, price(book, lines, skate).costs, [tried], log, rows, with_sheet=True)
    assert set(found[0].misses) == expected


def _one(tried: str, came: str, fall: bool, called: str) -> tuple[tuple[Beside, ...], Skate]:
    """A program of one pass, called so, with its grade at 0."""
    row, log = engine.Performed(called, False, fall, fall), engine.Performed(came, False, fall, fall)
    score = engine.review(engine.edition("isu/2025-26/senior/women/free"), [row]).lines[0].base_value
    return (Beside(0, 0, 0),), Skate((engine.Performed(tried),), (log,), (row,), (0,), (score,))


@pytest.mark.parametrize("seed", range(200))
def test_whatever_happened_strengths_come_first_and_a_guardian_reads_no_code(seed: int) -> None:
    """Skates from fixed seeds with pops, falls, calls, changed places: each report says something good, in words."""
    name, lines, skate = skate_of(seed)
    book = engine.edition(name)
    planned = [one.code for one in skate.planned]
    log = tuple(
        Tried(planned[n], None) if one is None else Tried(one.code, one.code, one.fall, one.error)
        for n, one in enumerate(skate.tried)
    )
    ruled = engine.review(book, skate.called).lines
    rows = [Called(one.code, line.code) for one, line in zip(skate.called, ruled, strict=True)]
    passes = facts(lines, price(book, lines, skate).costs, planned, log, rows, with_sheet=True)
    told = report(passes, (), 0.5)
    plain = [*words.guardian_strengths(told), *words.guardian_others(told), *words.guardian_rehearsal(told)]
    assert not [text for text in plain if CODES.search(text)]
    assert list(words.coach_strengths(told, with_sheet=True))
    assert list(words.guardian_strengths(told))
    assert len(words.guardian_rehearsal(told)) <= 2
