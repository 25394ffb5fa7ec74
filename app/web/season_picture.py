"""The pictures of a season: small multiples over its programs, lost units by pass, forecasts beside what came.

Made on the server; every state has a shape or a filling of its own, no colour says anything alone. In competition a bar
is filled, in a run-through open. One column of 344 units, made for a phone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from markupsafe import Markup, escape

from app.domain.words import Text, listed, say, sentences
from app.review.season.forecasts import Part
from app.review.season.shares import ENOUGH
from app.web.languages import shown_text

WIDTH, GAP = 344, 16
HEAD, TALL, FOOT = 24, 44, 10
MOST_PROGRAMS = 24
"""Programs drawn in one panel, the latest."""
MARK, A_ROW = 22, 11

Item = TypeVar("Item")


@dataclass(frozen=True, slots=True)
class Panel:
    """One measure over the programs, earliest first. A value None: not known there. `total`: all of it, in words.

    `down`: a second value that hangs below the line.
    """

    words: str
    total: str
    values: tuple[float | None, ...]
    down: tuple[float | None, ...] = ()


@dataclass(frozen=True, slots=True)
class LossRow:
    """The losses of one pass: (in competition, had a place, won back) of each, earliest first."""

    words: str
    marks: tuple[tuple[bool, bool, bool], ...]


def draw_panels(key: str, title: str, panels: Sequence[Panel], in_competition: Sequence[bool]) -> Markup:
    """Small multiples, two beside each other; a panel with something below its line takes the whole width."""
    parts: list[str] = []
    y = 0
    for row in _rows(panels):
        wide = (WIDTH - GAP * (len(row) - 1)) / len(row)
        high = HEAD + TALL * (2 if row[0].down else 1) + FOOT
        for place, panel in enumerate(row):
            parts.append(_panel(panel, in_competition, place * (wide + GAP), y, wide))
        y += high
    said = listed(map(_named, panels))
    return _svg(key, "season", title, said, y, parts)


def _in_rows(items: Sequence[Item], most: int) -> Iterator[Sequence[Item]]:
    return (items[start : start + most] for start in range(0, len(items), most))


def _rows(panels: Sequence[Panel]) -> Iterator[Sequence[Panel]]:
    yield from _in_rows([one for one in panels if not one.down], 2)
    yield from ((one,) for one in panels if one.down)


def _named(panel: Panel) -> Text:
    return say("%(what)s: %(total)s", what=panel.words, total=panel.total)


def _shown(words: str) -> Markup:
    """A text in the reader's language, safe in markup."""
    return escape(shown_text(words))


def _panel(panel: Panel, in_competition: Sequence[bool], x: float, y: float, wide: float) -> str:
    values, below = panel.values[-MOST_PROGRAMS:], panel.down[-MOST_PROGRAMS:]
    shown = in_competition[-MOST_PROGRAMS:]
    most = max([value or 0 for value in (*values, *below)] + [1])
    line = y + HEAD + TALL
    step = min(wide / max(len(values), 1), 20)
    bars = []
    for place, (value, filled) in enumerate(zip(values, shown, strict=True)):
        left = x + step * place + 1
        kind = "filled" if filled else "open"
        if value is None:
            bars.append(f'<path class="unknown" d="M{left + step / 2 - 2:.1f} {line + 5}h3"/>')
            continue
        bars.append(_bar(kind, left, line, step, value / most))
        if below:
            bars.append(_bar(f"{kind} below", left, line, step, -(below[place] or 0) / most))
    return (
        f'<text x="{x:.1f}" y="{y + 17}">{_shown(_named(panel))}</text>'
        f'<path class="axis" d="M{x:.1f} {line}h{wide:.1f}"/>{"".join(bars)}'
    )


def _bar(kind: str, left: float, line: float, step: float, share: float) -> str:
    high = abs(share) * (TALL - 8)
    if not high:
        return ""
    top = line - high if share > 0 else line
    return f'<rect class="{kind}" x="{left:.1f}" y="{top:.1f}" width="{max(step - 3, 2):.1f}" height="{high:.1f}"/>'


