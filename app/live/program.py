"""The plan of one live program as values: passes in order, the skater's elements, the coach's limits.

Seconds are whole seconds from the start of the program. A pass is late when it starts at or after the
middle of the program time of its edition; the edition knows that time and hands it in.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from app.domain.words import say
from app.rulebook.editions import AT


class Setting(StrEnum):
    """Where the program is skated: decides whether advice shows at once."""

    RUN_THROUGH = "run-through"
    COMPETITION = "competition"


@dataclass(frozen=True, slots=True)
class PlannedPass:
    """One planned jump pass. `options`: what may be tried on it instead (None = leave it out).

    `entry`: edge, corner and side it is entered on, "" = not noted; `slack`: whole seconds to spare behind it, 0 = not
    noted.
    """

    code: str
    seconds: int
    late: bool
    options: tuple[str | None, ...] = ()
    entry: str = ""
    slack: int = 0


@dataclass(frozen=True, slots=True)
class Plan:
    """What a live program starts from. `allowed_before`: advice was already confirmed for this event.

    `edition`: name of the rulebook, with a fingerprint behind it where it has changed since (`editions.pinned`);
    `seconds`: the required time of the program and `tolerance` either way, by its edition; 0: not known, no clock.
    """

    edition: str
    setting: Setting
    occasion: str
    passes: tuple[PlannedPass, ...]
    allowed_before: bool = False
    seconds: int = 0
    tolerance: int = 0

    @property
    def is_short(self) -> bool:
        """Whether this is a short program, where the rulebook asks which attempt failed."""
        name, _, _ = self.edition.partition(AT)
        return name.endswith("/short")


@dataclass(frozen=True, slots=True)
class Outcome:
    """One way an attempt can end: `becomes` None = no attempt came of it; `goe` in grades (-5..+5)."""

    becomes: str | None
    chance: float
    goe: float = 0.0
    fall: bool = False
    error: bool = False


@dataclass(frozen=True, slots=True)
class KnownElement:
    """An element the skater knows: the coach's tick, the practice log, how attempts end, the skater's own words.

    `entry`: the edge, corner and side it is practised from, "" = not noted; `others`: the same element from other
    entries, the most practised first.
    """

    code: str
    ready: bool
    attempts: int
    landed: int
    last_logged: date | None
    outcomes: tuple[Outcome, ...]
    cue: str = ""
    entry: str = ""
    others: tuple[KnownElement, ...] = ()

    @property
    def record(self) -> str:
        """What stands behind the element, in words: `18 of 25`."""
        return say("%(landed)s of %(attempts)s", landed=self.landed, attempts=self.attempts)


@dataclass(frozen=True, slots=True)
class Limits:
    """What the coach decides: `threshold` in points, the rest counts of passes, attempts and days.

    `after_fall_odds` and `second_half_odds` (for this program's discipline) say whether the published odds count.
    """

    threshold: float = 0.5
    most_changes: int = 2
    harder_after_fall: bool = False
    trained_attempts: int = 10
    trained_within_days: int = 60
    after_fall_odds: bool = True
    second_half_odds: bool = True


def why_untrained(element: KnownElement, limits: Limits, today: date) -> str | None:
    """Why an element may not be advised, in words; None when it counts as trained."""
    if not element.ready:
        return say("not ticked as competition-ready")
    if element.attempts < limits.trained_attempts:
        return say(
            "%(there)s logged attempts, %(needed)s needed",
            there=element.attempts,
            needed=limits.trained_attempts,
        )
    if element.last_logged is None or (today - element.last_logged).days > limits.trained_within_days:
        return say("nothing logged in the last %(days)s days", days=limits.trained_within_days)
    if not element.outcomes:
        return say("not enough data on jumps like this for a chance")
    return None


def trained(known: tuple[KnownElement, ...], limits: Limits, today: date) -> dict[str, KnownElement]:
    """The elements this skater may be asked to do, by code."""
    return {element.code: element for element in known if why_untrained(element, limits, today) is None}


def clock(seconds: int) -> str:
    """Seconds as a skater reads them on the music: 128 -> '2:08'."""
    return f"{seconds // 60}:{seconds % 60:02d}"
