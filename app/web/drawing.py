"""The drawing of a program as SVG: the same on every screen, made here and nowhere else.

Passes stand in columns above a time line, joined to their moment by a thread; the jumps of a unit hang on one
line; the second half is shaded. What was planned and didn't come is crossed out, what came instead follows it.
States are told by shape and word, never by colour alone. Colours come from the style sheet by class; no inline
styles, so a strict content policy holds. Lengths are SVG units, one CSS pixel at a phone's width.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from html import escape

from markupsafe import Markup

from app.domain.elements import Jump
from app.domain.notation import parse_jump_element
from app.domain.words import listed, say, sentences
from app.live.program import clock
from app.web.languages import written

WIDTH = 344
BOX, STEP = (44, 26), 30
HEAD, HEAD_WITH_WORDS, AXIS_GAP, FOOT = 28, 48, 34, 26


class Stage(StrEnum):
    """Where a pass stands; its word stands above it."""

    PLANNED = ""
    DONE = "done"
    NEXT = "next"
    TO_COME = "to come"
    LEFT_OUT = "left out"


WORDS: dict[Stage, str] = {
    Stage.PLANNED: "",
    Stage.DONE: say("done"),
    Stage.NEXT: say("next"),
    Stage.TO_COME: say("to go"),
    Stage.LEFT_OUT: say("out"),
}


class Fate(StrEnum):
    """What became of one jump in a column."""

    KEPT = "kept"
    LOST = "lost"
    CAME = "came"
    OFFERED = "offered"


@dataclass(frozen=True, slots=True)
class Column:
    """One pass. `skated`: the code as executed; `offered`: a swap on the table; `note`: one short word.

    Codes may carry the rulebook's stars: such a jump is crossed out.
    """

    seconds: int
    planned: str
    stage: Stage = Stage.PLANNED
    skated: str | None = None
    offered: str | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Mark:
    """A spin or a step sequence on the time line."""

    seconds: int
    code: str
    is_spin: bool


@dataclass(frozen=True, slots=True)
class Picture:
    """A whole program. `key` makes its ids unique on a page."""

    key: str
    title: str
    seconds: int
    half: int
    columns: tuple[Column, ...]
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True, slots=True)
class _Box:
    text: str
    fate: Fate


@dataclass(frozen=True, slots=True)
class _Lines:
    """Where a column hangs: its moment on the time line, and the heights it runs through."""

    moment: float
    top: float
    floor: float
    axis: float


def draw(picture: Picture) -> Markup:
    """The picture as an `<svg>` with title and description for those who cannot see it."""
    boxes = [_boxes(column) for column in picture.columns]
    tallest = max((len(column) for column in boxes), default=1)
    noted = any(column.note for column in picture.columns)
    worded = any(column.stage is not Stage.PLANNED for column in picture.columns)
    top = HEAD_WITH_WORDS if worded else HEAD
    floor = top + tallest * STEP + (20 if noted else 0)
    axis = floor + AXIS_GAP
    places = _spread([_x(picture, column.seconds) for column in picture.columns])
    parts = [
        _opening(picture, axis + FOOT),
        _shade(picture, places, floor, axis),
        _time_line(picture, axis),
        *(_mark(picture, mark, axis) for mark in picture.marks),
    ]
    for number, (column, found, x) in enumerate(zip(picture.columns, boxes, places, strict=True), start=1):
        lines = _Lines(_x(picture, column.seconds), top, floor, axis)
        parts.append(_column(number, column, found, x, lines))
    parts.append("</svg>")
    # Every text is escaped where it enters.
    return Markup("".join(parts))


def describe(picture: Picture) -> str:
    """The drawing in words, one sentence a pass."""
    told = (_sentence(number, column, picture.half) for number, column in enumerate(picture.columns, start=1))
    return sentences(*told)


def _sentence(number: int, column: Column, half: int) -> str:
    facts = [
        say("second half") if column.seconds >= half else "",
        _came(column),
        column.note if column.stage is not Stage.LEFT_OUT else "",
        say("swap offered: %(element)s", element=column.offered) if column.offered else "",
    ]
    where = {"number": number, "time": clock(column.seconds), "planned": column.planned}
    told = listed(one for one in facts if one)
    if not told:
        return say("Pass %(number)s at %(time)s: %(planned)s.", **where)
    return say("Pass %(number)s at %(time)s: %(planned)s, %(facts)s.", **where, facts=told)


def _came(column: Column) -> str:
    """What became of a pass, in a few words."""
    if column.stage is Stage.LEFT_OUT:
        return say("not attempted")
    if column.stage is Stage.DONE and column.skated is not None:
        same = column.skated == column.planned
        return say("as planned") if same else say("came as %(element)s", element=column.skated)
    if column.stage is Stage.NEXT:
        return say("next")
    return say("to come") if column.stage is Stage.TO_COME else ""


def _boxes(column: Column) -> list[_Box]:
    planned = parse_jump_element(column.planned).jumps
    if column.stage is Stage.LEFT_OUT:
        return [_Box(jump.name, Fate.LOST) for jump in planned]
    if column.skated is not None:
        return _compared(planned, parse_jump_element(column.skated).jumps, Fate.CAME)
    if column.offered is not None:
        return _compared(planned, parse_jump_element(column.offered).jumps, Fate.OFFERED)
    return [_box_of(jump, Fate.KEPT) for jump in planned]


def _box_of(jump: Jump, fate: Fate) -> _Box:
    """A jump as called; one that counts for nothing is crossed out whatever became of it."""
    text = f"{jump.name}{jump.edge}{jump.rotation}{'*' if jump.starred else ''}"
    return _Box(text, Fate.LOST if jump.starred else fate)


def _compared(planned: tuple[Jump, ...], other: tuple[Jump, ...], fate: Fate) -> list[_Box]:
    found: list[_Box] = []
    for place in range(max(len(planned), len(other))):
        mine = planned[place] if place < len(planned) else None
        theirs = other[place] if place < len(other) else None
        if mine and theirs and mine.name == theirs.name:
            found.append(_box_of(theirs, Fate.KEPT))
            continue
        if mine:
            found.append(_Box(mine.name, Fate.LOST))
        if theirs:
            found.append(_box_of(theirs, fate))
    return found


def _x(picture: Picture, seconds: int) -> float:
    return 4 + (WIDTH - 8) * min(seconds, picture.seconds) / picture.seconds


def _spread(wanted: list[float]) -> list[float]:
    """Column centres near their moments, at least a box apart, inside the drawing."""
    apart = BOX[0] + 3
    low, high = BOX[0] / 2 + 1, WIDTH - BOX[0] / 2 - 1
    placed: list[float] = []
    for x in wanted:
        placed.append(max(x, low, placed[-1] + apart if placed else low))
    limit = high
    for place in range(len(placed) - 1, -1, -1):
        placed[place] = min(placed[place], limit)
        limit = placed[place] - apart
    return placed


def _opening(picture: Picture, height: float) -> str:
    key = escape(picture.key)
    return (
        f'<svg class="drawing" viewBox="0 0 {WIDTH} {height:.0f}" role="img" '
        f'aria-labelledby="{key}-t {key}-d" focusable="false">'
        f'<title id="{key}-t">{written(picture.title)}</title>'
        f'<desc id="{key}-d">{written(describe(picture))}</desc>'
    )


def _shade(picture: Picture, places: list[float], floor: float, axis: float) -> str:
    late = [x for x, column in zip(places, picture.columns, strict=True) if column.seconds >= picture.half]
    early = [x for x, column in zip(places, picture.columns, strict=True) if column.seconds < picture.half]
    edge = _x(picture, picture.half)
    if late:
        edge = (early[-1] + late[0]) / 2 if early else late[0] - BOX[0] / 2
    half = _x(picture, picture.half)
    corners = f"{edge:.1f},0 {WIDTH},0 {WIDTH},{axis:.1f} {half:.1f},{axis:.1f} {edge:.1f},{floor:.1f}"
    return f'<polygon class="late" points="{corners}"/>'


def _time_line(picture: Picture, axis: float) -> str:
    foot = axis + 20
    second_half = written(say("second half"))
    half = _x(picture, picture.half)
    return (
        f'<path class="axis" d="M4 {axis:.1f}H{WIDTH - 4}M{half:.1f} {axis - 5:.1f}v10"/>'
        f'<text class="when" x="4" y="{foot:.1f}">0:00</text>'
        f'<text class="when" x="{half:.1f}" y="{foot:.1f}" text-anchor="middle">{clock(picture.half)}'
        f'</text><text class="when" x="{WIDTH - 4}" y="{foot:.1f}" text-anchor="end">{second_half}</text>'
    )


def _mark(picture: Picture, mark: Mark, axis: float) -> str:
    x = _x(picture, mark.seconds)
    if mark.is_spin:
        return f'<circle class="spin" cx="{x:.1f}" cy="{axis:.1f}" r="5"/>'
    return f'<path class="steps" d="M{x - 8:.1f} {axis:.1f}l4 -5 4 10 4 -10 4 5"/>'


def _column(number: int, column: Column, boxes: list[_Box], x: float, lines: _Lines) -> str:
    bottom = lines.top + len(boxes) * STEP - (STEP - BOX[1])
    noted = 20 if column.note else 0
    parts = [
        f'<g class="pass {column.stage.name.lower().replace("_", "-")}">',
        f'<path class="thread" d="M{x:.1f} {bottom + noted:.1f}V{lines.floor:.1f}'
        f'L{lines.moment:.1f} {lines.axis:.1f}"/>',
        f'<path class="joint" d="M{x:.1f} {lines.top + 13}V{bottom - 13:.1f}"/>' if len(boxes) > 1 else "",
        _head(number, column, x),
        *(_box(box, x, lines.top + place * STEP) for place, box in enumerate(boxes)),
    ]
    if column.note:
        parts.append(f'<text class="note" x="{x:.1f}" y="{bottom + 17:.1f}">{written(column.note)}</text>')
    return "".join((*parts, "</g>"))


def _head(number: int, column: Column, x: float) -> str:
    word = say("swap") if column.offered and column.stage is Stage.TO_COME else WORDS[column.stage]
    pointer = (
        f'<path class="pointer" d="M{x - 7:.1f} {HEAD_WITH_WORDS - 8}h14l-7 7z"/>'
        if column.stage is Stage.NEXT
        else ""
    )
    return (
        f'<text class="number" x="{x:.1f}" y="17">{number}</text>'
        f'<text class="word" x="{x:.1f}" y="36">{written(word)}</text>{pointer}'
    )


def _box(box: _Box, x: float, y: float) -> str:
    wide, high = BOX
    left = x - wide / 2
    text = f"+{box.text}" if box.fate is Fate.OFFERED else box.text
    cross = ""
    if box.fate is Fate.LOST:
        cross = (
            f'<path class="cross" d="M{left + 3:.1f} {y + high - 4:.1f}L{left + wide - 3:.1f} {y + 4:.1f}"/>'
        )
    fit = f' textLength="{wide - 6}" lengthAdjust="spacingAndGlyphs"' if len(text) > 3 else ""
    return (
        f'<g class="jump {box.fate.value}">'
        f'<rect x="{left:.1f}" y="{y:.1f}" width="{wide}" height="{high}" rx="{4 if box.fate is Fate.KEPT else 12}"/>'
        f'<text x="{x:.1f}" y="{y + 19:.1f}"{fit}>{escape(text)}</text>{cross}</g>'
    )
