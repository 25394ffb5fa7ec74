"""The warm-up switch: which choice counts, in what layouts differ, how likely a fall is. All programs are invented."""

from __future__ import annotations

import itertools
from typing import Any

import pytest
from hypothesis import given, strategies as st

from app.live.events import (
    Author,
    Corrected,
    Event,
    LayoutChosen,
    PassLeftOut,
    PassSkated,
    Reading,
    Redone,
    Stamped,
    Undone,
)
from app.live.program import PlannedPass
from app.live.warm_up import Figures, chosen_letter, cost_words, difference, fall_chance, may_choose


def at(name: str, moment: float, event: Event) -> Stamped:
    """An event with its id and moment."""
    return Stamped(name, moment, Author(), event)


FIRST = PassSkated(1, "3F", "as planned", (Reading("3F"),))
B, C = at("b", 1, LayoutChosen("B")), at("c", 2, LayoutChosen("C"))
PASS = at("p", 3, FIRST)
LATE = at("l", 4, LayoutChosen("A"))


@pytest.mark.parametrize(
    ("log", "letter"),
    [
        ([], ""),
        ([B], "B"),
        ([B, C], "C"),
        ([B, C, PASS, LATE], "C"),
        ([PASS, LATE], ""),
        ([at("o", 3, PassLeftOut(1)), LATE], ""),
        ([B, PASS, at("u", 3.5, Undone(1, ("p",))), LATE], "A"),
        # The undo was taken back: the pass counts again, from when it was tapped.
        ([B, PASS, at("u", 3.5, Undone(1, ("p",))), LATE, at("r", 5, Redone(("u",)))], "B"),
        # A correction keeps the moment of the pass it puts right.
        ([B, PASS, LATE, at("k", 6, Corrected(PassLeftOut(1), ("p",)))], "B"),
    ],
)
def test_the_last_choice_before_the_first_pass_counts(log: list[Stamped], letter: str) -> None:
    # The issue: "choosing before the start"; after the first logged pass it cannot be changed any more.
    assert chosen_letter(log) == letter


@given(st.permutations([B, C, PASS, LATE, at("u", 5, Undone(1, ("p",))), at("r", 6, Redone(("u",)))]))
def test_neither_order_of_arrival_nor_a_second_sending_changes_the_choice(log: list[Stamped]) -> None:
    assert chosen_letter(log) == chosen_letter([*log, *reversed(log)]) == "C"
    assert not may_choose(log)


def test_a_choice_may_be_made_until_a_pass_counts() -> None:
    assert may_choose([B])
    assert not may_choose([B, PASS])
    assert may_choose([B, PASS, at("u", 5, Undone(1, ("p",)))])


def rows(*codes: str, late_from: int = 9) -> list[PlannedPass]:
    """Passes of an invented layout; the second half begins with pass `late_from`."""
    return [PlannedPass(code, 20 * n, n >= late_from) for n, code in enumerate(codes, start=1)]


@pytest.mark.parametrize(
    ("other", "words"),
    [
        (rows("3F", "3A", "3S"), ""),
        (rows("3F", "2A", "3S"), "2A instead of 3A on pass 2"),
        (rows("3S", "3A", "3F"), "3F and 3S change places, passes 1 and 3"),
        (rows("3F", "3A"), "without 3S, pass 3"),
        (rows("3F", "3A", "3S", "2A"), "2A more, pass 4"),
        (rows("3F", "3A", "3S", late_from=3), "pass 3 in the second half"),
        (rows("2F", "2A", "3S"), "2F instead of 3F on pass 1, 2A instead of 3A on pass 2"),
    ],
)
def test_what_differs_from_a_in_words(other: list[PlannedPass], words: str) -> None:
    assert difference(rows("3F", "3A", "3S"), other) == words


def test_what_it_costs_in_words() -> None:
    usual = Figures(60.0, 62.0, 0.52)
    assert cost_words(usual, Figures(58.6, 61.0, 0.26)) == (
        "1.4 points less on average, a fall half as likely (26 % instead of 52 %)"
    )
    assert cost_words(usual, Figures(60.7, 61.0, 0.6)) == (
        "0.7 points more on average, a fall more likely (60 % instead of 52 %)"
    )
    assert cost_words(usual, Figures(60.04, 61.0, 0.52)) == (
        "the same points on average, a fall just as likely (52 %)"
    )


def ends(fall: float, *others: float) -> list[dict[str, Any]]:
    """An invented element's outcomes: a fall of that chance, and others."""
    return [{"becomes": "x", "chance": fall, "fall": True}, *({"becomes": "x", "chance": c} for c in others)]


def test_the_chance_of_a_fall_is_that_of_every_course_of_the_program_added_up() -> None:
    own = {"attempts": {"2A": ends(0.4, 0.6)}, "attempts_after_fall": {"2A": ends(0.9, 0.1)}}
    question = {
        "passes": [{"planned": "3F"}, {"planned": "2A"}, {"planned": "2A"} | own],
        "attempts": {"3F": ends(0.25, 0.5, 0.25), "2A": ends(0.1, 0.9)},
    }
    total = 0.0
    tables = [ends(0.25, 0.5, 0.25), ends(0.1, 0.9)]
    for first, second in itertools.product(*tables):
        fell = second.get("fall")
        third = own["attempts_after_fall" if fell else "attempts"]["2A"]
        for last in third:
            if any(one.get("fall") for one in (first, second, last)):
                total += first["chance"] * second["chance"] * last["chance"]
    assert fall_chance(question) == pytest.approx(total)
