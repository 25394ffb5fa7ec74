"""Where a live program stands on its competition day: the way to the day, and to the skaters before and after."""

from __future__ import annotations

from dataclasses import dataclass

from app.storage.stores import Stores


@dataclass(frozen=True, slots=True)
class Neighbour:
    """The skater before or after, one tap away. `program_id`: 0 as long as nobody has opened that program."""

    start_id: int
    skater: str
    program_id: int


@dataclass(frozen=True, slots=True)
class DayPlace:
    """A start on its day. `before` and `after`: who else starts, those who withdrew left aside."""

    day_id: int
    day: str
    start_id: int
    before: Neighbour | None
    after: Neighbour | None


def place_of(stores: Stores, program_id: int) -> DayPlace | None:
    """The place of a program; None for one that was started by itself."""
    mine = stores.days.of_program(program_id)
    if mine is None:
        return None
    names = {one.id: one.name for one in stores.skaters.all()}
    order = [one for one in stores.days.starts(mine.day_id) if not one.withdrawn or one.id == mine.id]
    here = next(place for place, one in enumerate(order) if one.id == mine.id)
    near = [Neighbour(one.id, names[one.skater_id], one.program_id or 0) for one in order]
    return DayPlace(
        day_id=mine.day_id,
        day=stores.days.get(mine.day_id).name,
        start_id=mine.id,
        before=near[here - 1] if here else None,
        after=near[here + 1] if here + 1 < len(near) else None,
    )
