"""The way from the planned to the called total as a picture: one bar a step, each beginning where the last one ended.

Made on the server, readable in print: a loss is an open bar with a minus, a gain a filled one with a plus, totals are
hatched; every bar has its words and its points. No inline styles; colours come from the style sheet by class.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from app.domain.points import Points, show
from app.domain.words import Figure, clauses, ended, say
from app.web.languages import shown_text, written

WIDTH, LEFT, RIGHT, BAR, STEP = 344, 4, 70, 20, 50
LONGEST = 34
"""Letters of a label that fit above its bar."""


@dataclass(frozen=True, slots=True)
class Fall:
    """One step: words, and the points it moves the total by."""

    words: str
    points: Points


@dataclass(frozen=True, slots=True)
class Waterfall:
    """The whole way. `start` and `end` are totals in hundredths with their words; `key` makes ids unique."""

    key: str
    title: str
    start: tuple[str, Points]
    steps: tuple[Fall, ...]
    end: tuple[str, Points]


def signed(points: Points) -> str:
    """Points with their sign: `+1.30`, `−0.40`."""
    return Figure(("+" if points > 0 else "−" if points < 0 else "") + show(abs(points)))


def draw(picture: Waterfall) -> Markup:
    """The picture as an `<svg>` with title and description for those who cannot see it."""
    levels = _levels(picture)
    low, high = min(levels), max(levels)
    # A scale from nothing would leave no room for the steps; it begins a little below the lowest level.
    low = max(low - max((high - low) // 4, 100), 0)

    def x(level: Points) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * (level - low) / max(high - low, 1)

    bars = [_total(0, *picture.start, x(low), x(picture.start[1]))]
    at = picture.start[1]
    for number, step in enumerate(picture.steps, start=1):
        bars.append(_step(number, step, x(at), x(at + step.points)))
        at += step.points
    bars.append(_total(len(picture.steps) + 1, *picture.end, x(low), x(picture.end[1])))
    height = STEP * len(bars) + 8
    key = written(picture.key)
    # Every text is escaped where it enters.
    return Markup(
        f'<svg class="drawing waterfall" viewBox="0 0 {WIDTH} {height}" role="img" '
        f'aria-labelledby="{key}-t {key}-d" focusable="false">'
        f'<title id="{key}-t">{written(picture.title)}</title><desc id="{key}-d">{written(describe(picture))}</desc>'
        f"{_hatch(key)}{''.join(bars).replace('#hatch', f'#{key}-hatch')}</svg>"
    )


def describe(picture: Waterfall) -> str:
    """The picture in words."""
    start, end = picture.start, picture.end
    steps = [(start[0], show(start[1])), *((one.words, signed(one.points)) for one in picture.steps)]
    said = clauses(
        say("%(what)s %(points)s", what=what, points=points)
        for what, points in (*steps, (end[0], show(end[1])))
    )
    return ended(said)


def _levels(picture: Waterfall) -> Sequence[Points]:
    levels = [picture.start[1], picture.end[1]]
    at = picture.start[1]
    for one in picture.steps:
        at += one.points
        levels.append(at)
    return levels


def _hatch(key: str) -> str:
    return (
        f'<pattern id="{key}-hatch" width="6" height="6" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><path class="hatch" d="M0 0v6"/></pattern>'
    )


def _total(row: int, words: str, points: Points, start: float, end: float) -> str:
    y = STEP * row + 24
    return (
        _words(row, words, "total-words")
        + f'<rect class="whole" x="{start:.1f}" y="{y}" width="{end - start:.1f}" height="{BAR}" '
        f'fill="url(#hatch)"/>{_figure(row, show(points))}'
    )


def _step(row: int, step: Fall, start: float, end: float) -> str:
    y = STEP * row + 24
    kind = "gain" if step.points > 0 else "loss"
    wide = max(abs(end - start), 2)
    thread = f'<path class="thread" d="M{start:.1f} {y - STEP + BAR}V{y}"/>'
    bar = f'<rect class="{kind}" x="{min(start, end):.1f}" y="{y}" width="{wide:.1f}" height="{BAR}"/>'
    return thread + _words(row, step.words, "words") + bar + _figure(row, signed(step.points))


def _words(row: int, words: str, kind: str) -> str:
    whole = shown_text(words)
    short = whole if len(whole) <= LONGEST else whole[: LONGEST - 1] + "…"
    return f'<text class="{kind}" x="{LEFT}" y="{STEP * row + 17}">{written(short)}</text>'


def _figure(row: int, words: str) -> str:
    return f'<text class="figure" x="{WIDTH - 2}" y="{STEP * row + 40}">{written(words)}</text>'
