"""What the scoring refuses names the field, and the limits of a mark are allowed themselves (0 and 10.00)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from app.domain.notation import parse_element
from app.errors import InputError
from app.rulebook.editions import edition
from app.scoring.base_value import base_value
from app.scoring.components import component_points, panel_mean

WOMEN = edition("isu/2025-26/senior/women/free")


@pytest.mark.parametrize("mark", [Decimal(0), Decimal(10)])
def test_the_ends_of_the_scale_are_marks(mark: Decimal) -> None:
    assert panel_mean(WOMEN, [mark, mark, mark]) == mark * 100


@pytest.mark.parametrize("mark", [Decimal("-0.01"), Decimal("10.01"), Decimal("7.255")])
def test_a_mark_off_the_scale_names_the_field(mark: Decimal) -> None:
    with pytest.raises(InputError) as caught:
        panel_mean(WOMEN, [mark])
    assert caught.value.field == "judges"


def test_an_unknown_component_names_the_field() -> None:
    with pytest.raises(InputError) as caught:
        component_points(WOMEN, "Charm", None, [Decimal(8)])
    assert caught.value.field == "name"


def test_no_late_credit_unless_it_is_given() -> None:
    """3Lz 5.90; with the factor 1.1 it is 6.49."""
    element = parse_element("3Lz")
    assert (base_value(WOMEN, element), base_value(WOMEN, element, True)) == (590, 649)
