"""The six minutes before a program: layouts A, B, C agreed beforehand, one chosen, in what they differ. Pure.

The choice is an event, so every screen sees it; it counts only when it was made before the first pass, however
late it arrives. A pass that was undone does not stand in its way.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import prod
from typing import Any

from app.domain.words import entry, figure, listed, say
from app.live.events import (
    Corrected,
    Event,
    Inserted,
    LayoutChosen,
    PassLeftOut,
    PassSkated,
    Stamped,
)
from app.live.line import percent
from app.live.merge import in_force, moment_of, stamp
from app.live.program import PlannedPass

LETTERS = ("A", "B", "C")
SAME_POINTS = 0.05
"""Points too few to say."""
SAME_CHANCE = 0.005
INSTEAD = entry("%(code)s instead of %(code_2)s on pass %(place)s")
CROSSED = entry("%(code)s and %(code_2)s change places, passes %(place)s and %(back)s")


def chosen_letter(log: Iterable[Event | Stamped]) -> str:
    """The letter chosen last before the first pass that counts; empty: nobody has chosen."""
    known = {one.id: one for one in stamp(log)}
    alive = in_force(known.values())
    first = _first_pass(known, alive)
    choices = [
        (one.at, one.id, one.event.letter)
        for one in alive.values()
        if isinstance(one.event, LayoutChosen) and (first is None or one.at < first)
    ]
    return max(choices)[2] if choices else ""


def may_choose(log: Iterable[Event | Stamped]) -> bool:
    """Whether a choice made now would still count: no pass is logged."""
    known = {one.id: one for one in stamp(log)}
    return _first_pass(known, in_force(known.values())) is None


def _first_pass(known: Mapping[str, Stamped], alive: Mapping[str, Stamped]) -> float | None:
    """When the first pass that counts was tapped, in seconds since 1970; a correction keeps its pass's moment."""
    moments = []
    for one in alive.values():
        if isinstance(one.event, PassSkated | PassLeftOut | Corrected | Inserted):
            moment = moment_of(known, one)
            moments.append(one.at if moment is None else moment)
    return min(moments, default=None)


def difference(usual: Sequence[PlannedPass], other: Sequence[PlannedPass]) -> str:
    """In what `other` differs from A, in words: `2A instead of 3A on pass 2`; empty: in no jump pass."""
    said: list[str] = []
    told: set[int] = set()
    pairs = list(zip(usual, other, strict=False))
    for place, (was, now) in enumerate(pairs):
        if was.code == now.code or place in told:
            continue
        back = next((n for n in range(place + 1, len(pairs)) if _crossed(pairs[place], pairs[n])), None)
        if back is None:
            said.append(say(INSTEAD, code=now.code, code_2=was.code, place=place + 1))
        else:
            told.add(back)
            said.append(say(CROSSED, code=was.code, code_2=now.code, place=place + 1, back=back + 1))
    said += [say("%(code)s more, pass %(n)s", code=row.code, n=n) for n, row in _beyond(other, usual)]
    said += [say("without %(code)s, pass %(n)s", code=row.code, n=n) for n, row in _beyond(usual, other)]
    said += [
        say(
            "pass %(number)s in the second half" if now.late else "pass %(number)s in the first half",
            number=n,
        )
        for n, (was, now) in enumerate(pairs, start=1)
        if was.late != now.late
    ]
    return listed(said)


def _beyond(longer: Sequence[PlannedPass], shorter: Sequence[PlannedPass]) -> list[tuple[int, PlannedPass]]:
    """The passes that only one of two layouts has, with their numbers."""
    return list(enumerate(longer, start=1))[len(shorter) :]


def _crossed(one: tuple[PlannedPass, PlannedPass], other: tuple[PlannedPass, PlannedPass]) -> bool:
    return (one[0].code, one[1].code) == (other[1].code, other[0].code)


def fall_chance(question: Mapping[str, Any]) -> float:
    """Chance of at least one fall when every pass of an advise request is tried as planned, 0 to 1.

    As long as nobody has fallen the chances after a fall play no part, so that of no fall is a plain product.
    """
    return 1 - prod(1 - _falls(row, question["attempts"]) for row in question["passes"])


def _falls(row: Mapping[str, Any], usual: Mapping[str, Any]) -> float:
    own = row.get("attempts", {})
    ends = own[row["planned"]] if row["planned"] in own else usual[row["planned"]]
    return float(sum(one["chance"] for one in ends if one.get("fall")))


@dataclass(frozen=True, slots=True)
class Figures:
    """What a layout is worth: points of the whole layout without components, on average, misses included.

    `kept`: the plan is kept whatever happens; `best`: the best trained answer to every miss. `fall`: chance of at
    least one fall in the jumps, 0 to 1.
    """

    kept: float
    best: float
    fall: float


def cost_words(usual: Figures, other: Figures) -> str:
    """What `other` costs or brings beside A.

    `1.4 points less on average, a fall half as likely (26 % instead of 52 %)`.
    """
    more = round(other.kept - usual.kept, 1)
    if abs(other.kept - usual.kept) < SAME_POINTS:
        points = say("the same points on average")
    else:
        points = say(
            "%(points)s points more on average" if more > 0 else "%(points)s points less on average",
            points=figure(abs(more)),
        )
    return listed((points, _fall_words(usual.fall, other.fall)))


def _fall_words(usual: float, other: float) -> str:
    if abs(usual - other) < SAME_CHANCE:
        return say("a fall just as likely (%(percent)s)", percent=percent(other))
    half = usual > 0 and 0.45 <= other / usual <= 0.55
    said = {"now": percent(other), "was": percent(usual)}
    if half:
        return say("a fall half as likely (%(now)s instead of %(was)s)", **said)
    return say(
        "a fall more likely (%(now)s instead of %(was)s)"
        if other > usual
        else "a fall less likely (%(now)s instead of %(was)s)",
        **said,
    )
