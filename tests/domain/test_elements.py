"""What the rules may ask of an element. Terms: ISU Technical Panel Handbook 2025/26 (TPH25)."""

from __future__ import annotations

import pytest

from app.domain.elements import Jump, JumpElement, OtherElement
from app.domain.notation import parse_element, parse_jump_element


def test_a_downgraded_jump_keeps_the_name_of_what_was_intended() -> None:
    """TPH25, repetitions: quarter, under-rotated and downgraded jumps count as the intended jump."""
    for call in ("3T", "3Tq", "3T<", "3T<<"):
        assert parse_jump_element(call).jumps[0].name == "3T"


@pytest.mark.parametrize(
    ("code", "variant"),
    [
        ("3Lz", "clean"),
        ("3Lzq", "q"),
        ("3Lz<<", "<<"),
        ("3Lze", "e"),
        ("3Lz!<", "!<"),
        ("3Lze<<", "e<<"),
        ("3Lz*", "clean"),
    ],
)
def test_the_variant_is_what_the_value_table_calls_it(code: str, variant: str) -> None:
    """Column heads of the scale of values 2026/27 (Communication 2786)."""
    assert parse_jump_element(code).jumps[0].variant == variant


@pytest.mark.parametrize(
    ("code", "unit", "sequence", "combo", "held"),
    [
        ("3Lz", False, False, False, 1),
        ("3Lz+3T", True, False, False, 2),
        ("3F+2A+SEQ", True, True, False, 2),  # a mark behind the last jump breaks nothing
        ("3Lz+2A+2T+SEQ", True, True, False, 3),
        ("3T+COMBO", True, False, True, 1),  # one jump only (short program)
        ("3T+COMBO+2T", True, False, True, 1),  # TPH25: fall or step-out between the jumps
        ("2A+1Eu+COMBO+3S", True, False, True, 2),
        ("3S+SEQ+2T+2A", True, True, False, 1),
    ],
)
def test_units_marks_and_breaks(code: str, unit: bool, sequence: bool, combo: bool, held: int) -> None:
    element = parse_jump_element(code)
    assert (element.is_unit, element.is_sequence, element.is_marked_combo) == (unit, sequence, combo)
    assert element.broken_after == held


@pytest.mark.parametrize(
    ("code", "upto", "first"),
    [
        ("3Lz+2T+2Lo", 2, "3Lz+2T"),
        ("3F+1Eu+3S", 2, "3F"),  # TPH25: an Euler is a jump only between two listed jumps
        ("3F+2A+2T+SEQ", 2, "3F+2A+SEQ"),  # what is left is a sequence still
        ("3S+2T+2A+SEQ", 2, "3S+2T"),  # nothing left of the step to the Axel
        ("3F+1Eu+2A+2T", 3, "3F+1Eu+2A"),  # TPH25: listed jump, Euler, three-turn, Axel stays a combination
        ("3S+SEQ+2T+2A", 1, "3S"),
    ],
)
def test_the_first_jumps_of_an_element(code: str, upto: int, first: str) -> None:
    assert str(parse_jump_element(code).first(upto)) == first


def test_as_executed_an_element_has_no_rulings() -> None:
    """Stars and +REP are the rulebook's; +COMBO, +SEQ and the calls are the panel's and stay."""
    assert str(parse_element("3Lze<*+SEQ+2A*+REP").without_rulings()) == "3Lze<+SEQ+2A"
    assert str(parse_element("FSSp3V*").without_rulings()) == "FSSp3V"


def test_axels_and_eulers_are_known_by_take_off() -> None:
    axel, euler, toe = parse_jump_element("1A+1Eu+3T").jumps
    assert (axel.is_axel, euler.is_axel, toe.is_axel) == (True, False, False)
    assert (axel.is_euler, euler.is_euler, toe.is_euler) == (False, True, False)


def test_values_cannot_be_changed_and_compare_by_content() -> None:
    assert Jump("T", 3) == Jump("T", 3)
    assert JumpElement((Jump("T", 3),)) == parse_element("3T")
    assert hash(parse_element("CCoSp4")) == hash(OtherElement("spin", "CCoSp", "4"))
    with pytest.raises(AttributeError):
        Jump("T", 3).revolutions = 4  # type: ignore[misc]  # the point of the test


def test_other_elements_are_never_repeats() -> None:
    assert OtherElement("steps", "StSq", "3").repeat is False
