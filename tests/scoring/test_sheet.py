"""A sheet line by line: which elements are credited, what each scores. Cases from official sheets, values by hand."""

from __future__ import annotations

from app.domain.notation import parse_element
from app.rulebook.editions import edition
from app.scoring.sheet import Scored, score_elements

WOMEN = edition("isu/2025-26/senior/women/free")


def scored(*codes: str) -> list[Scored]:
    """Elements as ruled; an `x` in front means started in the second half."""
    ruled = [parse_element(code.removeprefix("x ")) for code in codes]
    late = [code.startswith("x ") for code in codes]
    return list(score_elements(WOMEN, ruled, late, [()] * len(codes)))


def test_an_element_without_value_uses_up_a_place() -> None:
    """Sheet: last element 1A<< = 0.00, only the two before it gain by the factor."""
    lines = scored("3Lz", "x 3Lo", "x 3F+2T", "x 3S<", "x 1A<<")
    assert [line.credited for line in lines] == [False, False, True, True, True]
    assert [line.base_value for line in lines] == [590, 490, 726, 378, 0]  # 6.60 and 3.44 x 1.1


def test_an_attempt_without_revolutions_uses_up_a_place_and_is_printed_plain() -> None:
    """Sheet: the sixth element an attempted Lutz; the factor stands on the fifth and the seventh only."""
    lines = scored("x 3S", "x 3T", "x Lz", "x 2A")
    assert [line.credited for line in lines] == [False, True, False, True]
    assert [line.base_value for line in lines] == [430, 462, 0, 363]


def test_spins_and_steps_take_no_place() -> None:
    lines = scored("x 3S", "x CCoSp4", "x 3T", "x StSq4", "x 2A", "x ChSq1")
    assert [line.credited for line in lines] == [True, False, True, False, True, False]
    assert [line.base_value for line in lines] == [473, 350, 462, 390, 363, 300]


def test_a_line_scores_its_value_and_its_grade() -> None:
    """5.90 + 1 grade of 0.59."""
    (line,) = score_elements(WOMEN, [parse_element("3Lz")], [False], [[1, 1, 1]])
    assert (str(line.element), line.base_value, line.goe, line.score) == ("3Lz", 590, 59, 649)
