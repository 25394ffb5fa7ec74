"""Points as whole hundredths, and the one rounding function of the house.

A score sheet is printed in hundredths, so points are `int` hundredths everywhere (`Points`).
Rounding is half up, away from zero, done once per printed figure.
Source: official judges' details sheets 2018/19-2025/26 (19,900 of 19,900 GOE rows agree).
"""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

from app.domain.words import Figure

Points = int
"""Hundredths of a point: 1059 is 10.59."""


def half_up(numerator: int, denominator: int) -> int:
    """`numerator / denominator` to the nearest whole number, halves away from zero.

    >>> half_up(5, 2), half_up(-5, 2), half_up(7, 3)
    (3, -3, 2)
    """
    if denominator <= 0:
        raise ValueError(f"denominator must be positive, got {denominator}")
    size = (2 * abs(numerator) + denominator) // (2 * denominator)
    return size if numerator >= 0 else -size


def show(points: Points) -> Figure:
    """Points as printed on a sheet: `1059` -> `"10.59"`, `-100` -> `"-1.00"`."""
    sign = "-" if points < 0 else ""
    return Figure(f"{sign}{abs(points) // 100}.{abs(points) % 100:02d}")


def read_points(text: str) -> Points:
    """Read a printed figure, `"10.59"` -> `1059`. Raises ValueError when finer than a hundredth."""
    try:
        hundredths = Decimal(text) * 100
    except InvalidOperation:
        raise ValueError(f"not a number: {text!r}") from None
    if not hundredths.is_finite() or hundredths != hundredths.to_integral_value():
        raise ValueError(f"not in whole hundredths: {text!r}")
    return int(hundredths)


def as_float(points: Points) -> float:
    """Points as a JSON number with two decimals."""
    return points / 100
