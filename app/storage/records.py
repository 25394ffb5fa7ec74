"""What the stores hand out and take in: frozen values without any tie to the database."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, Final, Literal

from app.live.rehearsal import Rehearsal

ItemKind = Literal["jump", "spin", "steps", "choreo"]
ProgramKind = Literal["run-through", "competition"]
Role = Literal["coach", "logger", "viewer", "skater"]
HandedKind = Literal["skater", "everything", "attempts", "brought in"]
"""A file with one skater, with everything, with a practice log as a table; a file that came in."""
StartMark = Literal["", "warm-up", "done"]
"""What the coach said about a start of a day: nothing, the six minutes have begun, it is over."""
PLACES: Final = ("alone", "drill", "in program", "run-through", "competition")
"""Where an attempt was made: the element by itself, in a rehearsal drill, in a part or the whole of the program, at an
event."""
IN_PROGRAMS: Final = PLACES[2:]
"""The places where the element was skated within a program."""


@dataclass(frozen=True)
class SkaterRecord:
    """One skater. `invented` marks the demo: not a person."""

    id: int
    name: str
    invented: bool = False


@dataclass(frozen=True)
class OutcomeRecord:
    """One way an attempt can end: what it becomes (None = nothing came of it), chance 0…1, GOE in grades."""

    becomes: str | None
    chance: float
    goe: float = 0.0
    fall: bool = False
    error: bool = False


@dataclass(frozen=True)
class AttemptRecord:
    """`count` attempts at one element that ended alike, on one day in one place.

    `fate` is one of `app.chances.record.FATES`, `place` one of `PLACES`. `sending` is made by the form, so that a
    second sending is recognised; `line` counts within it (a pasted table has several).
    """

    skater_id: int
    sending: str
    code: str
    entry: str
    day: date
    place: str
    fate: str
    count: int = 1
    line: int = 0


@dataclass(frozen=True)
class EntryRecord:
    """One line of the log with its number; `left_out`: it does not count."""

    id: int
    attempt: AttemptRecord
    left_out: bool


@dataclass(frozen=True)
class LogCounts:
    """What the log says of one element: attempts, landings, counts by fate; `program_…`: those done in programs."""

    attempts: int = 0
    landed: int = 0
    fates: Mapping[str, int] = field(default_factory=dict, hash=False)
    program_attempts: int = 0
    program_landed: int = 0
    program_fates: Mapping[str, int] = field(default_factory=dict, hash=False)
    last: date | None = None


@dataclass(frozen=True)
class TrainedRecord:
    """An element of a skater's own log. `ready` is the coach's tick; `id` is 0 until stored.

    `attempts` and `landed` count every attempt: those entered as a number, and the `log`, which knows how each
    ended. `outcomes` is the distribution used for advice. `cue` holds the skater's own words for the element.
    """

    skater_id: int
    code: str
    entry: str = ""
    ready: bool = False
    attempts: int = 0
    landed: int = 0
    outcomes: tuple[OutcomeRecord, ...] = ()
    last_logged: date | None = None
    id: int = 0
    cue: str = ""
    log: LogCounts = LogCounts()


@dataclass(frozen=True)
class CallOutRecord:
    """One answer in the call-out trainer. `program`: the layout's fingerprint (`app.practice.trainer.program_key`).

    `number`, `kind`, `jump`: what was called; `answer` and `right`: what was picked and what was right then, as forms
    write them; `seconds` until the answer; `rating` 1 to 4. `sending` is made by the form: it counts once.
    """

    skater_id: int
    sending: str
    program: str
    number: int
    kind: str
    jump: str
    answer: str
    right: str
    seconds: float
    rating: int
    answered_at: datetime


@dataclass(frozen=True)
class DrillRecord:
    """The easy jumps of one rehearsal drill, `codes` as skated; how they ended is not asked.

    `program` as in `CallOutRecord`; `number`, `failure`, `jump`: what the drill is for. `sending` counts once.
    """

    skater_id: int
    sending: str
    day: date
    program: str
    number: int
    failure: str
    jump: str
    codes: tuple[str, ...]


@dataclass(frozen=True)
class LayoutItem:
    """One element of a layout, in skating order.

    `code` as planned; `start` in seconds from the start of the music; `goe` planned grade;
    `options` (jump passes only) what may be tried instead, None = leave the pass out; `entry` (jump passes only) the
    edge, corner and side the pass is entered on, "" = not said; `slack` whole seconds of spare time behind the pass.
    """

    kind: ItemKind
    code: str
    start: int
    goe: float = 0.0
    options: tuple[str | None, ...] = ()
    entry: str = ""
    slack: int = 0


@dataclass(frozen=True)
class LayoutRecord:
    """A planned program under one rulebook edition. `fingerprint` is that edition's when last saved."""

    skater_id: int
    name: str
    edition: str
    fingerprint: str
    items: tuple[LayoutItem, ...]
    id: int = 0