def draw_losses(rows: Sequence[LossRow]) -> Markup:
    """A mark a loss: square in competition, else round; filled when won back, a dash where no place was left."""
    parts, y = [], 0
    for row in rows:
        parts.append(f'<text x="0" y="{y + 17}">{_shown(row.words)}</text>')
        y += HEAD
        for line in _in_rows(row.marks, A_ROW):
            parts += [_loss(mark, place, y) for place, mark in enumerate(line)]
            y += MARK + 6
        y += 4
    return _svg("losses", "season", say("Lost combinations by pass"), _said(rows), y, parts)


def _loss(mark: tuple[bool, bool, bool], place: int, y: float) -> str:
    in_competition, had_place, won_back = mark
    x, kind = 4 + place * (MARK + 8), "filled" if won_back else "open"
    size = MARK - 4
    shape = (
        f'<rect class="{kind}" x="{x}" y="{y}" width="{size}" height="{size}"/>'
        if in_competition
        else f'<circle class="{kind}" cx="{x + size / 2}" cy="{y + size / 2}" r="{size / 2}"/>'
    )
    dash = f'<path class="axis" d="M{x + 4} {y + size / 2}h{size - 8}"/>' if not had_place else ""
    return shape + dash


def _said(rows: Sequence[LossRow]) -> Text:
    return sentences(
        *(
            say(
                "%(where)s: %(lost)s lost, %(back)s won back.",
                where=row.words,
                lost=len(row.marks),
                back=sum(mark[2] for mark in row.marks),
            )
            for row in rows
        )
    )


def draw_parts(parts: Sequence[Part]) -> Markup:
    """A line from 0 to 100 % for each fifth: the mean forecast (a tick), what landed (a dot), how sure that is."""
    drawn, y, left = [], 0, 4
    long = WIDTH - 2 * left
    for one in parts:
        middle = y + HEAD + 16
        seen = one.observed
        words = say("Said %(low)s to %(high)s %%", low=percent(one.low), high=percent(one.high))
        landed = say("%(landed)s of %(tried)s landed", landed=one.landed, tried=one.n)
        drawn.append(f'<text x="0" y="{y + 17}">{_shown(words)}</text>')
        drawn.append(f'<text class="end" x="{WIDTH}" y="{y + 17}">{_shown(landed)}</text>')
        drawn.append(f'<path class="thread" d="M{left} {middle}h{long}"/>')
        if one.n >= ENOUGH:
            wide = long * (seen.high - seen.low)
            drawn.append(
                f'<rect class="likely" x="{left + long * seen.low:.1f}" y="{middle - 8}" '
                f'width="{wide:.1f}" height="16"/>'
            )
        kind = "filled" if one.n >= ENOUGH else "open"
        drawn.append(f'<circle class="{kind}" cx="{left + long * seen.chance:.1f}" cy="{middle}" r="6"/>')
        drawn.append(f'<path class="axis" d="M{left + long * one.forecast:.1f} {middle - 13}v26"/>')
        y += HEAD + 36
    said = sentences(*map(_part_words, parts))
    return _svg("forecasts", "season", say("Forecast and outcome"), said, y, drawn)


def _part_words(one: Part) -> Text:
    return say(
        "Forecasts of %(low)s to %(high)s %%, on average %(mean)s %%: %(landed)s of %(tried)s landed.",
        low=percent(one.low),
        high=percent(one.high),
        mean=percent(one.forecast),
        landed=one.landed,
        tried=one.n,
    )


def percent(share: float) -> int:
    """A share in whole percent."""
    return round(100 * share)


def _svg(key: str, kind: str, title: str, said: str, high: float, parts: Sequence[str]) -> Markup:
    name = escape(key)
    # Every text is escaped where it enters.
    return Markup(
        f'<svg class="drawing {kind}" viewBox="0 0 {WIDTH} {high:.0f}" role="img" '
        f'aria-labelledby="{name}-t {name}-d" focusable="false">'
        f'<title id="{name}-t">{_shown(title)}</title><desc id="{name}-d">{_shown(said)}</desc>{"".join(parts)}</svg>'
    )
