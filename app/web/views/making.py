"""The page on which a new layout is written, line by line."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from app import engine
from app.domain.elements import JumpElement
from app.domain.notation import parse_element, parse_jump_element
from app.domain.typed import read_number
from app.domain.words import say
from app.errors import InputError
from app.live.program import clock
from app.storage.records import LayoutItem, LayoutRecord, SkaterRecord, TrainedRecord
from app.web.views.editions import EditionGroup, edition_groups

LEAD_SECONDS = 18
"""Where the first element of a program without times is put; the rest follows evenly."""
MOST_LINES = 30
MOST_ENTRY_LETTERS = 80
MOST_SLACK = 60
"""Seconds; more than the whole gap between two passes of a program (no source: common practice)."""
USUAL_ENTRIES = (
    say("long back outside edge into the corner"),
    say("three-turn"),
    say("mohawk"),
    say("back crossovers along the boards"),
    say("inside spread eagle"),
    say("straight from steps"),
)
"""Entries offered for choice beside those the skater trains (common practice, no source); any words will do."""


@dataclass(frozen=True, slots=True)
class NewLayoutView:
    """The form for a new layout; `fault` says what was wrong with what was sent, which is kept.

    `copy`: the layout that this one is a changed copy of, 0 for none.
    """

    skater_id: int
    skater: str
    editions: tuple[EditionGroup, ...]
    name: str
    lines: str
    fault: str
    copy: int = 0


def new_layout_view(
    skater: SkaterRecord, chosen: str, name: str = "", lines: str = "", fault: str = "", copy: int = 0
) -> NewLayoutView:
    """The form, newest season first."""
    return NewLayoutView(skater.id, skater.name, edition_groups(chosen, old=False), name, lines, fault, copy)


def read_layout(
    skater_id: int, name: str, edition: str, lines: str, trained: Sequence[TrainedRecord]
) -> LayoutRecord:
    """A layout from its lines: a start time (or none at all), an element, a planned grade if wanted.

    Raises InputError naming the line.
    """
    book = engine.edition(edition)
    if not name.strip():
        raise InputError(
            say("name"), say("nothing given; expected a name for the layout, such as Free skating")
        )
    written = [line.split() for line in lines.splitlines() if line.strip()]
    if not 0 < len(written) <= MOST_LINES:
        raise InputError(
            say("lines"),
            say(
                "%(given)s lines given; expected 1 to %(most_lines)s, an element a line",
                given=len(written),
                most_lines=MOST_LINES,
            ),
        )
    step = max((book.rules.programme.seconds - 2 * LEAD_SECONDS) // max(len(written) - 1, 1), 1)
    items = [
        _item(number, words, LEAD_SECONDS + step * (number - 1))
        for number, words in enumerate(written, start=1)
    ]
    items.sort(key=lambda item: item.start)
    offered = tuple(with_options(item, trained) for item in items)
    return LayoutRecord(skater_id, name.strip(), edition, book.fingerprint, offered)


def with_options(item: LayoutItem, trained: Sequence[TrainedRecord]) -> LayoutItem:
    """A jump pass with every ticked element from the same take-off as what may be tried instead."""
    if item.kind != "jump":
        return item
    lead = parse_jump_element(item.code).jumps[0].takeoff
    fits = [
        one.code
        for one in trained
        if one.ready and one.code != item.code and parse_jump_element(one.code).jumps[0].takeoff == lead
    ]
    return replace(item, options=tuple(dict.fromkeys(fits)))


def _item(number: int, words: list[str], start: int) -> LayoutItem:
    field = say("line %(number)s", number=number)
    first = words[0]
    if ":" in first or first.isdigit():
        start, words = read_start(first, field), words[1:]
    if not 1 <= len(words) <= 2:
        raise InputError(
            field,
            say(
                "%(what)s; expected a time, an element and perhaps a grade",
                what=repr(" ".join(words) or first),
            ),
        )
    try:
        element = parse_element(words[0])
    except InputError as error:
        raise InputError(field, error.problem) from None
    kind = "jump" if isinstance(element, JumpElement) else element.kind
    grade = read_grade(words[1], field) if len(words) == 2 else 0.0
    return LayoutItem(kind, str(element), start, grade)


def read_start(text: str, field: str) -> int:
    """`2:08` as seconds. Raises InputError."""
    minutes, _, rest = text.strip().rpartition(":")
    try:
        found = int(minutes or 0) * 60 + int(rest)
    except ValueError:
        raise InputError(
            field, say("%(given)s given; expected minutes and seconds such as 2:08", given=repr(text))
        ) from None
    if not 0 <= found <= 600:
        raise InputError(
            field, say("%(given)s given; expected a time within the program, such as 2:08", given=repr(text))
        )
    return found


def read_grade(text: str, field: str) -> float:
    """A planned grade. Raises InputError."""
    try:
        found = read_number(text)
    except ValueError:
        found = 99.0
    if not -5 <= found <= 5:
        raise InputError(field, say("%(given)s given; expected a grade from -5 to 5", given=repr(text)))
    return found


def read_entry(text: str) -> str:
    """The entry of a pass in words, spaces tidied. Raises InputError when too long for a row."""
    found = " ".join(text.split())
    if len(found) > MOST_ENTRY_LETTERS:
        raise InputError(
            say("entry"),
            say(
                "%(given)s letters given; expected at most %(most)s",
                given=len(found),
                most=MOST_ENTRY_LETTERS,
            ),
        )
    return found


def read_slack(text: str) -> int:
    """Whole seconds of spare time behind a pass; nothing written means none. Raises InputError."""
    written = text.strip() or "0"
    if not (written.isascii() and written.isdigit() and len(written) <= 3 and int(written) <= MOST_SLACK):
        raise InputError(
            say("slack"),
            say(
                "%(given)s given; expected whole seconds from 0 to %(most_slack)s",
                given=repr(text),
                most_slack=MOST_SLACK,
            ),
        )
    return int(written)


def like(written: LayoutRecord, model: LayoutRecord) -> LayoutRecord:
    """A changed copy with what a line cannot say, taken from its model: entry, spare seconds, what may be tried.

    A pass is the same where its element is; an element that was changed keeps entry and spare seconds of the pass that
    started at that second from the same take-off.
    """
    left = [item for item in model.items if item.kind == "jump"]
    found: dict[int, LayoutItem] = {}
    for same in (_same_element, _same_take_off):
        for place, item in enumerate(written.items):
            twin = None if place in found else _nearest(left, item, same)
            if twin is not None:
                found[place] = twin
                left.remove(twin)
    items = (_taking(item, found.get(place)) for place, item in enumerate(written.items))
    return replace(written, items=tuple(items))


def _nearest(
    left: Sequence[LayoutItem], item: LayoutItem, same: Callable[[LayoutItem, LayoutItem], bool]
) -> LayoutItem | None:
    fits = (one for one in left if same(item, one))
    return min(fits, key=lambda one: abs(one.start - item.start), default=None)


def _same_element(item: LayoutItem, other: LayoutItem) -> bool:
    return item.kind == "jump" and item.code == other.code


def _same_take_off(item: LayoutItem, other: LayoutItem) -> bool:
    if item.kind != "jump" or item.start != other.start:
        return False
    first, second = (parse_jump_element(one.code).jumps[0].takeoff for one in (item, other))
    return first == second


def _taking(item: LayoutItem, twin: LayoutItem | None) -> LayoutItem:
    if twin is None:
        return item
    options = twin.options if twin.code == item.code else item.options
    return replace(item, entry=twin.entry, slack=twin.slack, options=options)


def lines_of(layout: LayoutRecord) -> str:
    """A layout as the lines that would make it again."""
    rows = [
        " ".join((clock(item.start), item.code, *((f"{item.goe:g}",) if item.goe else ())))
        for item in layout.items
    ]
    return "\n".join(rows)
