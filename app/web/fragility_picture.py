"""The picture of a fragile program: its passes in order of time, and an arc from a miss to what it drags along.

Drawn twice from the same values: down the page for a phone (arcs on the right), along a line for a wider screen
(arcs above). A miss is a cross in a circle with its word; what it reaches is a star ("nothing"), a plate with
the share that is kept, or an open ring (a place unused). Each miss has its own kind of line, so that nothing is
told by colour. Lengths are SVG units; colours come from the style sheet by class.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from markupsafe import Markup

from app.domain.words import say
from app.live.program import clock
from app.web.languages import written

TALL, WIDE = 344, 688
LINE = 21
"""Height of a line of text."""
LABEL = 24
"""Height of a label on an arc."""
STYLES = 4
"""Kinds of line there are; more misses begin again."""


class Mark(StrEnum):
    """What stands at the end of an arc."""

    STAR = "star"
    PART = "part"
    RING = "ring"


@dataclass(frozen=True, slots=True)
class Bar:
    """One pass of the program."""

    number: int
    seconds: int
    code: str
    late: bool


@dataclass(frozen=True, slots=True)
class Miss:
    """A miss that is drawn: on which pass, and its word."""

    number: int
    word: str


@dataclass(frozen=True, slots=True)
class Arc:
    """From a miss (index into the misses) to pass `number`; 0: to the end of the program.

    `word` stands at the pass reached, `label` (points) on the arc.
    """

    miss: int
    number: int
    mark: Mark
    word: str
    label: str


@dataclass(frozen=True, slots=True)
class FragilePicture:
    """A whole picture. `key` makes its ids unique on a page; `says` is the text alternative."""

    key: str
    title: str
    says: str
    bars: tuple[Bar, ...]
    misses: tuple[Miss, ...]
    arcs: tuple[Arc, ...]

    @property
    def stops(self) -> list[int]:
        """Pass numbers in order, and 0 for the end of the program where an arc goes there."""
        ends = [0] if any(arc.number == 0 for arc in self.arcs) else []
        return [bar.number for bar in self.bars] + ends

    def words_at(self, number: int) -> list[str]:
        """The words that stand at a pass: its miss first, then what reaches it."""
        found = [miss.word for miss in self.misses if miss.number == number]
        return list(dict.fromkeys(found + [arc.word for arc in self.arcs if arc.number == number]))


def draw_tall(picture: FragilePicture) -> Markup:
    """Passes down the page, arcs on the right."""
    tops, height = _rows(picture)
    middle = {number: top + 17 for number, top in tops.items()}
    parts = [_opening(picture, f"{picture.key}-tall", "drawing fragile tall", TALL, height)]
    late = [bar.number for bar in picture.bars if bar.late]
    if late:
        below = picture.stops[picture.stops.index(late[-1]) + 1 :]
        floor = tops[below[0]] - 6 if below else height
        parts.append(_shade(0, tops[late[0]] - 6, TALL, floor - tops[late[0]] + 6))
    for bar in picture.bars:
        parts.append(_row(picture, bar, tops[bar.number], bar.number == (late or [0])[0]))
    if 0 in tops:
        parts.append(_text("word", 34, middle[0] + 5, say("at the end"), "start"))
        parts += [
            _text("note", 34, middle[0] + 5 + LINE * n, word, "start")
            for n, word in enumerate(picture.words_at(0), start=1)
        ]
    parts += [_miss_mark(162, middle[miss.number]) for miss in picture.misses]
    parts += _tall_arcs(picture, middle)
    return Markup("".join((*parts, "</svg>")))


def draw_wide(picture: FragilePicture) -> Markup:
    """Passes along a line, arcs above."""
    stops = picture.stops
    step = WIDE / len(stops)
    centre = {number: step * (place + 0.5) for place, number in enumerate(stops)}
    arcs_high = 46 + 26 * min(len(picture.arcs), 5)
    marks = arcs_high + 14
    words = max((len(picture.words_at(number)) for number in stops), default=0)
    line = marks + 22 + LINE * words + 34
    height = line + (66 if any(bar.late for bar in picture.bars) else 46)
    parts = [_opening(picture, f"{picture.key}-wide", "drawing fragile wide", WIDE, height)]
    late = [centre[bar.number] for bar in picture.bars if bar.late]
    if late:
        left = late[0] - step / 2
        parts.append(_shade(left, marks - 16, late[-1] + step / 2 - left, height - marks + 16))
        parts.append(_text("when", late[-1] + step / 2 - 6, height - 7, say("second half"), "end"))
    parts.append(f'<path class="joint" d="M{step / 2:.0f} {line}H{centre[picture.bars[-1].number]:.0f}"/>')
    for number in stops:
        parts += [
            _text("note", centre[number], marks + 32 + LINE * n, word)
            for n, word in enumerate(picture.words_at(number))
        ]
    parts += [_column(bar, centre[bar.number], line, step) for bar in picture.bars]
    if 0 in centre:
        parts.append(_text("word", centre[0], line + 6, say("at the end")))
    parts += [_miss_mark(centre[miss.number], marks) for miss in picture.misses]
    parts += _wide_arcs(picture, centre, marks, arcs_high)
    return Markup("".join((*parts, "</svg>")))


def _rows(picture: FragilePicture) -> tuple[dict[int, float], float]:
    """Top of every stop going down the page, and the height of the whole."""
    tops, y = {}, 10.0
    for number in picture.stops:
        tops[number] = y
        ends = sum(arc.number == number for arc in picture.arcs)
        y += max(24 + LINE * (len(picture.words_at(number)) + (number != 0)), 10 + 24 * ends) + 12
    return tops, y


def _row(picture: FragilePicture, bar: Bar, top: float, first_late: bool) -> str:
    when = say("%(when)s, second half", when=clock(bar.seconds)) if first_late else clock(bar.seconds)
    words = [
        _text("note", 34, top + 22 + LINE * n, word, "start")
        for n, word in enumerate(picture.words_at(bar.number), start=2)
    ]
    return (
        f'<g class="pass">{_text("number", 14, top + 22, str(bar.number))}'
        f"{_text('code', 34, top + 22, bar.code, 'start')}"
        f"{_text('when', 34, top + 22 + LINE, when, 'start')}{''.join(words)}</g>"
    )


def _column(bar: Bar, x: float, line: float, step: float) -> str:
    wide = step - 6
    fit = f' textLength="{wide - 10:.0f}" lengthAdjust="spacingAndGlyphs"' if len(bar.code) > 7 else ""
    return (
        f'<g class="pass"><rect class="plate" x="{x - wide / 2:.1f}" y="{line - 15}" width="{wide:.1f}" '
        f'height="30" rx="6"/>'
        f'<text class="code middle" x="{x:.1f}" y="{line + 6}"{fit}>{written(bar.code)}</text>'
        f"{_text('number', x, line - 21, str(bar.number))}{_text('when', x, line + 36, clock(bar.seconds))}</g>"
    )


def _tall_arcs(picture: FragilePicture, middle: dict[int, float]) -> list[str]:
    """One arc after the other, each wider than the last, with its mark and label."""
    found, labels = [], []
    count = max(len(picture.arcs), 2)
    landed: dict[int, int] = {}
    for place, arc in enumerate(picture.arcs):
        start = middle[picture.misses[arc.miss].number]
        end = middle[arc.number] + 24 * landed.get(arc.number, 0)
        landed[arc.number] = landed.get(arc.number, 0) + 1
        bend = 250 + 110 * place / (count - 1)
        found.append(
            _path(arc, f"M175 {start:.0f}C{bend:.0f} {start:.0f} {bend:.0f} {end:.0f} 186 {end:.0f}")
        )
        found.append(_end_mark(arc, 176, end))
        labels.append(((175 + 6 * bend + 186) / 8, (start + end) / 2))
    return found + _labels(picture, labels, TALL)


def _wide_arcs(picture: FragilePicture, centre: dict[int, float], marks: float, high: float) -> list[str]:
    found, labels = [], []
    landed: dict[int, int] = {}
    for place, arc in enumerate(picture.arcs):
        start = centre[picture.misses[arc.miss].number]
        ends = sum(other.number == arc.number for other in picture.arcs)
        end = centre[arc.number] + 25 * (landed.get(arc.number, 0) - (ends - 1) / 2)
        landed[arc.number] = landed.get(arc.number, 0) + 1
        top = marks - high * (0.75 + 0.45 * (place + 1) / len(picture.arcs))
        found.append(
            _path(
                arc,
                f"M{start:.0f} {marks - 13}C{start:.0f} {top:.0f} {end:.0f} {top:.0f} {end:.0f} {marks - 12}",
            )
        )
        found.append(_end_mark(arc, end, marks))
        labels.append(((start + end) / 2, max((2 * (marks - 12) + 6 * top) / 8, 12)))
    return found + _labels(picture, labels, WIDE)


def _labels(picture: FragilePicture, wanted: list[tuple[float, float]], within: float) -> list[str]:
    """Points on the arcs, moved down until none covers another, inside the drawing."""
    placed: list[tuple[float, float]] = []
    found = []
    for arc, (x, y) in zip(picture.arcs, wanted, strict=True):
        wide = 12 + 9 * len(arc.label)
        x = min(x, within - wide / 2)
        while any(abs(x - other) < 56 and abs(y - taken) < LABEL for other, taken in placed):
            y += LABEL / 2
        placed.append((x, y))
        found.append(
            f'<rect class="label" x="{x - wide / 2:.1f}" y="{y - 12:.1f}" width="{wide}" height="{LABEL}" rx="5"/>'
            + _text("points", x, y + 6, arc.label)
        )
    return found


def _path(arc: Arc, line: str) -> str:
    return f'<path class="arc line-{arc.miss % STYLES}" d="{line}"/>'


def _miss_mark(x: float, y: float) -> str:
    return (
        f'<circle class="miss" cx="{x:.1f}" cy="{y:.1f}" r="11"/>'
        f'<path class="miss-cross" d="M{x - 5:.1f} {y - 5:.1f}l10 10m0 -10l-10 10"/>'
    )


def _end_mark(arc: Arc, x: float, y: float) -> str:
    if arc.mark is Mark.STAR:
        rays = "".join(f"M{x - dx:.1f} {y - dy:.1f}l{2 * dx:.1f} {2 * dy:.1f}" for dx, dy in _RAYS)
        return f'<circle class="target" cx="{x:.1f}" cy="{y:.1f}" r="11"/><path class="star" d="{rays}"/>'
    if arc.mark is Mark.PART:
        return f'<rect class="target" x="{x - 10:.1f}" y="{y - 10:.1f}" width="20" height="20" rx="3"/>' + (
            f'<path class="half" d="M{x - 10:.1f} {y + 3:.1f}h20v7h-20z"/>'
        )
    return f'<circle class="target ring" cx="{x:.1f}" cy="{y:.1f}" r="10"/>'


_RAYS = ((0.0, 8.0), (7.0, 4.0), (7.0, -4.0))


def _shade(x: float, y: float, wide: float, high: float) -> str:
    return f'<rect class="late" x="{x:.1f}" y="{y:.1f}" width="{wide:.1f}" height="{high:.1f}"/>'


def _text(kind: str, x: float, y: float, words: str, anchor: str = "middle") -> str:
    return f'<text class="{kind} {anchor}" x="{x:.1f}" y="{y:.1f}">{written(words)}</text>'


def _opening(picture: FragilePicture, key: str, kind: str, wide: float, high: float) -> str:
    key = written(key)
    return (
        f'<svg class="{kind}" viewBox="0 0 {wide} {high:.0f}" role="img" '
        f'aria-labelledby="{key}-t {key}-d" focusable="false">'
        f'<title id="{key}-t">{written(picture.title)}</title><desc id="{key}-d">{written(picture.says)}</desc>'
    )
