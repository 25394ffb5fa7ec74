"""Whole hundredths and the one rounding function.

Expected roundings are half up, away from zero, worked out by hand; the reason for half up is in the sheets:
3.92 x 1.1 x 0.7 = 3.0184 -> 3.02 and 7.76 x 0.77 = 5.9752 -> 5.98 (rounded once), 4.725 -> 4.73.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given, strategies as st

from app.domain.points import as_float, half_up, read_points, show

# numerator, denominator, nearest whole number with halves away from zero
ROUNDINGS = [
    (0, 1, 0),
    (0, 7, 0),
    (1, 2, 1),
    (-1, 2, -1),
    (3, 2, 2),
    (-3, 2, -2),
    (5, 2, 3),  # to even would be 2
    (-5, 2, -3),
    (7, 3, 2),
    (8, 3, 3),
    (-7, 3, -2),
    (-8, 3, -3),
    (1, 3, 0),
    (-1, 3, 0),
    (49, 100, 0),
    (50, 100, 1),
    (-49, 100, 0),
    (-50, 100, -1),
    (392 * 77, 100, 302),
    (776 * 77, 100, 598),
]


@pytest.mark.parametrize(("numerator", "denominator", "nearest"), ROUNDINGS)
def test_halves_go_away_from_zero(numerator: int, denominator: int, nearest: int) -> None:
    assert half_up(numerator, denominator) == nearest


@given(st.integers(-(10**9), 10**9), st.integers(1, 10**6))
def test_rounding_agrees_with_decimal_arithmetic(numerator: int, denominator: int) -> None:
    """Against the standard library; fractions that decimals cannot hold are far enough from a half."""
    exact = Fraction(numerator, denominator)
    quotient = Decimal(numerator) / Decimal(denominator)
    if Fraction(quotient) != exact:  # 28 digits: never within 1e-12 of a half unless it is one
        assert abs(Fraction(quotient) - exact) < Fraction(1, 10**12)
    assert half_up(numerator, denominator) == int(quotient.quantize(Decimal(1), ROUND_HALF_UP))


@given(st.integers(-(10**9), 10**9), st.integers(1, 10**6))
def test_rounding_is_symmetric(numerator: int, denominator: int) -> None:
    assert half_up(-numerator, denominator) == -half_up(numerator, denominator)


@pytest.mark.parametrize("denominator", [0, -1])
def test_a_denominator_must_be_positive(denominator: int) -> None:
    with pytest.raises(ValueError, match=f"denominator must be positive, got {denominator}"):
        half_up(1, denominator)


@pytest.mark.parametrize(
    ("points", "printed"),
    [
        (1059, "10.59"),
        (0, "0.00"),
        (5, "0.05"),
        (-5, "-0.05"),
        (-100, "-1.00"),
        (-1050, "-10.50"),
        (100000, "1000.00"),
    ],
)
def test_points_as_printed_on_a_sheet(points: int, printed: str) -> None:
    assert show(points) == printed
    assert read_points(printed) == points
    assert as_float(points) == float(printed)


@given(st.integers(-(10**7), 10**7))
def test_what_is_shown_can_be_read(points: int) -> None:
    assert read_points(show(points)) == points


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("1.005", "not in whole hundredths: '1.005'"),
        ("ten", "not a number: 'ten'"),
        ("", "not a number: ''"),
        ("NaN", "not in whole hundredths: 'NaN'"),
        ("Infinity", "not in whole hundredths: 'Infinity'"),
    ],
)
def test_a_figure_that_is_none_is_named(text: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        read_points(text)
