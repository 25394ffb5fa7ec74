"""Deductions: falls, graded where the rulebook grades them."""

from __future__ import annotations

from app.domain.points import Points
from app.domain.words import say
from app.errors import InputError
from app.rulebook.editions import Edition


def falls_deduction(edition: Edition, falls: int) -> Points:
    """Hundredths taken off for so many falls: zero or negative, as on a sheet."""
    if falls < 0:
        raise InputError("falls", say("%(falls)s; expected zero or more", falls=falls))
    return -sum(edition.fall_deduction(nth) for nth in range(1, falls + 1))
