"""The late factor: which jump elements get it.

The last three (free) or the last one (short) of the jump elements started in the second half.
An element without value still uses up a place (sheets: no program of 1605 has it otherwise).
"""

from __future__ import annotations

from collections.abc import Sequence

from app.rulebook.editions import Edition


def credited(edition: Edition, late: Sequence[bool]) -> tuple[bool, ...]:
    """For each jump element in order, whether it gets the factor; `late` says which started late."""
    late_places = [place for place, is_late in enumerate(late) if is_late]
    last = edition.rules.late.last
    chosen = set(late_places[-last:]) if last else set()
    return tuple(place in chosen for place in range(len(late)))
