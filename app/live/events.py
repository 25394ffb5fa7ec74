"""What can happen to a live program: frozen, named events. The log of them is the truth.

Nothing is ever changed or taken out of the log: undo, redo, a correction and a choice are events too. They name
the events they are about by id, never "the latest one", so the state does not depend on the order in which the
events of several devices arrive (`app.live.merge`). Every event comes stamped (`Stamped`) with

    id       made on the device that saw the tap; the same id sent again counts once. 1 to 80 signs, no space.
             A form carries one, unique to its rendering; a page that goes on by itself makes its own.
    at       when it was tapped, by the laptop's clock (see below)
    author   name, device ("laptop" or the number of the paired phone) and role (coach, logger, viewer)

**One entry of the log as JSON** (`stamped_json`; what the stream and `GET /live/{program}/log?after=SEQ` give):

    {"id": "4f0c…", "seq": 7, "at": "2026-11-25T16:05:12.250000+00:00",
     "author": {"name": "boards", "device": "3", "role": "logger"},
     "kind": "pass skated",
     "payload": {"number": 3, "tried": "3F", "how": "fell",
                 "readings": [{"code": "3F", "fall": true, "error": true, "chance": 1.0}], "called": ""}}

`kind` and `payload`, one line each; `ids` are lists of event ids:

    pass skated      number, tried, how, readings,     several readings: the call is in doubt; chances sum to 1;
                     called                            the failure called before it, by its event's id; "": none
    pass left out    number, called                    not attempted: its box stays free
    failure called   number, failure, jump, becomes    in a rehearsal: treat the pass to come so (app.live.rehearsal)
    corrected        what, instead_of: ids             what that pass really was; what = {"kind", "payload"} of a pass
    inserted         before, what                      a pass that was skated but not logged, before pass `before`
    undone           number, of: ids                   those events do not count (never a stop); number only for words;
                                                       a called failure among them: it is not called after all
    redone           of: ids                           those undos do not count
    chosen           number, keeps: id, over: ids      two people logged one pass differently: the coach's choice
    lateness set     number, of: ids, late             the clock's word on the second half overruled
    music started    instead_of: ids                   the clock starts; an earlier start by mistake is replaced
    interrupted      music_stopped                     the skater stopped; the program's clock stands with the music
    resumed          of: ids                           skating again after those interruptions
    layout chosen    letter                            the layout for the skate: A, B or C of those agreed (warm_up)
    aim set          kind, points, components          what the rest is for: most points, a total to reach, a floor
    stopped          (empty)                           hurt or hit the head: all advice and points go away
    cleared          by, relying_on, of: ids           an adult lifts those stops, and only those
    advice allowed   by
    advice hidden    by
    advice shown     by, of: ids                       those hidings end

`number` of a pass counts the passes of the plan from 1, passes that were inserted later not counted: so "pass 4"
means the same on a phone that has not heard of the insertion.

**Sending a tap.** Forms to `/live/{program}/…`: `pass` (number, tap | code, fall, called), `undo` (number, of),
`call-off` (number, of: the failure that is not called after all), `redo` (of),
`correct` (of, number, tap | code, fall), `insert` (before, tap | code, fall), `choose` (number, keeps, over),
`late` (number, of, late = yes | no), `music` (instead_of), `interrupt` (music_stopped = yes | no), `resume` (of),
`hurt`, `clear` (by, relying_on, of), `allow` (confirmed), `hide`, `show` (of). Lists of ids are separated by spaces.
Each carries `event_id`, and may carry `made_at` (the device's clock at the tap) and `sent_at` (the device's clock
when sending, anew at each try), both in milliseconds since 1970: at = arrival - (sent_at - made_at). A tap kept on a
phone for five minutes so keeps its place in time although the phone's clock is wrong. Any answer below 400 means: on
disk, unless it is a board that says "Not logged" (a code nobody can read). A tap that contradicts what others logged
is kept and shown as needing a decision; it is never refused.

**The stream**, `GET /live/{program}/stream?seen=SEQ` (text/event-stream). `id:` is the seq:

    event: news      data: one entry as above, one message an event, those after SEQ (or Last-Event-ID) first
    event: reload    data: {"seq": n}      this screen fell behind or the server ends: fetch the board anew
    event: here      data: {}              every 15 s, when there is nothing else to say

The board of a device is fetched (`GET /live/{program}/news?seen=SEQ`, 204 when there is none), because it depends
on role and setting; the entry itself is enough to stop a screen at once or to follow along from local data.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from datetime import datetime
from typing import Any, Literal

from app.domain.words import listed, say
from app.errors import InputError
from app.live.event_values import check

Ids = tuple[str, ...]
Role = Literal["coach", "logger", "viewer", "skater"]


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of what was skated. `chance` is 1 unless the call is in doubt."""

    code: str
    fall: bool = False
    error: bool = False
    chance: float = 1.0


