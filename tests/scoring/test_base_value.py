"""Base values: sums, `+REP` and the late factor rounded once. Figures: official sheets or plain arithmetic.

Sheets = official judges' details of ISU events; SOV26 = ISU Communication 2786; base values 2019/20-2025/26 in
hundredths: 2T 130, 2S 130, 2F 180, 2Lz 210, 2A 330, 3T 420, 3S 430, 3Lo 490, 3F 530, 3Lz 590, 3A 800, 4T 950, 4S 970,
4Lz 1150.
"""

from __future__ import annotations

import pytest

from app.domain.notation import parse_element
from app.errors import InputError
from app.rulebook.editions import edition
from app.scoring.base_value import base_value, jump_value, reference_value

PRINTED = [
    # season, code as called, late credit, base value as printed
    ("2025-26", "3Lz", False, 590),
    ("2025-26", "3Lz+3T", False, 1010),
    ("2025-26", "3Lz+REP", False, 413),  # 5.90 x 0.7
    ("2025-26", "3Lz<<", False, 210),  # the value of 2Lz
    ("2025-26", "3S<<+REP", False, 91),  # 1.30 x 0.7, sheet
    ("2025-26", "3T<+REP", False, 235),  # 3.36 x 0.7 = 2.352, sheet
    ("2025-26", "3A+REP", True, 616),  # 8.00 x 0.77, sheet
    ("2025-26", "4Tq+2T*+REP", True, 732),  # 9.50 x 0.77 = 7.315, sheet
    ("2025-26", "2A+2A*+2T*+SEQ+REP", True, 254),  # 3.30 x 0.77 = 2.541, sheet
    ("2025-26", "2Lz+2A*+2T*+SEQ+REP", True, 162),  # 2.10 x 0.77 = 1.617, sheet
    ("2025-26", "3Lo<+REP", True, 302),  # 3.92 x 0.77 = 3.0184; rounded twice it would be 3.01
    ("2025-26", "4S<+REP", True, 598),  # 7.76 x 0.77 = 5.9752; rounded twice it would be 5.97
    ("2025-26", "3Lz*+1Eu+3S", True, 528),  # (0.50 + 4.30) x 1.1, sheet
    ("2025-26", "2S+1Eu+COMBO+3S*", True, 198),  # (1.30 + 0.50) x 1.1, sheet
    ("2025-26", "3F+SEQ+2A*", True, 583),  # 5.30 x 1.1, sheet
    ("2025-26", "3Lz+2Aq+SEQ", False, 920),  # sequences at full value since 2022/23, sheet
    ("2025-26", "3F!<+2A+SEQ", True, 829),  # (4.24 + 3.30) x 1.1 = 8.294, sheet
    ("2025-26", "2A", True, 363),
    ("2025-26", "3F", True, 583),
    ("2025-26", "A", True, 0),  # no revolutions, no value
    ("2025-26", "3Lz+A+SEQ", False, 590),
    ("2025-26", "3Lz*", True, 0),
    ("2025-26", "3F+Eu+3S", False, 1010),  # the season's Euler, however it is written
    ("2026-27", "3F+Eu+3S", False, 960),  # SOV26: 5.30 + 0 + 4.30
    ("2026-27", "3F+1Eu+3S", False, 960),
    ("2026-27", "3F+Eu<<+3S", False, 960),  # not a listed jump: nothing to take away
    ("2018-19", "2F+1Eu+SEQ+2Lo*", False, 184),  # (1.80 + 0.50) x 0.8, official element line
    ("2018-19", "3Lz+SEQ+1Eu*+2S*", False, 472),  # 5.90 x 0.8, official element line
    ("2018-19", "2Lz+1Eu+SEQ+2S*", True, 229),  # 2.31 + 0.55, then x 0.8 = 2.288, official element line
    ("2018-19", "1A+1Eu+SEQ+2S*", True, 141),  # 1.21 + 0.55, then x 0.8 = 1.408, official element line
    # Where nothing else is taken off, those seasons round the sum once: 4.66 + 0.55 + 3.78 would be 8.99.
    ("2019-20", "3F<+1Eu+3S<", True, 900),  # (4.24 + 0.50 + 3.44) x 1.1 = 8.998, sheet
    ("2021-22", "2F<+2T<", True, 273),  # (1.44 + 1.04) x 1.1 = 2.728, sheet; 1.58 + 1.14 would be 2.72
    ("2025-26", "CCoSp4", False, 350),
    ("2025-26", "CCoSp3V", False, 225),  # 3.00 x 0.75, sheets
    ("2025-26", "CCoSp4", True, 350),  # the late factor is for jumps only
    ("2025-26", "CCoSp", False, 0),  # no level
    ("2025-26", "StSq4", False, 390),
    ("2025-26", "ChSq1", False, 300),
    ("2026-27", "ChSp1", False, 350),  # SOV26
    ("2025-26", "FSSp3*", False, 0),
]


@pytest.mark.parametrize(("season", "code", "late", "points"), PRINTED)
def test_base_values_as_printed(season: str, code: str, late: bool, points: int) -> None:
    book = edition(f"isu/{season}/senior/women/free")
    assert base_value(book, parse_element(code), late) == points


def test_a_combination_of_one_jump_keeps_its_value_in_every_short_program() -> None:
    """Sheet 2018/19: 4T+COMBO with late credit printed 10.45; the 80 % of that season never touched it."""
    for season in ("2018-19", "2021-22", "2025-26"):
        book = edition(f"isu/{season}/senior/men/short")
        assert base_value(book, parse_element("4T+COMBO"), credited=True) == 1045


REFERENCES = [
    # what a grade is a share of: the largest value among jumps without star, after their calls (19,900 sheet rows)
    ("3Lz+3T", 590),
    ("2A+3T<<", 330),  # 3T<< is worth 1.30
    ("3F<+3T", 424),  # 5.30 x 0.8 against 4.20
    ("3Lze<+3T", 420),  # 5.90 x 0.6 = 3.54
    ("3Lz*+1Eu+3S", 430),
    ("4Lzq+REP", 1150),  # +REP does not touch it
    ("3Lz*", 0),
    ("A", 0),
    ("CCoSp3V", 225),
    ("CCoSp4*", 0),
]


@pytest.mark.parametrize(("code", "points"), REFERENCES)
def test_what_a_grade_is_a_share_of(code: str, points: int) -> None:
    assert reference_value(edition("isu/2025-26/senior/men/free"), parse_element(code)) == points


def test_a_row_the_season_does_not_have_is_named() -> None:
    """An under-rotated Euler existed until 2021/22 only (sheets: 0.40)."""
    old, new = edition("isu/2021-22/senior/men/free"), edition("isu/2025-26/senior/men/free")
    euler = parse_element("3F+1Eu<+3S").jumps[1]  # type: ignore[union-attr]  # a jump element
    assert jump_value(old, euler) == 40
    with pytest.raises(InputError, match=r"the values of 2025-26 know 1Eu only as .*not '<'"):
        jump_value(new, euler)
    with pytest.raises(InputError, match="the values of 2025-26 have no 'ChSp1'"):
        base_value(new, parse_element("ChSp1"))
