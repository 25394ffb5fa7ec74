"""How well the answers are known: a row a call, under its pass, with a shape and a word for each standing.

A full disc is known, a half one getting there, a ring new. One column, made for a phone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from app.domain.words import listed, say, sentences
from app.practice.schedule import Standing
from app.web.languages import written

WIDTH = 328
HEAD, ROW, GAP = 30, 28, 10
SHAPE_X, FAIL_X, WORD_X = 22, 42, WIDTH - 4
RADIUS = 9


WORDS: dict[Standing, str] = {
    Standing.NEW: say("new"),
    Standing.GETTING_THERE: say("getting there"),
    Standing.KNOWN: say("known"),
}


@dataclass(frozen=True, slots=True)
class CallRow:
    """One call: how the pass fails, in a few words, and how well its answer is known."""

    fails: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class PassRows:
    """The calls of one pass."""

    number: int
    code: str
    rows: tuple[CallRow, ...]


def describe(passes: Sequence[PassRows]) -> str:
    """The picture in words."""
    told = (
        say(
            "Pass %(number)s, %(planned)s: %(calls)s.", number=one.number, planned=one.code, calls=_calls(one)
        )
        for one in passes
    )
    return sentences(*told)


def _calls(one: PassRows) -> str:
    return listed(
        say("%(fails)s (%(standing)s)", fails=row.fails, standing=WORDS[row.standing]) for row in one.rows
    )


def draw_progress(passes: Sequence[PassRows]) -> Markup:
    """The picture as an `<svg>` with title and description; every row is one call."""
    parts, y = [], 4
    for one in passes:
        head = say("Pass %(number)s: %(element)s", number=one.number, element=one.code)
        parts.append(f'<text class="head" x="4" y="{y + 20}">{written(head)}</text>')
        y += HEAD
        for row in one.rows:
            parts.append(_row(row, y))
            y += ROW
        y += GAP
    return Markup(
        f'<svg class="drawing standing" viewBox="0 0 {WIDTH} {y}" role="img" '
        f'aria-labelledby="standing-t standing-d" focusable="false">'
        f'<title id="standing-t">{written(say("How well the answers are known"))}</title>'
        f'<desc id="standing-d">{written(describe(passes))}</desc>{"".join(parts)}</svg>'
    )


def _row(row: CallRow, y: int) -> str:
    middle, base = y + ROW / 2, y + ROW / 2 + 6
    name = row.standing.value.split()[0]
    return (
        f'<g class="call {name}"><circle cx="{SHAPE_X}" cy="{middle:g}" r="{RADIUS}"/>{_filling(name, middle)}'
        f'<text x="{FAIL_X}" y="{base:g}">{written(row.fails)}</text>'
        f'<text class="word" x="{WORD_X}" y="{base:g}">{written(WORDS[row.standing])}</text></g>'
    )


def _filling(name: str, middle: float) -> str:
    """The left half of a disc for what is getting there; the disc itself is filled by its class."""
    if name != "getting":
        return ""
    return f'<path class="half" d="M{SHAPE_X} {middle - RADIUS:g}a{RADIUS} {RADIUS} 0 0 0 0 {2 * RADIUS}z"/>'
