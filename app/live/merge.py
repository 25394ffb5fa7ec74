"""Many devices, one program: which events are in force, and what each pass was by all that was logged about it.

Everything here works on the set of events: the order they arrived in makes no difference, and one that arrived
twice counts once. An event is in force unless one in force names it as struck: undo strikes passes, redo strikes
undos, a correction and a choice strike what they replace, a clearance strikes stops. Two loggers who say the same
about a pass are one; two who differ are both kept, half and half, until the coach chooses.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

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
    LatenessSet,
    LoggedPass,
    MusicStarted,
    PassLeftOut,
    PassSkated,
    Reading,
    Redone,
    Stamped,
    Stopped,
    Undone,
)

MOST_READINGS = 6
"""Readings of one pass that are kept when loggers differ; the engine takes eight."""

Struck = tuple[type[Event], ...]
_NEVER_UNDONE: Struck = (Stopped, Cleared, AdviceAllowed, AdviceHidden, AdviceShown, Undone)


@dataclass(frozen=True, slots=True)
class Candidate:
    """One thing that was logged about a pass: by one or several authors, with the ids of their events."""

    ids: Ids
    authors: tuple[Author, ...]
    what: LoggedPass


@dataclass(frozen=True, slots=True)
class Slot:
    """One pass of the program as it was logged. `number`: its pass number now; `key`: its number without insertions.

    More than one candidate: people differ. `left_out`: how likely it was not attempted (0 or 1 unless they differ).
    `at`: when it was logged first, in seconds since 1970; None for one inserted afterwards.
    """

    number: int
    key: int
    inserted: bool
    candidates: tuple[Candidate, ...]
    entry: LoggedPass
    left_out: float
    at: float | None

    @property
    def differs(self) -> bool:
        """Whether what was logged about this pass does not agree."""
        return len(self.candidates) > 1

    @property
    def ids(self) -> Ids:
        """The events that say what this pass was."""
        return tuple(one for candidate in self.candidates for one in candidate.ids)


def stamp(events: Iterable[Event | Stamped]) -> tuple[Stamped, ...]:
    """The events, each id once, in order of their moments; bare events are stamped in the order given.

    Undos, clearances and showings of old logs, which name no ids, get those they meant: by order of arrival.
    """
    found: dict[str, Stamped] = {}
    for place, one in enumerate(events, start=1):
        stamped = one if isinstance(one, Stamped) else Stamped(f"bare-{place}", float(place), Author(), one)
        if stamped.id not in found:
            found[stamped.id] = _with_targets(stamped, found.values())
    return tuple(sorted(found.values(), key=lambda one: (one.at, one.id)))


def _with_targets(stamped: Stamped, before: Iterable[Stamped]) -> Stamped:
    event = stamped.event
    match event:
        case Undone(number=number, of=()):
            alive = in_force(before)
            passes = [one for one in alive.values() if isinstance(one.event, PassSkated | PassLeftOut)]
            latest = max((one.event.number for one in passes), default=0)  # type: ignore[union-attr]
            meant = [one.id for one in passes if one.event.number == latest == number]  # type: ignore[union-attr]
            return replace(stamped, event=replace(event, of=tuple(meant)))
        case Cleared(of=()):
            stops = tuple(one.id for one in before if isinstance(one.event, Stopped))
            return replace(stamped, event=replace(event, of=stops))
        case AdviceShown(of=()):
            hidings = tuple(one.id for one in before if isinstance(one.event, AdviceHidden))
            return replace(stamped, event=replace(event, of=hidings))
        case _:
            return stamped


def in_force(events: Iterable[Stamped]) -> dict[str, Stamped]:
    """The events that count, by id."""
    known = {one.id: one for one in events}
    strikers: dict[str, list[str]] = {}
    for one in known.values():
        for target in _strikes(one.event):
            if target in known and _may_strike(one.event, known[target].event):
                strikers.setdefault(target, []).append(one.id)
    standing: dict[str, bool] = {}

    def stands(name: str) -> bool:
        if name not in standing:
            standing[name] = True  # events that strike each other in a ring: no device makes them
            standing[name] = not any(stands(striker) for striker in strikers.get(name, ()))
        return standing[name]

    return {name: one for name, one in known.items() if stands(name)}


def _strikes(event: Event) -> Ids:
    match event:
        case Undone(of=ids) | Redone(of=ids) | Cleared(of=ids) | AdviceShown(of=ids):
            return ids
        case Corrected(instead_of=ids) | MusicStarted(instead_of=ids) | Chosen(over=ids):
            return ids
        case _:
            return ()


def _may_strike(event: Event, target: Event) -> bool:
    match event:
        case Undone():
            return not isinstance(target, _NEVER_UNDONE)
        case Redone():
            return isinstance(target, Undone)
        case Cleared():
            return isinstance(target, Stopped)
        case AdviceShown():
            return isinstance(target, AdviceHidden)
        case MusicStarted():
            return isinstance(target, MusicStarted)
        case _:
            return isinstance(target, PassSkated | PassLeftOut | Corrected | Inserted)


def keys_of(events: Mapping[str, Stamped]) -> dict[str, tuple[int, str]]:
    """Which pass each pass event is about: (number without insertions, id of the insertion or "").

    A correction is about the pass of the first event it replaces; one whose events are not here yet has no key.
    """
    found: dict[str, tuple[int, str]] = {}

    def key(name: str, seen: frozenset[str]) -> tuple[int, str] | None:
        if name not in events or name in seen:
            return None
        match events[name].event:
            case PassSkated(number=number) | PassLeftOut(number=number):
                return number, ""
            case Inserted(before=before):
                return before, name
            case Corrected(instead_of=ids):
                keys = (key(one, seen | {name}) for one in ids)
                return next((one for one in keys if one is not None), None)
            case _:
                return None

    for name in events:
        if (where := key(name, frozenset())) is not None:
            found[name] = where
    return found


def candidates_of(entries: Sequence[Stamped]) -> tuple[Candidate, ...]:
    """What was logged about one pass, agreeing entries as one, the earliest first."""
    found: dict[object, Candidate] = {}
    for one in sorted(entries, key=lambda one: (one.at, one.id)):
        what = _what(one.event)
        said = _outcome(what)
        if said in found:
            old = found[said]
            found[said] = replace(old, ids=(*old.ids, one.id), authors=(*old.authors, one.author))
        else:
            found[said] = Candidate((one.id,), (one.author,), what)
    return tuple(found.values())


def moment_of(events: Mapping[str, Stamped], entry: Stamped) -> float | None:
    """When the pass of an entry was tapped first: a correction keeps the moment of what it corrects."""
    match entry.event:
        case PassSkated() | PassLeftOut():
            return entry.at
        case Corrected(instead_of=ids):
            known = [events[name] for name in ids if name in events and events[name].at <= entry.at]
            moments = [moment_of(events, one) for one in known if one.id != entry.id]
            return min((one for one in moments if one is not None), default=None)
        case _:
            return None


def slot_of(
    number: int, key: int, inserted: bool, candidates: tuple[Candidate, ...], at: float | None
) -> Slot:
    """One pass from all that was logged about it; `candidates` not empty."""
    skated = [one.what for one in candidates if isinstance(one.what, PassSkated)]
    left_out = 1 - len(skated) / len(candidates)
    if not skated:
        return Slot(number, key, inserted, candidates, PassLeftOut(number), 1.0, at)
    entry = replace(skated[0], number=number) if len(skated) == 1 else _both(number, skated)
    return Slot(number, key, inserted, candidates, entry, left_out, at)


def _both(number: int, skated: Sequence[PassSkated]) -> PassSkated:
    """Several accounts of one attempt as one belief, each account as likely as the next; the first's words for it."""
    weights: dict[Reading, float] = {}
    for one in skated:
        for reading in one.readings:
            bare = replace(reading, chance=1.0)
            weights[bare] = weights.get(bare, 0.0) + reading.chance / len(skated)
    kept = sorted(weights.items(), key=lambda pair: -pair[1])[:MOST_READINGS]
    total = sum(weight for _, weight in kept)
    readings = tuple(replace(reading, chance=weight / total) for reading, weight in kept)
    how = " or ".join(dict.fromkeys(one.how for one in skated))
    return PassSkated(number, skated[0].tried, how, readings)


def _what(event: Event) -> LoggedPass:
    match event:
        case Corrected(what=what) | Inserted(what=what):
            return what
        case PassSkated() | PassLeftOut():
            return event
        case _:
            raise TypeError(f"{type(event).__name__} is no pass")


def _outcome(what: LoggedPass) -> object:
    """What makes two accounts of a pass the same: the attempt and its readings, not the words."""
    return (what.tried, frozenset(what.readings)) if isinstance(what, PassSkated) else None


def lateness(
    events: Mapping[str, Stamped], keys: Mapping[str, tuple[int, str]]
) -> dict[tuple[int, str], bool]:
    """What people have said about the second half, by pass; the latest word counts."""
    found: dict[tuple[int, str], bool] = {}
    for one in sorted(events.values(), key=lambda one: (one.at, one.id)):
        if isinstance(one.event, LatenessSet):
            named = (keys[name] for name in one.event.of if name in keys)
            found[next(named, (one.event.number, ""))] = one.event.late
    return found
