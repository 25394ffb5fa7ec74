"""The taps: what each button stands for.

Outside facts: Technical Panel Handbook 2025/26 as paraphrased in the rules sheet (a popped jump counts as the
jump with the turns achieved; a jump after a fall or step-out makes `J1+COMBO+J2`; an over-rotated double is the
next jump downgraded, "2T or 3T<<" being the pair that cannot be told apart from the boards).
"""

from __future__ import annotations

import pytest
from hypothesis import given, strategies as st

from app.domain.notation import parse_jump_element
from app.live.pad import Group, tap_of, taps

LEADS = st.sampled_from(["3Lz", "3F", "3Lo", "3S", "3T", "2A", "3A", "4T", "2F", "1Lz"])
TAILS = st.sampled_from(["", "+2T", "+3T", "+2T+2Lo", "+Eu+3S", "+2A+SEQ", "+2A+2T+SEQ"])


def readings(tried: str, key: str) -> list[tuple[str, bool]]:
    """(code, fall) of each reading of a tap."""
    tap = tap_of(tried, key)
    assert tap is not None, f"no tap {key} for {tried}: {[one.key for one in taps(tried)]}"
    return [(reading.code, reading.fall) for reading in tap.readings]


@pytest.mark.parametrize(
    ("tried", "key", "expected"),
    [
        ("3Lz+3T", "planned", [("3Lz+3T", False)]),
        ("3Lz+3T", "fell-1", [("3Lz", True)]),  # a fall on the lead: no second jump, so a solo jump
        ("3Lz+3T", "fell-2", [("3Lz+3T", True)]),
        ("3Lz+3T", "lost-2", [("3Lz", False)]),
        ("3Lz+3T", "shortened", [("3Lz+2T", False)]),
        ("3Lz+3T", "popped-1", [("2Lz", False)]),
        ("3Lz+3T", "popped-2", [("1Lz", False)]),
        ("3Lz+3T", "popped-shortened", [("2Lz+2T", False)]),
        ("3Lz+3T", "broken", [("3Lz+COMBO+3T", False)]),
        ("3F+2T+2Lo", "lost-3", [("3F+2T", False)]),
        ("3F+2T+2Lo", "lost-2", [("3F", False)]),
        ("3F+Eu+3S", "lost-3", [("3F", False)]),  # an Euler only counts between two listed jumps
        ("Eu+3S", "popped-1", [("2S", False)]),  # an Euler with no jump before it is not listed
        # TPH25: behind an Euler an Axel makes no sequence
        ("3F+Eu+2A", "broken", [("3F+COMBO+Eu+2A", False)]),
        ("3S+2A+SEQ", "lost-2", [("3S", False)]),
        ("3S+2A+SEQ", "broken", [("3S+SEQ+2A", False)]),
        ("2A", "popped-1", [("1A", False)]),
        ("2A", "popped-1T", [("1A+1T", False)]),  # the reflex tail that burns a unit
        ("2A", "bare", [("A", False)]),
        ("3Lz+3T", "doubt-fell-1", [("3Lz", True), ("3Lz<", True), ("3Lz<<", True)]),
        ("3Lz+3T", "doubt-fell-2", [("3Lz+3T", True), ("3Lz+3T<", True), ("3Lz+3T<<", True)]),
        ("3Lz+3T", "doubt-short-or-<<", [("3Lz+2T", False), ("3Lz+3T<<", False)]),
    ],
)
def test_what_a_tap_stands_for(tried: str, key: str, expected: list[tuple[str, bool]]) -> None:
    assert readings(tried, key) == expected


@given(LEADS, TAILS)
def test_every_tap_is_a_readable_code_and_no_two_are_the_same(lead: str, tail: str) -> None:
    found = taps(lead + tail)
    for tap in found:
        for reading in tap.readings:
            assert str(parse_jump_element(reading.code)) == reading.code
        assert sum(reading.chance for reading in tap.readings) == 1
    assert len({tap.key for tap in found}) == len(found)
    assert len({tap.readings for tap in found}) == len(found)


@given(LEADS, TAILS)
def test_the_first_tap_is_as_planned_and_only_doubt_has_several_readings(lead: str, tail: str) -> None:
    """Two that look alike; or a fall in three: turned round, short, far short."""
    found = taps(lead + tail)
    assert (found[0].key, found[0].shows) == ("planned", lead + tail)
    for tap in found:
        fell = tap.group is Group.DOUBT and "fell" in tap.key
        assert len(tap.readings) == (3 if fell else 2 if tap.group is Group.DOUBT else 1)
        assert not fell or all(reading.fall and reading.error for reading in tap.readings)


@given(LEADS, TAILS)
def test_a_slip_never_has_more_turns_or_jumps_than_was_tried(lead: str, tail: str) -> None:
    tried = parse_jump_element(lead + tail)
    for tap in taps(lead + tail):
        if tap.group is not Group.MAIN:
            continue
        came = parse_jump_element(tap.readings[0].code)
        assert len(came.jumps) <= len(tried.jumps)
        for mine, theirs in zip(came.jumps, tried.jumps, strict=False):
            assert (mine.revolutions or 0) <= (theirs.revolutions or 0)


def test_an_unknown_key_has_no_tap() -> None:
    assert tap_of("3Lz", "flew") is None