@dataclass(frozen=True, slots=True)
class PassSkated:
    """A pass was attempted: what was tried, how it is called in words, and one or more readings.

    `called`: the event of the failure that the screen was calling for this pass; "" when there was none.
    """

    number: int
    tried: str
    how: str
    readings: tuple[Reading, ...]
    called: str = ""


@dataclass(frozen=True, slots=True)
class PassLeftOut:
    """A pass was not attempted: its box stays free. `called` as in `PassSkated`."""

    number: int
    called: str = ""


LoggedPass = PassSkated | PassLeftOut


@dataclass(frozen=True, slots=True)
class FailureCalled:
    """In a rehearsal: pass `number` is to be treated as failed. Drawn before the pass; `app.live.rehearsal` says when.

    `failure` in the words of `app.planner.slips.Kind`, `jump` the one that fails, `becomes` what is then skated: None
    for leaving the pass out.
    """

    number: int
    failure: str
    jump: str
    becomes: str | None


@dataclass(frozen=True, slots=True)
class Corrected:
    """What a pass really was, in place of the events `instead_of`."""

    what: LoggedPass
    instead_of: Ids


@dataclass(frozen=True, slots=True)
class Inserted:
    """A pass that was skated but not logged, before pass `before`; the passes after it move on by one."""

    before: int
    what: LoggedPass


@dataclass(frozen=True, slots=True)
class Undone:
    """Those events do not count. Without `of` (logs from before there were ids in it): the latest pass."""

    number: int
    of: Ids = ()


@dataclass(frozen=True, slots=True)
class Redone:
    """Those undos do not count."""

    of: Ids


@dataclass(frozen=True, slots=True)
class Chosen:
    """One pass was logged differently by two people: `keeps` counts, `over` do not."""

    number: int
    keeps: str
    over: Ids


@dataclass(frozen=True, slots=True)
class LatenessSet:
    """Whether a pass started in the second half, whatever clock and plan say. `of`: events of that pass."""

    number: int
    of: Ids
    late: bool


@dataclass(frozen=True, slots=True)
class MusicStarted:
    """The music began; `instead_of` are earlier starts tapped by mistake."""

    instead_of: Ids = ()


@dataclass(frozen=True, slots=True)
class Interrupted:
    """The skater stopped; with the music the clock of the program stands still as well."""

    music_stopped: bool


@dataclass(frozen=True, slots=True)
class Resumed:
    """Skating again after those interruptions."""

    of: Ids


@dataclass(frozen=True, slots=True)
class AimSet:
    """What the coach wants from the rest: `expected` points, a total to `reach`, a `floor` not to fall below.

    `points`: that total, `components`: what the panel's components are reckoned to bring, both in points.
    """

    kind: Literal["expected", "reach", "floor"]
    points: float = 0.0
    components: float = 0.0


@dataclass(frozen=True, slots=True)
class LayoutChosen:
    """The coach has chosen one of the agreed layouts, by its letter; counts only before the first pass."""

    letter: str


@dataclass(frozen=True, slots=True)
class AdviceAllowed:
    """Someone has confirmed that the rules of this event allow advice during the skate."""

    by: str


@dataclass(frozen=True, slots=True)
class AdviceHidden:
    """Someone wants the screen without advice and points for now."""

    by: str


@dataclass(frozen=True, slots=True)
class AdviceShown:
    """Those hidings end; what the rules allow is not touched. Without `of` (old logs): every hiding before it."""

    by: str
    of: Ids = ()


