"""What became of the failures called in a rehearsal: was the live screen's answer tried, and what came of it.

The answer is the one the live screen gave right after the called pass, asked of the planner anew with the elements and
limits of that program. A miss of the skater's own in between may have changed it; then `changed` says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

from app import engine
from app.live.advice import Swap, choose, question
from app.live.events import LoggedPass, PassSkated
from app.live.fold import LiveState
from app.live.program import KnownElement, Limits
from app.live.rehearsal import CalledPass, called_passes
from app.practice.trainer import swaps_of


class Tried(StrEnum):
    """What became of an answer."""

    TRIED = "tried"
    NOT_TRIED = "not tried"
    NOT_REACHED = "not reached"


@dataclass(frozen=True, slots=True)
class Answered:
    """A called failure. `swap` None: the answer was to keep the plan. `entry`: what was logged at the answer's pass.

    `changed`: before the answer was due, the live screen had come to another one.
    """

    call: CalledPass
    swap: Swap | None
    tried: Tried
    entry: LoggedPass | None
    changed: bool = False


def answered(
    state: LiveState, offered: Mapping[str, KnownElement], known: Mapping[str, KnownElement], limits: Limits
) -> tuple[Answered, ...]:
    """Every called failure of a program with its answer, in order.

    Raises InputError where the planner refuses the program.
    """
    calls = called_passes(state)
    if not calls:
        return ()
    planner = engine.Planner(question(state.plan, offered, known, limits))

    def answer_after(number: int) -> Swap | None:
        then = _after(state, number)
        return choose(swaps_of(planner, then), then, offered, limits).swap

    found = []
    for call in calls:
        swap = answer_after(call.number)
        due = swap.number if swap is not None else len(state.plan.passes)
        between = range(call.number + 1, min(due, len(state.logged) + 1))
        changed = any(_what(answer_after(number)) != _what(swap) for number in between)
        found.append(_answered(call, swap, state, changed))
    return tuple(found)


def _answered(call: CalledPass, swap: Swap | None, state: LiveState, changed: bool) -> Answered:
    if swap is None:
        return Answered(call, None, _kept(call, state), None)
    if len(state.logged) < swap.number:
        return Answered(call, swap, Tried.NOT_REACHED, None, changed)
    entry = state.logged[swap.number - 1]
    tried = entry.tried if isinstance(entry, PassSkated) else None
    return Answered(call, swap, Tried.TRIED if tried == swap.element else Tried.NOT_TRIED, entry, changed)


def _kept(call: CalledPass, state: LiveState) -> Tried:
    """Whether the passes after the called one were tried as planned, as far as they were skated."""
    rows = list(zip(state.plan.passes, state.logged, strict=False))[call.number :]
    if any(isinstance(entry, PassSkated) and entry.tried != row.code for row, entry in rows):
        return Tried.NOT_TRIED
    return Tried.TRIED if state.finished else Tried.NOT_REACHED


def _after(state: LiveState, number: int) -> LiveState:
    """The state when `number` passes had been logged."""
    return replace(
        state,
        logged=state.logged[:number],
        slots=state.slots[:number],
        late=state.late[:number],
        undecided=(),
    )


def _what(swap: Swap | None) -> tuple[int, str | None] | None:
    return None if swap is None else (swap.number, swap.element)
