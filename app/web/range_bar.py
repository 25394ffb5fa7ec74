"""How far a score spreads: a bar for eight programs in ten, a diamond at the mean, a dashed line for today's."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from app.domain.words import figure, say
from app.web.languages import written

WIDTH, HEIGHT = 290, 58
LEFT, RIGHT = 30, WIDTH - 30
BAR_TOP, BAR_HIGH = 28, 16


@dataclass(frozen=True, slots=True)
class RangeBar:
    """One spread, in points. `least` and `most` are the ends of the scale that all bars of a page share.

    `today`: the mean of today's layout; `key` makes ids unique on a page; `title` names the layout.
    """

    key: str
    title: str
    low: float
    mean: float
    high: float
    today: float
    least: float
    most: float


def describe(bar: RangeBar) -> str:
    """The picture in words."""
    return say(
        "In eight programs of ten between %(low)s and %(high)s points, %(mean)s on average; today's layout %(today)s "
        "on average.",
        low=figure(bar.low),
        high=figure(bar.high),
        mean=figure(bar.mean),
        today=figure(bar.today),
    )


def draw_range(bar: RangeBar) -> Markup:
    """The picture as an `<svg>` with title and description."""
    key = written(bar.key)
    low, mean, high, today = (_x(bar, points) for points in (bar.low, bar.mean, bar.high, bar.today))
    middle = BAR_TOP + BAR_HIGH / 2
    return Markup(
        f'<svg class="drawing range" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        f'aria-labelledby="{key}-t {key}-d" focusable="false">'
        f'<title id="{key}-t">{written(bar.title)}</title><desc id="{key}-d">{written(describe(bar))}</desc>'
        f'<path class="axis" d="M{LEFT} {middle:.1f}H{RIGHT}"/>'
        f'<rect class="eight" x="{low:.1f}" y="{BAR_TOP}" width="{max(high - low, 2):.1f}" height="{BAR_HIGH}" rx="4"/>'
        f'<path class="today" d="M{today:.1f} {BAR_TOP - 6}V{BAR_TOP + BAR_HIGH + 6}"/>'
        f'<path class="mean" d="M{mean - 9:.1f} {middle:.1f}l9 -9 9 9 -9 9z"/>'
        f'<text class="number" x="{low:.1f}" y="18">{written(figure(bar.low))}</text>'
        f'<text class="number" x="{high:.1f}" y="18">{written(figure(bar.high))}</text></svg>'
    )


def _x(bar: RangeBar, points: float) -> float:
    share = (points - bar.least) / max(bar.most - bar.least, 0.01)
    return LEFT + (RIGHT - LEFT) * min(max(share, 0.0), 1.0)
