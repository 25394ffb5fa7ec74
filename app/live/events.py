"""What can happen to a live program: frozen, named events. The log of them is the truth.

Nothing is ever changed or taken out of the log: a tap on undo is an event too (`Undone`). Each event prints
itself as a name and a plain dictionary for storage (`to_record`) and is read back by name (`from_record`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any

from app.errors import InputError


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of what was skated. `chance` is 1 unless the call is in doubt."""

    code: str
    fall: bool = False
    error: bool = False
    chance: float = 1.0


@dataclass(frozen=True, slots=True)
class PassSkated:
    """A pass was attempted: what was tried, how it is called in words, and one or more readings."""

    number: int
    tried: str
    how: str
    readings: tuple[Reading, ...]


@dataclass(frozen=True, slots=True)
class PassLeftOut:
    """A pass was not attempted: its box stays free."""

    number: int


@dataclass(frozen=True, slots=True)
class Undone:
    """The latest pass was logged wrongly and is to be logged again."""

    number: int


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
    """Advice that was hidden may be seen again; what the rules allow is not touched."""

    by: str


@dataclass(frozen=True, slots=True)
class Stopped:
    """The skater is hurt or hit the head: all advice and all points go away."""


@dataclass(frozen=True, slots=True)
class Cleared:
    """A named adult has lifted the stop, with what they rely on."""

    by: str
    relying_on: str


Event = PassSkated | PassLeftOut | Undone | AdviceAllowed | AdviceHidden | AdviceShown | Stopped | Cleared

_NAMES: dict[str, type[Event]] = {
    "pass skated": PassSkated,
    "pass left out": PassLeftOut,
    "undone": Undone,
    "advice allowed": AdviceAllowed,
    "advice hidden": AdviceHidden,
    "advice shown": AdviceShown,
    "stopped": Stopped,
    "cleared": Cleared,
}


def to_record(event: Event) -> tuple[str, dict[str, Any]]:
    """An event as (name, plain dictionary for JSON)."""
    name = next(name for name, kind in _NAMES.items() if type(event) is kind)
    return name, asdict(event)


def from_record(name: str, record: Mapping[str, Any]) -> Event:
    """The event of that name; `InputError` names an unknown event or key."""
    if name not in _NAMES:
        raise InputError("event", f"given {name!r}; expected one of {', '.join(_NAMES)}")
    kind = _NAMES[name]
    expected = {field.name for field in fields(kind)}
    if set(record) != expected:
        raise InputError(name, f"given the keys {sorted(record)}; expected {sorted(expected)}")
    if kind is PassSkated:
        readings = tuple(Reading(**item) for item in record["readings"])
        return PassSkated(record["number"], record["tried"], record["how"], readings)
    return kind(**record)
