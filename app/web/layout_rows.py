"""Changing the rows of a layout that another phone or window may be changing at the same moment.

A form says which row it means by its place, and by a mark of what the row said when the page was made. If rows have
moved since, the row is found by its mark; if it is another one by now, nothing is changed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from app.domain.words import say
from app.errors import ChangedMeanwhile, InputError
from app.storage.records import LayoutItem, LayoutRecord, SkaterRecord
from app.storage.stores import Stores
from app.web.views.layout import layout_view, mark_of


def place_of(items: Sequence[LayoutItem], place: int, was: str) -> int:
    """Where the row now stands that stood at `place` when it said `was` ("": not told, the place alone counts).

    Raises ChangedMeanwhile when no row, or more than one, says that any more; InputError for a place that never was.
    """
    if was:
        here = [at for at, item in enumerate(items) if mark_of(item) == was]
        if place not in here and len(here) != 1:
            raise ChangedMeanwhile(
                say("row"),
                say("it was changed or taken out since this page was made; go back and look at it anew"),
            )
        return place if place in here else here[0]
    if not 0 <= place < len(items):
        raise InputError(
            say("place"),
            say("%(given)s given; this layout has rows 0 to %(count)s", given=place, count=len(items) - 1),
        )
    return place


def change_rows(
    stores: Stores, layout_id: int, change: Callable[[tuple[LayoutItem, ...]], Sequence[LayoutItem]]
) -> None:
    """Put what `change` makes of the rows in their place, in order of their start; nobody else changes them meanwhile.

    Raises NotStored; InputError for what the rulebook has no value for.
    """
    skater = stores.skaters.get(stores.layouts.get(layout_id).skater_id)

    def changed(layout: LayoutRecord) -> LayoutRecord:
        items = sorted(change(layout.items), key=lambda item: item.start)
        return checked(replace(layout, items=tuple(items)), skater)

    stores.layouts.change(layout_id, changed)


def checked(layout: LayoutRecord, skater: SkaterRecord) -> LayoutRecord:
    """The same layout. Raises InputError for what its rulebook has no value for."""
    layout_view(layout, skater)
    return layout
