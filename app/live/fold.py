"""From events to state, and nothing else: pure, no clock, no storage.

`step` takes one event on; `fold` takes a whole log. An event that contradicts the state (a pass out of
order, a tap while the program is stopped) is a `ProgramError`: the screens never write one, so a log that
holds one has been damaged.

Undo takes off the latest pass and leaves everything else: a stop or a confirmation made in between stays.
Hence folding a log equals folding the log without its undone passes; a test holds the two to each other.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from app.errors import ProgramError
from app.live.events import (
    AdviceAllowed,
    AdviceHidden,
    AdviceShown,
    Cleared,
    Event,
    PassLeftOut,
    PassSkated,
    Reading,
    Stopped,
    Undone,
)
from app.live.program import Plan, PlannedPass, Setting

LoggedPass = PassSkated | PassLeftOut


@dataclass(frozen=True, slots=True)
class LiveState:
    """Where a live program stands. `logged` holds one entry a pass, in order."""

    plan: Plan
    logged: tuple[LoggedPass, ...] = ()
    allowed_by: str | None = None
    hidden: bool = False
    stopped: bool = False
    clearances: tuple[Cleared, ...] = ()

    @property
    def next_number(self) -> int:
        """Number of the pass to come, counted from 1; one more than the passes when all are logged."""
        return len(self.logged) + 1

    @property
    def finished(self) -> bool:
        """Whether every pass has been logged."""
        return len(self.logged) >= len(self.plan.passes)

    @property
    def next_pass(self) -> PlannedPass | None:
        """The planned pass to come; None when all are logged."""
        return None if self.finished else self.plan.passes[len(self.logged)]

    @property
    def advice_allowed(self) -> bool:
        """A run-through always; a competition once someone has confirmed that its rules allow advice."""
        confirmed = self.plan.allowed_before or self.allowed_by is not None
        return self.plan.setting is Setting.RUN_THROUGH or confirmed

    @property
    def advice_shown(self) -> bool:
        """Whether advice and points may be on the screen: never while stopped or hidden by someone."""
        return self.advice_allowed and not self.stopped and not self.hidden

    @property
    def just_fell(self) -> bool:
        """Whether the latest pass ended in a fall (in any of its readings)."""
        latest = self.logged[-1] if self.logged else None
        return isinstance(latest, PassSkated) and any(reading.fall for reading in latest.readings)

    @property
    def changes(self) -> int:
        """Passes on which something other than planned was tried; one not attempted is no such choice."""
        pairs = zip(self.logged, self.plan.passes, strict=False)
        return sum(isinstance(entry, PassSkated) and entry.tried != planned.code for entry, planned in pairs)


def likeliest(entry: PassSkated) -> Reading:
    """The reading with the greatest chance; the first of equals."""
    return max(entry.readings, key=lambda reading: reading.chance)


def fold(plan: Plan, events: Iterable[Event]) -> LiveState:
    """The state after all events, from an untouched plan."""
    state = LiveState(plan)
    for event in events:
        state = step(state, event)
    return state


def step(state: LiveState, event: Event) -> LiveState:
    """The state after one more event; `ProgramError` when the event contradicts the state."""
    match event:
        case PassSkated() | PassLeftOut():
            return _log_pass(state, event)
        case Undone():
            return _undo(state, event)
        case AdviceAllowed():
            return replace(state, allowed_by=event.by)
        case AdviceHidden():
            return replace(state, hidden=True)
        case AdviceShown():
            return replace(state, hidden=False)
        case Stopped():
            return replace(state, stopped=True)
        case Cleared():
            return _clear(state, event)


def _log_pass(state: LiveState, event: LoggedPass) -> LiveState:
    if state.stopped:
        raise ProgramError("log", f"pass {event.number} logged while stopped; an adult has to clear it first")
    if state.finished or event.number != state.next_number:
        raise ProgramError("log", f"pass {event.number} logged; expected pass {state.next_number}")
    return replace(state, logged=(*state.logged, event))


def _undo(state: LiveState, event: Undone) -> LiveState:
    if not state.logged or event.number != len(state.logged):
        raise ProgramError("log", f"undo of pass {event.number}; the latest logged is {len(state.logged)}")
    return replace(state, logged=state.logged[:-1])


def _clear(state: LiveState, event: Cleared) -> LiveState:
    if not state.stopped:
        raise ProgramError("log", "cleared without having been stopped; nothing to clear")
    return replace(state, stopped=False, clearances=(*state.clearances, event))
