"""Were this skater's chances right? Each attempt in a program beside what had been reckoned before it.

The forecast is that an attempt lands as tried: every jump done, on the feet, nothing downgraded; calls of a quarter,
a turn short or an edge allowed, as "landed" is everywhere. It comes from the elements as the program kept them at its
start, so from the log as it stood then, with the odds of the moment that this program reckoned with (late, after a
fall). Beside it stands what official sheets of the level alone would have said of the same element. Brier score of a
yes or no (1950): the mean squared distance, 0 perfect, 0.25 for always saying one half.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from app.chances.adjust import Moment, at_the_moment
from app.chances.outcomes import chances
from app.chances.prior import level_and_discipline
from app.chances.record import Estimate, Record, wilson
from app.domain.notation import parse_jump_element
from app.live.entries import record_for
from app.live.events import PassSkated
from app.live.fold import LiveState, likeliest
from app.live.program import KnownElement, Limits, Outcome, Setting

ENOUGH_FORECASTS = 50
"""Under this many attempts a Brier score says little (common practice, no source)."""
EDGES = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)


@dataclass(frozen=True, slots=True)
class Forecast:
    """One attempt: `said`, the chance that it lands as tried, by the skater's own log; `others`: by sheets alone."""

    at: datetime
    setting: Setting
    code: str
    said: float
    others: float | None
    landed: bool


@dataclass(frozen=True, slots=True)
class Part:
    """Attempts with forecasts from `low` up to `high`: how many, the mean forecast, and how many landed."""

    low: float
    high: float
    n: int
    forecast: float
    landed: int

    @property
    def observed(self) -> Estimate:
        """The share that landed, with its 90 % interval."""
        return wilson(self.landed / self.n, self.n)


def as_tried(tried: str, code: str | None, fall: bool) -> bool:
    """Whether what became of an attempt counts as landed: every jump with its turns, on the feet, none downgraded."""
    if code is None or fall:
        return False
    meant, came = parse_jump_element(tried).jumps, parse_jump_element(code).jumps
    return [one.name for one in meant] == [one.name for one in came] and all(
        one.rotation != "<<" for one in came
    )


def forecasts(
    state: LiveState, known: Mapping[str, KnownElement], limits: Limits, at: datetime
) -> Iterator[Forecast]:
    """Every attempt of a log at an element of which the skater's own chances were known."""
    level, discipline = level_and_discipline(state.plan.edition)
    for place, entry in enumerate(state.logged):
        element = known.get(entry.tried) if isinstance(entry, PassSkated) else None
        if not isinstance(entry, PassSkated) or element is None or place >= len(state.plan.passes):
            continue
        own = record_for(state.plan.passes[place], element).outcomes
        if not own:
            continue
        moment = _moment(state, place, limits)
        came = likeliest(entry)
        found = chances(level, discipline, entry.tried, Record(0, 0))
        usual = (
            [Outcome(one.becomes, one.chance, one.grade, one.fall, one.error) for one in found.fates]
            if found
            else []
        )
        yield Forecast(
            at=at,
            setting=state.plan.setting,
            code=entry.tried,
            said=landing(entry.tried, own, discipline, moment),
            others=landing(entry.tried, usual, discipline, moment) if usual else None,
            landed=as_tried(entry.tried, came.code, came.fall),
        )


def landing(tried: str, ends: Sequence[Outcome], discipline: str, moment: Moment) -> float:
    """Chance that an attempt lands as tried, at this moment."""
    shares = at_the_moment(tried, ends, discipline, moment)
    return sum(
        share for one, share in zip(ends, shares, strict=True) if as_tried(tried, one.becomes, one.fall)
    )


def _moment(state: LiveState, place: int, limits: Limits) -> Moment:
    before = state.logged[place - 1] if place else None
    fell = isinstance(before, PassSkated) and any(one.fall for one in before.readings)
    late = limits.second_half_odds and state.late[place] and not state.plan.is_short
    return Moment(late=late, after_fall=limits.after_fall_odds and fell)


def brier(pairs: Iterable[tuple[float, bool]]) -> float:
    """Brier score of forecasts and whether they came true; at least one."""
    found = [(said - came) ** 2 for said, came in pairs]
    return sum(found) / len(found)


def parts(found: Sequence[Forecast]) -> tuple[Part, ...]:
    """Attempts by their forecast, a fifth each, the empty ones left out."""
    out = []
    for low, high in pairwise(EDGES):
        group = [one for one in found if low <= one.said < high or (high == 1.0 and one.said >= 1.0)]
        if group:
            mean = sum(one.said for one in group) / len(group)
            out.append(Part(low, high, len(group), mean, sum(one.landed for one in group)))
    return tuple(out)
