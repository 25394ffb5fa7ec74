"""Three devices, one program: events delayed, doubled and out of order, and in the end everybody sees the same.

A state machine plays the devices. Each sees only what has reached it, taps what its screen would offer, and keeps
a tap until the laptop has answered. Compared with: the plainest log (a dictionary that keeps the first), another
order of the same events, and the log with what was undone struck out by hand.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field

from hypothesis import settings, strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from app.live.events import (
    AdviceAllowed,
    AdviceHidden,
    AdviceShown,
    Author,
    Chosen,
    Cleared,
    Corrected,
    Event,
    Ids,
    Inserted,
    Interrupted,
    LatenessSet,
    LoggedPass,
    MusicStarted,
    PassLeftOut,
    PassSkated,
    Reading,
    Redone,
    Resumed,
    Role,
    Stamped,
    Stopped,
    Undone,
)
from app.live.fold import LiveState, fold
from app.live.program import Plan, PlannedPass, Setting

CODES = ("3Lz+3T", "3F", "2A", "3Lo")
"""Invented plan."""
PLAN = Plan(
    "isu/2026-27/senior/women/free",
    Setting.RUN_THROUGH,
    "",
    tuple(PlannedPass(code, 20 + 50 * place, place > 1) for place, code in enumerate(CODES)),
    seconds=240,
)
ROLES: tuple[Role, ...] = ("coach", "logger", "logger")


@dataclass
class Device:
    """A phone: what has reached it, and what it has not been answered yet."""

    author: Author
    known: list[Stamped] = field(default_factory=list)
    waiting: list[Stamped] = field(default_factory=list)

    @property
    def state(self) -> LiveState:
        """What its screen shows: the log it knows, then its own unanswered taps."""
        return fold(PLAN, [*self.known, *self.waiting])


def outcomes(number: int) -> list[LoggedPass]:
    """What may be logged about a pass."""
    code = CODES[min(max(number, 1), len(CODES)) - 1]
    fell = PassSkated(number, code, "fell", (Reading(code, True, True),))
    return [PassSkated(number, code, "as planned", (Reading(code),)), fell, PassLeftOut(number)]


def offered(state: LiveState, pick: random.Random) -> Event:
    """One thing a screen in this state offers."""
    found: list[Event] = [Stopped(), AdviceAllowed("x"), AdviceHidden("x"), MusicStarted(), Interrupted(True)]
    if not state.finished:
        found += outcomes(state.next_key) * 3
    if state.redo:
        found += [Redone(state.redo)] * 3
    if state.stops:
        found += [Cleared("coach", "tapped by mistake", state.stops)] * 2
    if state.hidings:
        found.append(AdviceShown("x", state.hidings))
    found += [Resumed(one.ids) for one in state.clock.interruptions if one.until is None]
    if state.slots:
        found.append(Undone(state.slots[-1].number, state.slots[-1].ids))
    for slot in state.slots:
        found += [Corrected(what, slot.ids) for what in outcomes(slot.key)]
        found += [Inserted(slot.key, what) for what in outcomes(slot.key)]
        found.append(LatenessSet(slot.key, slot.ids, pick.random() < 0.5))
        first, *others = slot.candidates
        if others:
            rest = tuple(name for one in others for name in one.ids)
            found.append(Chosen(slot.key, first.ids[0], rest))
    return pick.choice(found)


def named(event: Event) -> Ids:
    """The events an event is about."""
    ids: Ids = ()
    for key in ("of", "instead_of", "over"):
        ids += getattr(event, key, ())
    return ids


def without_undone(made: list[Stamped]) -> list[Stamped] | None:
    """The log with undone events struck out, found without the fold: undo and redo from the newest to the oldest.

    None when something that is left is about something struck out: by itself it would have lost its pass.
    """
    left = {one.id: one for one in made}
    for one in reversed(made):
        if one.id in left and isinstance(one.event, Undone | Redone):
            for name in (one.id, *one.event.of):
                left.pop(name, None)
    gone = {one.id for one in made} - set(left)
    if any(gone & set(named(one.event)) for one in left.values()):
        return None
    return list(left.values())


class ThreeDevices(RuleBasedStateMachine):
    """The laptop's log and three phones."""

    def __init__(self) -> None:
        super().__init__()
        self.devices = [Device(Author(f"phone {n}", str(n), role)) for n, role in enumerate(ROLES)]
        self.log: list[Stamped] = []
        self.acknowledged: list[str] = []
        self.made: list[Stamped] = []

    @rule(who=st.integers(0, 2), seed=st.integers(0, 10_000), wait=st.floats(0, 20))
    def tap(self, who: int, seed: int, wait: float) -> None:
        """Somebody taps what their own screen offers."""
        device = self.devices[who]
        event = offered(device.state, random.Random(seed))
        at = (self.made[-1].at if self.made else 1000.0) + wait
        stamped = Stamped(f"{who}-{len(self.made)}", at, device.author, event)
        self.made.append(stamped)
        device.waiting.append(stamped)

    @precondition(lambda self: any(device.waiting for device in self.devices))
    @rule(seed=st.integers(0, 10_000), answered=st.booleans(), twice=st.booleans())
    def send(self, seed: int, answered: bool, twice: bool) -> None:
        """Any waiting tap reaches the laptop, perhaps twice; the answer may get lost, then it will come again."""
        pick = random.Random(seed)
        device = pick.choice([device for device in self.devices if device.waiting])
        tapped = pick.choice(device.waiting)
        for _ in range(1 + twice):
            self.arrive(tapped)
        if answered:
            device.waiting.remove(tapped)
            self.acknowledged.append(tapped.id)

    def arrive(self, tapped: Stamped) -> None:
        """The laptop's log: the first of each id stays."""
        if all(one.id != tapped.id for one in self.log):
            self.log.append(tapped)

    @precondition(lambda self: self.log)
    @rule(who=st.integers(0, 2), seed=st.integers(0, 10_000))
    def hear(self, who: int, seed: int) -> None:
        """Any entry of the log reaches a device, perhaps again."""
        self.devices[who].known.append(random.Random(seed).choice(self.log))

    @invariant()
    def acknowledged_taps_are_in_the_log_once(self) -> None:
        """Nothing the laptop has answered is lost or doubled."""
        ids = [one.id for one in self.log]
        assert len(ids) == len(set(ids))
        assert set(self.acknowledged) <= set(ids)

    @invariant()
    def nothing_logged_is_swallowed(self) -> None:
        """Every pass event in force is in a pass or among what needs a decision."""
        state = fold(PLAN, self.log)
        shown = {name for slot in state.slots for name in slot.ids}
        shown |= {name for one in state.undecided for name in one.ids}
        struck = {name for one in self.log for name in named(one.event)}
        passes = (PassSkated, PassLeftOut, Corrected, Inserted)
        assert {one.id for one in self.log if isinstance(one.event, passes)} - struck <= shown
        assert state.stopped or not any(
            isinstance(one.event, Stopped) and one.id not in struck for one in self.log
        )

    def teardown(self) -> None:
        """The link is back: everything is sent and heard, and all states are one."""
        for device in self.devices:
            for tapped in reversed(device.waiting):
                self.arrive(tapped)
            device.waiting.clear()
        for device in self.devices:
            device.known += random.Random(len(self.log)).sample(self.log, len(self.log))
        final = fold(PLAN, self.log)
        assert {one.id for one in self.log} == {one.id for one in self.made}
        for device in self.devices:
            assert device.state == final
            assert device.state.redo == final.redo
        struck_out = without_undone(self.made)
        if struck_out is not None:
            assert fold(PLAN, struck_out) == final


TestThreeDevices = ThreeDevices.TestCase
TestThreeDevices.settings = settings(max_examples=60, stateful_step_count=40, deadline=None)