@dataclass(frozen=True)
class VariantRecord:
    """One of the layouts agreed before a program, as it was then. `letter`: A, B or C."""

    letter: str
    layout_id: int
    name: str
    fingerprint: str
    items: tuple[LayoutItem, ...]


@dataclass(frozen=True)
class DayRecord:
    """A competition day, or a day of run-throughs. `name` as the coach typed it."""

    id: int
    name: str
    kind: ProgramKind
    made_at: datetime


@dataclass(frozen=True)
class StartRecord:
    """One skater's start on a day. `place` counts from 1 in start order; `layout_ids` are A, B, C in turn.

    `program_id`: its live program; None until somebody opens it.
    """

    id: int
    day_id: int
    skater_id: int
    place: int
    layout_ids: tuple[int, ...]
    program_id: int | None = None
    withdrawn: bool = False
    mark: StartMark = ""


@dataclass(frozen=True)
class LiveProgramRecord:
    """One program being skated or already skated. Plan and trained elements are snapshots taken at its start.

    `variants`: the layouts agreed for the warm-up, A first; empty where there was nothing to choose. The layout of
    the record itself is A's; which one is skated says the log.

    `after_fall_odds` and `second_half_odds`: whether it reckons with them, decided at its start.
    `advice_confirmed_at`: when the user confirmed that this event's rules allow advice (competitions only).
    """

    skater_id: int
    layout_name: str
    edition: str
    fingerprint: str
    items: tuple[LayoutItem, ...]
    trained: tuple[TrainedRecord, ...]
    kind: ProgramKind
    started_at: datetime
    event: str = ""
    threshold: float = 0.5
    most_changes: int = 2
    harder_after_fall: bool = False
    after_fall_odds: bool = False
    second_half_odds: bool = False
    advice_confirmed_at: datetime | None = None
    layout_id: int | None = None
    variants: tuple[VariantRecord, ...] = ()
    rehearsal: Rehearsal | None = None
    """What a rehearsal may call: such a run-through holds failures that are not the skater's own. None: it is none."""
    id: int = 0


@dataclass(frozen=True)
class LoggedEvent:
    """One entry of the append-only log. `id` is made by the device, so a second sending is recognised.

    `seq` counts 1, 2, 3 … within the program, in order of arrival; `payload` is plain JSON. `at`: when it was tapped
    by the laptop's clock; `made_at`: by the device's own, where it said so. `device`: "laptop" or the phone's number.
    """

    id: str
    program_id: int
    seq: int
    at: datetime
    author: str
    kind: str
    payload: Mapping[str, Any]
    device: str = "laptop"
    role: Role = "coach"
    made_at: datetime | None = None


@dataclass(frozen=True)
class ContentRecord:
    """A content sheet as it was handed in. `codes` as the form lists them; `note`: for which event, as typed."""

    id: int
    layout_id: int
    codes: tuple[str, ...]
    note: str
    handed_in_at: datetime


@dataclass(frozen=True)
class EnteredEvent:
    """One event of a program that is entered as a whole. `id` is made by the form; the rest as in `LoggedEvent`."""

    id: str
    at: datetime
    author: str
    kind: str
    payload: Mapping[str, Any]
    device: str = "laptop"
    role: Role = "coach"


@dataclass(frozen=True)
class SheetRecord:
    """An official score sheet of one skater. `sheet`: plain JSON, without any name; `note`: the user's own words.

    `program_id`: the live program it belongs to, None when none was logged.
    """

    edition: str
    sheet: Mapping[str, Any]
    read_at: datetime
    skater_id: int | None = None
    program_id: int | None = None
    note: str = ""
    id: int = 0


@dataclass(frozen=True)
class HandedRecord:
    """What went out as a file or came in by one. `skater_id` None: everything. `given_to`: to whom, as typed."""

    at: datetime
    kind: HandedKind
    skater_id: int | None = None
    given_to: str = ""
    mark: str = ""


@dataclass(frozen=True)
class DeviceRecord:
    """A paired phone. The token itself is never kept, only its hash.

    `sees_advice`: whether advice and points show on it, where the event allows them. `skater_id`: whose own phone it
    is, for the role skater.
    """

    id: int
    name: str
    paired_at: datetime
    last_seen: datetime | None
    revoked_at: datetime | None
    role: Role = "coach"
    sees_advice: bool = True
    skater_id: int | None = None
