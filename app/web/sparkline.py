"""The small picture of an element's last weeks, as SVG: how much of what was logged landed, week by week.

A dot a week, its size by the number of attempts; a shaded band where the true share is likely (Wilson's interval,
90 %) and a line from dot to dot. Both only where a week has enough attempts: elsewhere the dot is hollow and stands
alone. Lengths are SVG units. Colours come from the style sheet by class.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from math import sqrt

from markupsafe import Markup

from app.chances.record import wilson
from app.domain.words import clauses, say
from app.practice.weeks import Week
from app.web.languages import written
from app.web.views.home import day_words

WIDTH, HEIGHT = 288, 68
EDGE = 11
ENOUGH = 5
"""Attempts in a week from which its dot is joined and banded; below, the interval spans most of the picture."""
LARGEST = 9.0


@dataclass(frozen=True, slots=True)
class _Dot:
    x: float
    week: Week

    @property
    def enough(self) -> bool:
        return self.week.attempts >= ENOUGH

    @property
    def y(self) -> float:
        return _height(self.week.landed / self.week.attempts)

    @property
    def radius(self) -> float:
        """Area grows with the attempts, up to the largest dot that does not touch the next."""
        return min(LARGEST, 1 + 1.9 * sqrt(self.week.attempts))


def sparkline(key: str, element: str, weeks: Sequence[Week]) -> Markup:
    """The picture of these weeks; empty when nothing was logged in them. `key` makes its ids unique on a page."""
    if not any(week.attempts for week in weeks):
        return Markup()
    step = (WIDTH - 2 * EDGE) / max(len(weeks) - 1, 1)
    dots = [_Dot(EDGE + step * place, week) for place, week in enumerate(weeks)]
    runs = list(_runs(dots))
    parts = [
        _opening(key, element, weeks),
        f'<path class="spark-guide" d="M0 {_height(1):.1f}H{WIDTH}M0 {_height(0):.1f}H{WIDTH}"/>',
        *(_band(run) for run in runs),
        *(_line(run) for run in runs if len(run) > 1),
        *(_dot(dot) for dot in dots if dot.week.attempts),
        "</svg>",
    ]
    return Markup("".join(parts))  # every text is escaped where it enters


def describe(weeks: Sequence[Week]) -> str:
    """The picture in words: every week in which something was logged."""
    said = [
        say(
            "week of %(day)s: %(landed)s of %(attempts)s",
            day=day_words(week.start),
            landed=week.landed,
            attempts=week.attempts,
        )
        for week in weeks
        if week.attempts
    ]
    return (
        say("Landed by week. %(weeks)s.", weeks=clauses(said))
        if said
        else say("Nothing logged in these weeks.")
    )


def _height(share: float) -> float:
    return HEIGHT - EDGE - (HEIGHT - 2 * EDGE) * share


def _runs(dots: Sequence[_Dot]) -> Iterator[tuple[_Dot, ...]]:
    """Neighbouring weeks with enough attempts each."""
    for enough, run in groupby(dots, key=lambda dot: dot.enough):
        if enough:
            yield tuple(run)


def _opening(key: str, element: str, weeks: Sequence[Week]) -> str:
    name = written(key)
    title = say("%(element)s, last %(count)s weeks", element=element, count=len(weeks))
    return (
        f'<svg class="spark" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        f'aria-labelledby="{name}-t {name}-d" focusable="false">'
        f'<title id="{name}-t">{written(title)}</title>'
        f'<desc id="{name}-d">{written(describe(weeks))}</desc>'
    )


def _band(run: Sequence[_Dot]) -> str:
    """The shaded band over a run; a week that stands alone gets a short one of its own."""
    high, low = [], []
    for dot in run:
        likely = wilson(dot.week.landed / dot.week.attempts, dot.week.attempts)
        spread = (-5.0, 5.0) if len(run) == 1 else (0.0,)
        high += [f"{dot.x + aside:.1f},{_height(likely.high):.1f}" for aside in spread]
        low += [f"{dot.x + aside:.1f},{_height(likely.low):.1f}" for aside in spread]
    return f'<polygon class="spark-band" points="{" ".join((*high, *reversed(low)))}"/>'


def _line(run: Sequence[_Dot]) -> str:
    points = " ".join(f"{dot.x:.1f},{dot.y:.1f}" for dot in run)
    return f'<polyline class="spark-line" points="{points}"/>'


def _dot(dot: _Dot) -> str:
    kind = "spark-dot" if dot.enough else "spark-dot few"
    return f'<circle class="{kind}" cx="{dot.x:.1f}" cy="{dot.y:.1f}" r="{dot.radius:.1f}"/>'
