"""How likely which total is, as SVG: bars for the plan, an outline for the swap, a mark at the total aimed at.

Bars stand for one way, the stepped line for the other, each named in words beside its sign; the mark carries its
number. Colours come from the style sheet by class. Lengths are SVG units.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor

from markupsafe import Markup

from app.domain.words import figure
from app.web.languages import written

WIDTH, HEIGHT = 344, 190
LEFT, RIGHT, TOP, BOTTOM = 8, 8, 30, 40
MOST_BARS = 26
WIDTHS = (0.5, 1, 2, 2.5, 5, 10)
"""Widths of a bar in points, the finest that gives few enough bars is taken."""


@dataclass(frozen=True, slots=True)
class Ends:
    """Totals with their chances, in rising order, and what they are called."""

    name: str
    totals: Sequence[float]
    chances: Sequence[float]


def draw_spread(plan: Ends, other: Ends | None, target: float | None, said: str) -> Markup:
    """The picture; `said` is its text alternative."""
    ends = [*plan.totals, *(other.totals if other else ())]
    beyond = _beyond(ends, target)
    every = ends if target is None or beyond else [*ends, target]
    width = next((w for w in WIDTHS if (max(every) - min(every)) / w <= MOST_BARS), WIDTHS[-1])
    start = floor(min(every) / width) * width
    count = max(1, ceil((max(every) - start) / width + 1e-9))
    heights = [_binned(one, start, width, count) for one in (plan, other) if one]
    scale = Scale(start, width, count, max(max(one) for one in heights))
    parts = [
        f'<svg class="spread" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="{written(said)}">',
        *(scale.bar(place, share) for place, share in enumerate(heights[0]) if share > 0),
    ]
    if other:
        parts.append(scale.outline(heights[1]))
    parts += scale.axis()
    if target is not None:
        parts.append(scale.mark(target, beyond))
    return Markup("".join([*parts, "</svg>"]))


@dataclass(frozen=True, slots=True)
class Scale:
    """From points and shares to the picture."""

    start: float
    width: float
    count: int
    most: float

    def x(self, points: float) -> float:
        """Where a total stands."""
        return LEFT + (points - self.start) / (self.width * self.count) * (WIDTH - LEFT - RIGHT)

    def y(self, share: float) -> float:
        """How high a share reaches."""
        return HEIGHT - BOTTOM - share / self.most * (HEIGHT - TOP - BOTTOM)

    def bar(self, place: int, share: float) -> str:
        """One bar of the plan."""
        x, x2, y = (
            self.x(self.start + place * self.width),
            self.x(self.start + (place + 1) * self.width),
            self.y(share),
        )
        return (
            f'<rect class="spread-bar" x="{x + 1:.1f}" y="{y:.1f}" '
            f'width="{x2 - x - 2:.1f}" height="{HEIGHT - BOTTOM - y:.1f}"/>'
        )

    def outline(self, shares: Sequence[float]) -> str:
        """The stepped line of the other way."""
        path = f"M{self.x(self.start):.1f} {self.y(0):.1f}"
        for place, share in enumerate(shares):
            x2 = self.x(self.start + (place + 1) * self.width)
            path += f"V{self.y(share):.1f}H{x2:.1f}"
        return f'<path class="spread-line" d="{path}V{self.y(0):.1f}"/>'

    def axis(self) -> list[str]:
        """The line of points with round numbers under it."""
        floor_y = HEIGHT - BOTTOM
        parts = [f'<path class="spread-axis" d="M{LEFT} {floor_y}H{WIDTH - RIGHT}"/>']
        span = self.width * self.count
        step = next((s for s in (1, 2, 5, 10, 20, 50) if span / s <= 6), 100)
        points = ceil(self.start / step) * step
        while points <= self.start + span:
            x = min(max(self.x(points), LEFT + 10), WIDTH - RIGHT - 10)
            parts.append(f'<path class="spread-axis" d="M{self.x(points):.1f} {floor_y}v5"/>')
            parts.append(
                f'<text class="spread-word" x="{x:.1f}" y="{floor_y + 21}" text-anchor="middle">{points:g}</text>'
            )
            points += step
        return parts

    def mark(self, target: float, beyond: int) -> str:
        """The total aimed at; `beyond` the picture (−1 below, 1 above): at its edge, with an arrow onwards."""
        x = self.x(target) if not beyond else LEFT if beyond < 0 else WIDTH - RIGHT
        said = ("← {}", "{}", "{} →")[beyond + 1].format(written(figure(target, 2)))
        anchor = "start" if x < WIDTH * 0.2 else "end" if x > WIDTH * 0.8 else "middle"
        return (
            f'<path class="spread-mark" d="M{x:.1f} {TOP - 6}V{HEIGHT - BOTTOM}"/>'
            f'<text class="spread-target" x="{x:.1f}" y="{TOP - 11}" text-anchor="{anchor}">{said}</text>'
        )


def _beyond(ends: Sequence[float], target: float | None) -> int:
    """Whether the total lies so far off that drawing it would squeeze the rest: −1 below, 1 above, else 0."""
    least, most = min(ends), max(ends)
    room = max(most - least, WIDTHS[-1])
    if target is None or least - room <= target <= most + room:
        return 0
    return 1 if target > most else -1


def _binned(ends: Ends, start: float, width: float, count: int) -> list[float]:
    shares = [0.0] * count
    for total, chance in zip(ends.totals, ends.chances, strict=True):
        shares[min(count - 1, int((total - start) / width + 1e-9))] += chance
    return shares
