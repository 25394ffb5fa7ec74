"""From events to state, and nothing else: pure, no clock, no storage.

`fold` takes the events of a program in any order and any number of times and gives the state they mean; `step`
adds one more. No event is ever refused: one that contradicts the others (somebody else logged the same pass
differently, a pass is missing before it, the plan has no place left for it) is kept and named in `undecided`, for
the coach to decide. Folding a log equals folding the log without its undone events; a test holds the two together.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from itertools import chain, repeat

from app.live.clock import MusicClock, clock_of
from app.live.events import (
    AdviceAllowed,
    AdviceHidden,
    AimSet,
    Cleared,
    Corrected,
    Event,
    Ids,
    Inserted,
    LoggedPass,
    PassLeftOut,
    PassSkated,
    Reading,
    Stamped,
    Stopped,
    Undone,
)
from app.live.merge import Slot, candidates_of, in_force, keys_of, lateness, moment_of, slot_of, stamp
from app.live.program import Plan, PlannedPass, Setting

Key = tuple[int, str]
"""A pass as events name it: its number without insertions, and the id of the insertion or ""."""


EXPECTED = AimSet("expected")
"""The aim until someone sets another: most points on average."""


class Why(StrEnum):
    """Why something in the log needs a decision."""

    DIFFER = "people differ"
    GAP = "a pass before it is missing"
    NO_PLACE = "no pass left in the plan"
    WAITING = "what it is about has not arrived"


@dataclass(frozen=True, slots=True)
class Undecided:
    """Something kept that needs a decision. `slot` is None when the log cannot say which pass it is about."""

    why: Why
    ids: Ids
    slot: Slot | None = None


@dataclass(frozen=True, slots=True)
class LiveState:
    """Where a live program stands. `logged`, `slots` and `late` hold one entry a pass, in order, up to the first gap.

    `next_key`: the number a device sends for the pass to come (insertions not counted). `stops`, `hidings`: ids to
    clear and to show; `redo`: ids of the latest undo, for taking it back.
    """

    plan: Plan
    logged: tuple[LoggedPass, ...] = ()
    allowed_by: str | None = None
    hidden: bool = False
    stopped: bool = False
    clearances: tuple[Cleared, ...] = ()
    slots: tuple[Slot, ...] = ()
    late: tuple[bool, ...] = ()
    undecided: tuple[Undecided, ...] = ()
    clock: MusicClock = MusicClock()
    next_key: int = 1
    stops: Ids = ()
    hidings: Ids = ()
    aim: AimSet = EXPECTED
    redo: Ids = field(default=(), compare=False)
    log: tuple[Stamped, ...] = field(default=(), compare=False, repr=False)

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
        """Passes on which something other than planned was tried (by any account); one not attempted is none."""
        pairs = zip(self.slots, self.plan.passes, strict=False)
        return sum(any(_changed(one.what, planned) for one in slot.candidates) for slot, planned in pairs)

    @property
    def differing(self) -> tuple[Slot, ...]:
        """Passes that people logged differently."""
        return tuple(slot for slot in self.slots if slot.differs)


def likeliest(entry: PassSkated) -> Reading:
    """The reading with the greatest chance; the first of equals."""
    return max(entry.readings, key=lambda reading: reading.chance)


def fold(plan: Plan, events: Iterable[Event | Stamped]) -> LiveState:
    """The state after all events, from an untouched plan."""
    log = stamp(events)
    known = {one.id: one for one in log}
    alive = in_force(log)
    keys = keys_of(known)
    slots, undecided, next_key = _passes(plan, known, alive, keys)
    clock = clock_of(alive)
    said = lateness(alive, keys)
    hidings = tuple(name for name, one in alive.items() if isinstance(one.event, AdviceHidden))
    stops = tuple(name for name, one in alive.items() if isinstance(one.event, Stopped))
    return LiveState(
        plan,
        logged=tuple(slot.entry for slot in slots),
        allowed_by=next(
            (one.event.by for one in alive.values() if isinstance(one.event, AdviceAllowed)), None
        ),
        hidden=bool(hidings),
        stopped=bool(stops),
        clearances=tuple(one.event for one in alive.values() if isinstance(one.event, Cleared)),
        slots=slots,
        late=tuple(_late(plan, slot, clock, said, keys) for slot in slots),
        undecided=undecided,
        clock=clock,
        next_key=next_key,
        stops=stops,
        hidings=hidings,
        aim=_aim(alive),
        redo=_redo(alive),
        log=log,
    )


def _aim(alive: Mapping[str, Stamped]) -> AimSet:
    """The aim set last."""
    found = [(one.at, one.id, one.event) for one in alive.values() if isinstance(one.event, AimSet)]
    return max(found, key=lambda one: one[:2])[2] if found else EXPECTED


def in_sure_halves(state: LiveState, now: float) -> LiveState:
    """The state with the passes to come in the half they are sure to start in at that moment, whatever the plan has.

    What comes after a pass of the second half is in the second half too, and so is all that comes once the music has
    run for half the time (`now` in seconds since 1970), unless people have overruled the clock. After a stop of the
    music nothing counts as late any more (see `app.live.clock`). Where nothing of this has happened, the plan stays.
    """
    plan = state.plan
    stopped = plan.seconds > 0 and any(one.music_stopped for one in state.clock.interruptions)
    if not stopped and True not in state.late and not _past_half(state, now):
        return state
    halves = chain(state.late, repeat(not stopped))
    passes = tuple(replace(row, late=late) for row, late in zip(plan.passes, halves, strict=False))
    return state if passes == plan.passes else replace(state, plan=replace(plan, passes=passes))


def _past_half(state: LiveState, now: float) -> bool:
    """Whether the music has run for half the time; not where people say of a pass that its clock is wrong."""
    second, half = state.clock.running(now), state.plan.seconds / 2
    if second is None or half <= 0 or second < half:
        return False
    pairs = zip(state.slots, state.late, strict=True)
    return all(late or slot.at is None or not state.clock.started_late(slot.at, half) for slot, late in pairs)


def step(state: LiveState, event: Event | Stamped) -> LiveState:
    """The state after one more event; a bare one happens now, after all others."""
    if not isinstance(event, Stamped):
        at = max((one.at for one in state.log), default=0.0) + 1
        event = Stamped(f"bare-{len(state.log) + 1}", at, stamp([event])[0].author, event)
    return fold(state.plan, [*state.log, event])


def _passes(
    plan: Plan, known: Mapping[str, Stamped], alive: Mapping[str, Stamped], keys: Mapping[str, Key]
) -> tuple[tuple[Slot, ...], tuple[Undecided, ...], int]:
    """The passes up to the first gap, what is undecided, and the key of the pass to come."""
    entries, undecided = _entries(alive, keys)
    slots: list[Slot] = []
    next_key, gap = len(plan.passes) + 1, False
    for number, key in enumerate(_order(plan, known, entries), start=1):
        if key not in entries:
            next_key, gap = (next_key if gap else key[0]), True
            continue
        slot = _slot(number, key, entries[key], known)
        if number > len(plan.passes) or not 1 <= key[0] <= len(plan.passes) + bool(key[1]):
            undecided.append(Undecided(Why.NO_PLACE, slot.ids, slot))
        elif gap:
            undecided.append(Undecided(Why.GAP, slot.ids, slot))
        else:
            slots.append(slot)
            if slot.differs:
                undecided.append(Undecided(Why.DIFFER, slot.ids, slot))
    return tuple(slots), tuple(undecided), next_key


def _entries(
    alive: Mapping[str, Stamped], keys: Mapping[str, Key]
) -> tuple[dict[Key, list[Stamped]], list[Undecided]]:
    entries: dict[Key, list[Stamped]] = {}
    waiting = []
    for name, one in alive.items():
        if isinstance(one.event, PassSkated | PassLeftOut | Corrected | Inserted):
            if name in keys:
                entries.setdefault(keys[name], []).append(one)
            else:
                waiting.append(Undecided(Why.WAITING, (name,)))
    return entries, waiting


def _order(plan: Plan, known: Mapping[str, Stamped], entries: Mapping[Key, list[Stamped]]) -> list[Key]:
    """Every pass in skating order: those of the plan, what was inserted before each, and last what has no place."""
    planned = [(number, "") for number in range(1, len(plan.passes) + 1)]
    every = dict.fromkeys([*planned, *entries])

    def place(key: Key) -> tuple[bool, int, bool, float, str]:
        number, insertion = key
        return number < 1, number, not insertion, known[insertion].at if insertion else 0.0, insertion

    return sorted(every, key=place)


def _slot(number: int, key: Key, entries: list[Stamped], known: Mapping[str, Stamped]) -> Slot:
    moments = [moment_of(known, one) for one in entries]
    at = min((one for one in moments if one is not None), default=None)
    return slot_of(number, key[0], bool(key[1]), candidates_of(entries), at)


def _late(
    plan: Plan, slot: Slot, clock: MusicClock, said: Mapping[Key, bool], keys: Mapping[str, Key]
) -> bool:
    """In which half a pass started: what people say, else the clock, else the plan."""
    spoken = said.get(keys[slot.ids[0]])
    if spoken is not None:
        return spoken
    timed = None if slot.at is None else clock.started_late(slot.at, plan.seconds / 2)
    return plan.passes[slot.number - 1].late if timed is None else timed


def _changed(what: LoggedPass, planned: PlannedPass) -> bool:
    return isinstance(what, PassSkated) and what.tried != planned.code


def _redo(alive: Mapping[str, Stamped]) -> Ids:
    """The latest undo; empty when something was logged after it."""
    changing = (PassSkated, PassLeftOut, Corrected, Inserted, Undone)
    latest = max(
        (one for one in alive.values() if isinstance(one.event, changing)),
        key=lambda one: (one.at, one.id),
        default=None,
    )
    return (latest.id,) if latest is not None and isinstance(latest.event, Undone) else ()