@dataclass(frozen=True, slots=True)
class Stopped:
    """The skater is hurt or hit the head: all advice and all points go away."""


@dataclass(frozen=True, slots=True)
class Cleared:
    """A named adult has lifted those stops, with what they rely on. Without `of` (old logs): every stop before it."""

    by: str
    relying_on: str
    of: Ids = ()


Event = (
    PassSkated
    | PassLeftOut
    | FailureCalled
    | Corrected
    | Inserted
    | Undone
    | Redone
    | Chosen
    | LatenessSet
    | MusicStarted
    | Interrupted
    | Resumed
    | AimSet
    | LayoutChosen
    | AdviceAllowed
    | AdviceHidden
    | AdviceShown
    | Stopped
    | Cleared
)

_NAMES: dict[str, type[Event]] = {
    "pass skated": PassSkated,
    "pass left out": PassLeftOut,
    "failure called": FailureCalled,
    "corrected": Corrected,
    "inserted": Inserted,
    "undone": Undone,
    "redone": Redone,
    "chosen": Chosen,
    "lateness set": LatenessSet,
    "music started": MusicStarted,
    "interrupted": Interrupted,
    "resumed": Resumed,
    "aim set": AimSet,
    "layout chosen": LayoutChosen,
    "advice allowed": AdviceAllowed,
    "advice hidden": AdviceHidden,
    "advice shown": AdviceShown,
    "stopped": Stopped,
    "cleared": Cleared,
}
_ADDED_LATER = {
    "undone": "of",
    "advice shown": "of",
    "cleared": "of",
    "pass skated": "called",
    "pass left out": "called",
}
"""Keys that logs written before there were several devices, or rehearsals, do not have."""


@dataclass(frozen=True, slots=True)
class Author:
    """Who logged it: the device's name, "laptop" or the number of the paired phone, and the role it had."""

    name: str = "laptop"
    device: str = "laptop"
    role: Role = "coach"


@dataclass(frozen=True, slots=True)
class Stamped:
    """An event with its id, its moment by the laptop's clock (seconds since 1970), and its author."""

    id: str
    at: float
    author: Author
    event: Event


def to_record(event: Event) -> tuple[str, dict[str, Any]]:
    """An event as (name, plain dictionary for JSON)."""
    name = next(name for name, kind in _NAMES.items() if type(event) is kind)
    record = asdict(event)
    if isinstance(event, Corrected | Inserted):
        kind, payload = to_record(event.what)
        record["what"] = {"kind": kind, "payload": payload}
    return name, record


def from_record(name: str, record: Mapping[str, Any]) -> Event:
    """The event of that name; `InputError` names an unknown event or key, or a value of the wrong kind."""
    if not isinstance(name, str) or name not in _NAMES:
        raise InputError(
            "event",
            say(
                "given %(given)s; expected one of %(expected)s",
                given=repr(str(name)[:80]),
                expected=listed(_NAMES),
            ),
        )
    kind = _NAMES[name]
    expected = {field.name for field in fields(kind)}
    given = set(record) | {_ADDED_LATER[name]} if name in _ADDED_LATER else set(record)
    if given != expected:
        raise InputError(
            name,
            say(
                "given the keys %(record)s; expected %(expected)s",
                record=sorted(record),
                expected=sorted(expected),
            ),
        )
    for key, value in record.items():
        check(name, key, value)
    return kind(**{key: _value(key, value) for key, value in record.items()})


def _value(key: str, value: Any) -> Any:
    if key == "readings":
        return tuple(Reading(**item) for item in value)
    if key == "what":
        what = from_record(value.get("kind"), value["payload"])
        if not isinstance(what, PassSkated | PassLeftOut):
            raise InputError(
                "what",
                say("given %(given)s; expected a pass skated or left out", given=repr(value.get("kind"))),
            )
        return what
    return tuple(value) if isinstance(value, list) else value


def stamped_json(seq: int, at: datetime, stamped: Stamped) -> dict[str, Any]:
    """One entry of the log as the stream and the log page give it."""
    kind, payload = to_record(stamped.event)
    return {
        "id": stamped.id,
        "seq": seq,
        "at": at.isoformat(),
        "author": asdict(stamped.author),
        "kind": kind,
        "payload": payload,
    }
