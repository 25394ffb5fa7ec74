"""Components: trimmed mean to a hundredth, times the factor, half up.

Figures by hand; factors from sheets 2022/23-2025/26.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from app.errors import InputError
from app.rulebook.editions import edition
from app.scoring.components import component_points, panel_mean

WOMEN = edition("isu/2025-26/senior/women/free")
MEN = edition("isu/2025-26/senior/men/free")
SHORT = edition("isu/2025-26/senior/women/short")


def marks(text: str) -> list[Decimal]:
    return [Decimal(mark) for mark in text.split()]


@pytest.mark.parametrize(
    ("given", "mean"),
    [
        ("8.00 8.25 8.00 7.75 8.00", 800),
        ("7.25 7.50 7.25 7.50 7.25", 733),  # without ends 7.25 + 7.25 + 7.50 = 22.00 / 3
        ("7.25 7.50", 738),  # 7.375, half up
        ("7.25 7.50 7.50 7.50", 744),  # four judges, nothing dropped: 29.75 / 4 = 7.4375
        ("0.25 9.00 9.00 9.00 10.00", 900),
        ("7.50", 750),
        ("", 0),
    ],
)
def test_the_mean_of_a_panel(given: str, mean: int) -> None:
    assert panel_mean(WOMEN, marks(given)) == mean


@pytest.mark.parametrize(
    ("book", "given", "points"),
    [
        (WOMEN, "8.00 8.25 8.00 7.75 8.00", 2136),  # 8.00 x 2.67
        (MEN, "7.25 7.50 7.25 7.50 7.25", 2441),  # 7.33 x 3.33 = 24.4089
        (SHORT, "7.50", 998),  # 7.50 x 1.33 = 9.975, half up
        (SHORT, "6.50", 865),  # 8.645, half up: a binary float would fall below
    ],
)
def test_points_of_a_component(book: object, given: str, points: int) -> None:
    assert component_points(book, "Composition", None, marks(given)) == points  # type: ignore[arg-type]


def test_a_factor_given_with_the_marks_wins() -> None:
    """Contract: a component's own factor wins over the edition's, so that any sheet can be scored."""
    assert component_points(WOMEN, "Composition", Decimal("2.00"), marks("8.00")) == 1600
    assert component_points(WOMEN, "Timing", Decimal("1.6"), marks("8.00")) == 1280


def test_a_component_is_known_in_any_case() -> None:
    assert component_points(WOMEN, "skating SKILLS", None, marks("8.00")) == 2136


def test_an_unknown_component_is_answered_with_the_known_ones() -> None:
    with pytest.raises(
        InputError, match=r"no component 'Timing' in .*expected Composition, Presentation, Skating Skills"
    ):
        component_points(WOMEN, "Timing", None, marks("8.00"))


@pytest.mark.parametrize("mark", ["-0.25", "10.25", "82.5"])
def test_a_mark_off_the_scale_is_named(mark: str) -> None:
    with pytest.raises(InputError, match=f"component mark {mark}; expected"):
        panel_mean(WOMEN, marks(mark))


def test_a_mark_finer_than_a_hundredth_is_refused() -> None:
    """Marks go in quarters; 8.005 cannot stand on a sheet."""
    with pytest.raises(InputError, match=r"component mark 8\.005; expected .* in hundredths"):
        panel_mean(WOMEN, marks("8.005"))
