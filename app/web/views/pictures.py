"""The same drawing for layout, live and review: which column is done, next, to come."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from markupsafe import Markup

from app.live.advice import Swap
from app.live.events import LoggedPass, PassLeftOut
from app.live.fold import LiveState, likeliest
from app.live.program import PlannedPass
from app.rulebook.editions import Edition
from app.web.drawing import Column, Mark, Picture, Stage, draw
from app.web.views.live import note_of


def layout_picture(
    title: str,
    edition: Edition,
    passes: Iterable[PlannedPass],
    marks: tuple[Mark, ...],
    notes: dict[int, str],
) -> Markup:
    """The plan alone; `notes` hold a short word by pass number, such as a ruling."""
    columns = tuple(
        Column(row.seconds, row.code, note=notes.get(number, ""))
        for number, row in enumerate(passes, start=1)
    )
    return _drawn("layout", title, edition, columns, marks)


def live_picture(
    title: str,
    edition: Edition,
    state: LiveState,
    marks: tuple[Mark, ...],
    swap: Swap | None = None,
    called: Mapping[int, str] | None = None,
) -> Markup:
    """The program as far as it has been skated, with the swap on the table.

    `called`: codes with the rulebook's stars by pass number, where they may be shown.
    """
    columns = []
    for number, row in enumerate(state.plan.passes, start=1):
        if number <= len(state.logged):
            columns.append(_logged(row, state.logged[number - 1], (called or {}).get(number)))
            continue
        offered = swap.element if swap is not None and swap.number == number else None
        stage = Stage.NEXT if number == state.next_number and not state.stopped else Stage.TO_COME
        columns.append(Column(row.seconds, row.code, stage, offered=offered))
    return _drawn("live", title, edition, tuple(columns), marks)


def _logged(row: PlannedPass, entry: LoggedPass, called: str | None) -> Column:
    if isinstance(entry, PassLeftOut):
        return Column(row.seconds, row.code, Stage.LEFT_OUT)
    skated = called or likeliest(entry).code
    return Column(row.seconds, row.code, Stage.DONE, skated=skated, note=note_of(entry))


def _drawn(
    key: str, title: str, edition: Edition, columns: tuple[Column, ...], marks: tuple[Mark, ...]
) -> Markup:
    return draw(Picture(key, title, edition.half_way_seconds * 2, edition.half_way_seconds, columns, marks))
