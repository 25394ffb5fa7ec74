"""A filled sheet of paper means the same as taps. Which boxes there are is common practice, no source; what a lost
tail, a pop or a fall leaves is the rulebook's (Technical Panel Handbook 2025/26), as on the pad."""

from __future__ import annotations

import pytest

from app.errors import InputError
from app.live.events import PassLeftOut, PassSkated
from app.live.tally import Box, boxes_of, logged

CLEAN, POPPED, FELL, LOST, OUT = Box.CLEAN, Box.POPPED, Box.FELL, Box.TAIL_LOST, Box.NOT_DONE


@pytest.mark.parametrize(
    ("tried", "ticked", "came", "fall"),
    [
        ("3Lz+3T", {CLEAN}, "3Lz+3T", False),
        ("3Lz+3T", {LOST}, "3Lz", False),
        ("3Lz+3T", {POPPED}, "2Lz+3T", False),
        ("3Lz+3T", {POPPED, LOST}, "2Lz", False),
        ("3Lz+3T", {FELL}, "3Lz+3T", True),
        ("3Lz+3T", {FELL, LOST}, "3Lz", True),
        ("3F", {POPPED}, "2F", False),
        ("3F", {FELL}, "3F", True),
        ("3F", {POPPED, FELL}, "2F", True),
        ("3F+2T+2Lo", {LOST}, "3F+2T", False),
        ("3F+Eu+3S", {LOST}, "3F", False),
        ("3F+Eu+3S", {FELL}, "3F+Eu+3S", True),
        ("2A+2T", {CLEAN}, "2A+2T", False),
    ],
)
def test_ticks_say_what_happened(tried: str, ticked: set[Box], came: str, fall: bool) -> None:
    event = logged(3, tried, ticked)
    assert isinstance(event, PassSkated)
    assert (event.number, event.tried) == (3, tried)
    (reading,) = event.readings
    assert (reading.code, reading.fall) == (came, fall)


def test_not_done_is_a_pass_left_out() -> None:
    assert logged(2, "3F", {OUT}) == PassLeftOut(2)


@pytest.mark.parametrize(
    ("tried", "ticked", "why"),
    [
        ("3F", set(), "pass 4: nothing is ticked"),
        ("3F", {CLEAN, FELL}, "'clean' and 'fell' ticked; 'clean' and 'not done' stand alone"),
        ("3F", {OUT, POPPED}, "'popped' and 'not done' ticked"),
        ("3F", {LOST}, "3F has no tail"),
        ("1A", {POPPED}, "1A cannot end so"),
    ],
)
def test_what_cannot_be_read_is_refused_by_its_pass(tried: str, ticked: set[Box], why: str) -> None:
    with pytest.raises(InputError, match=r"pass 4") as told:
        logged(4, tried, ticked)
    assert why in str(told.value)


def test_only_an_element_with_a_tail_has_the_box_for_it() -> None:
    assert LOST in boxes_of("2A+2T")
    assert LOST not in boxes_of("2A")
