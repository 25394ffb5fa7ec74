"""What an official sheet would add to the skater's own log: one attempt a jump pass, at what was meant, as it ended.

What was meant says the live program the sheet belongs to (its log, else its plan); without one nobody knows, and the
element is taken as called, so that a popped jump or a lost tail counts as a landed lesser one: the coach may choose
another. How it ended is read off the call, the worst of the pass:

    fell                an F on the row
    popped, tail lost   fewer turns or jumps than were meant
    <<, <, q, edge      the calls, in this order
    an error            a minus in the GOE
    clean               none of these

A pass that came out from another take-off than was meant says nothing about either jump and is left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from app.domain.elements import Jump, joined
from app.domain.notation import parse_jump_element
from app.live.fold import LiveState
from app.planner.slips import Kind
from app.review.compare import log_of, rows_of, three_columns
from app.review.official import OfficialSheet, SheetRow
from app.review.season.passes import slip_of

_MISSED = {Kind.FELL: "fall", Kind.TAIL_LOST: "tail not tried", Kind.TAIL_SHORT: "tail shortened"}
_CALLED = (("<<", "<<"), ("<", "<"), ("q", "q"))


@dataclass(frozen=True, slots=True)
class SheetAttempt:
    """One jump row of a sheet. `tried`: what was meant; `known`: the live program says so."""

    row: SheetRow
    tried: str
    known: bool


def attempts_on(sheet: OfficialSheet, state: LiveState | None) -> tuple[SheetAttempt, ...]:
    """The jump rows of a sheet with what was meant; `state`: the live program it belongs to."""
    meant = _meant(sheet, state) if state is not None else {}
    return tuple(
        SheetAttempt(row, meant.get(place) or as_called(row), place in meant)
        for place, row in enumerate(sheet.jumps)
    )


def _meant(sheet: OfficialSheet, state: LiveState) -> dict[int, str]:
    """What was meant by the place of each row: as logged, else as planned; nothing for a pass put in."""
    planned, log = [one.code for one in state.plan.passes], log_of(state)
    found = {}
    for line in three_columns(planned, log, rows_of(sheet)):
        if line.called is not None and line.tried is not None:
            found[line.called] = log[line.tried].tried
        elif line.called is not None and line.planned is not None:
            found[line.called] = planned[line.planned]
    return found


def as_called(row: SheetRow) -> str:
    """The element of a row without any call: `3Lz<+3T*` is 3Lz+3T, `3F+COMBO` is 3F."""
    jumps = parse_jump_element(row.code).jumps
    return str(joined([replace(jump, edge="", rotation="", starred=False) for jump in jumps]))


def fate_of(tried: str, row: SheetRow) -> str | None:
    """How an attempt at `tried` ended, one of `app.chances.record.FATES`; None where the row says nothing about it."""
    meant, came = parse_jump_element(tried).jumps, parse_jump_element(row.called).jumps
    if meant[0].revolutions is None or came[0].takeoff != meant[0].takeoff:
        return None
    slip = slip_of(tried, row.called, row.fell)
    if slip is not None:
        return _MISSED.get(slip[0]) or _popped(meant[0], came[0])
    marks = {jump.rotation for jump in came}
    called = next((fate for mark, fate in _CALLED if mark in marks), "")
    if called:
        return called
    if any(jump.edge for jump in came):
        return "edge"
    return "error" if row.goe < 0 else "clean"


def _popped(meant: Jump, came: Jump) -> str:
    """From a double, one turn less is the single already."""
    by_one = (came.revolutions or 0) == (meant.revolutions or 0) - 1
    return "popped by one" if by_one or (meant.revolutions or 0) < 3 else "popped to a single"


def could_be_meant(row: SheetRow, elements: Sequence[str]) -> tuple[str, ...]:
    """Elements of a skater that may have been meant by a row: those from the same take-off that say something of it."""
    came = parse_jump_element(row.called).jumps[0]
    return tuple(
        code
        for code in elements
        if parse_jump_element(code).jumps[0].takeoff == came.takeoff and fate_of(code, row) is not None
    )
