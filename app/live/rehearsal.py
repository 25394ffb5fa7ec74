"""A rehearsal: a run-through in which a failure is called at a random pass, for the skater to answer. Pure, no chance.

What may be called is reckoned before the program (`app.practice.rehearsals`) and kept with it; here stands when.
Before each pass a lot falls on one of the failures that may still be called, each as wide as its weight: it falls on
this pass, or on a later one, which waits for its own lot. The lot comes from the seed and the number of the pass
alone, so the same seed calls the same failures, and a pass that is logged anew is not drawn anew.

    at most `most` failures, never more than `MOST`
    none on top of a miss of the skater's own: that one is to be answered
    none while the answer to an earlier one is still to come
    none once somebody was hurt or hit the head, also when the stop has been lifted
    never a fall to be acted out: `app.practice.rehearsals` calls it as what it leaves

A call counts only for a pass that was logged from a screen that showed it (`called` in the event of the pass): a phone
without its connection goes on as in any run-through and calls nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import sha256

from app.domain.notation import parse_jump_element
from app.live.events import FailureCalled, LoggedPass, PassLeftOut, PassSkated, Stopped
from app.live.fold import LiveState, likeliest
from app.live.merge import Slot, in_force, keys_of
from app.live.pad import Tap, taps

MOST = 2
"""Failures called in one run-through at most: as many changes as a skater keeps in mind (needs of the trade)."""
_FINE = 16**12


@dataclass(frozen=True, slots=True)
class Callable:
    """A failure that may be called. `number` of the pass from 1; `weight`: its chance times the points at stake."""

    number: int
    failure: str
    jump: str
    becomes: str | None
    weight: float


@dataclass(frozen=True, slots=True)
class Rehearsal:
    """What a rehearsal calls from: the seed of its lots, the number of calls, and every failure that may be called."""

    seed: int
    most: int
    failures: tuple[Callable, ...]


@dataclass(frozen=True, slots=True)
class CallNow:
    """The failure to call before the pass to come; `id` of its event."""

    id: str
    failure: FailureCalled


@dataclass(frozen=True, slots=True)
class CalledPass:
    """A pass that was skated while a failure was called. `number`: its pass number now; `entry`: what was logged."""

    number: int
    failure: FailureCalled
    entry: LoggedPass

    @property
    def as_called(self) -> bool:
        """Whether the skater did what was called, without a fall."""
        if isinstance(self.entry, PassLeftOut):
            return self.failure.becomes is None
        one = likeliest(self.entry)
        return one.code == self.failure.becomes and not one.fall


def call_now(state: LiveState) -> CallNow | None:
    """The call to make before the pass to come; None when there is none."""
    if not _may_call(state):
        return None
    alive = in_force(state.log).values()
    found = [
        CallNow(one.id, one.event)
        for one in alive
        if isinstance(one.event, FailureCalled) and one.event.number == state.next_key
    ]
    return found[-1] if found else None


def called_passes(state: LiveState) -> tuple[CalledPass, ...]:
    """The passes that were skated under a call, in order: no misses of the skater's own."""
    heard = _heard(state)
    return tuple(
        CalledPass(slot.number, heard[slot.key], slot.entry)
        for slot in state.slots
        if slot.key in heard and not slot.inserted
    )


def draw(rehearsal: Rehearsal, state: LiveState, *, answer_to_come: bool) -> FailureCalled | None:
    """The failure to call before the pass to come, if the lot falls on one.

    `answer_to_come`: whether the live screen still has a swap to make in a later pass.
    """
    heard = len(called_passes(state))
    if heard >= min(rehearsal.most, MOST) or (heard and answer_to_come) or not _may_call(state):
        return None
    here = [one for one in rehearsal.failures if one.number == state.next_key]
    later = sum(one.weight for one in rehearsal.failures if one.number > state.next_key)
    drawn = _drawn([*(one.weight for one in here), later], lot(rehearsal.seed, state.next_key))
    if drawn is None or drawn == len(here):
        return None
    one = here[drawn]
    return FailureCalled(one.number, one.failure, one.jump, one.becomes)


def lot(seed: int, number: int) -> float:
    """The lot of a pass, from 0 up to 1; the same seed and pass give the same."""
    return int(sha256(f"{seed} {number}".encode()).hexdigest()[:12], 16) / _FINE


def as_called(planned: str, failure: FailureCalled) -> Tap | None:
    """The button of a pad that says "done as called"; None where there is none, or nothing is attempted."""
    return next(
        (
            tap
            for tap in taps(planned)
            if len(tap.readings) == 1
            and tap.readings[0].code == failure.becomes
            and not tap.readings[0].fall
            and tap.key != "planned"
        ),
        None,
    )


def _may_call(state: LiveState) -> bool:
    """Whether anything may be called before the pass to come."""
    if state.finished or state.undecided or state.hidden:
        return False
    if any(isinstance(one.event, Stopped) for one in state.log):
        return False
    called = {one.number for one in called_passes(state) if one.as_called}
    return not any(slot.inserted or _missed(slot) for slot in state.slots if slot.number not in called)


def _missed(slot: Slot) -> bool:
    """Whether a pass came out as something else than was tried; a call on turns or edge is none."""
    if isinstance(slot.entry, PassLeftOut):
        return True
    one = likeliest(slot.entry)
    return one.fall or _jumps(one.code) != _jumps(slot.entry.tried)


def _jumps(code: str) -> list[tuple[str, int | None]]:
    return [(jump.takeoff, jump.revolutions) for jump in parse_jump_element(code).jumps]


def _heard(state: LiveState) -> dict[int, FailureCalled]:
    """Failures in force that the screen of a logged pass showed, by its number in the plan; a correction keeps it."""
    known = {one.id: one for one in state.log}
    alive, keys = in_force(state.log), keys_of(known)
    found = {}
    for name, one in known.items():
        if isinstance(one.event, PassSkated | PassLeftOut) and one.event.called in alive:
            failure = alive[one.event.called].event
            if isinstance(failure, FailureCalled) and keys[name] == (failure.number, ""):
                found[failure.number] = failure
    return found


def _drawn(weights: Sequence[float], drawn: float) -> int | None:
    """Place of the weight on which the lot falls; None where nothing weighs."""
    left = drawn * sum(weights)
    for place, weight in enumerate(weights):
        left -= weight
        if left < 0:
            return place
    return None
