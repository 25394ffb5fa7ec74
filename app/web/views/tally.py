"""The pocket tally: a layout on a sheet of paper with boxes to tick, and the form that takes a filled sheet in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from app import engine
from app.domain.elements import JumpElement
from app.domain.notation import parse_jump_element
from app.domain.words import Text, listed, say, sentences
from app.live.program import PlannedPass, clock
from app.live.tally import Box, boxes_of
from app.rulebook.editions import Edition
from app.storage.records import LayoutRecord, SkaterRecord
from app.web.views import plans
from app.web.views.card import CardView

BOX_WORDS: Mapping[Box, Text] = {
    Box.CLEAN: say("clean"),
    Box.POPPED: say("popped"),
    Box.FELL: say("fell"),
    Box.TAIL_LOST: say("tail lost"),
    Box.NOT_DONE: say("not done"),
}


@dataclass(frozen=True, slots=True)
class BoxView:
    """One box to tick: what a form sends, its words, whether it is ticked."""

    name: str
    words: str
    ticked: bool = False


@dataclass(frozen=True, slots=True)
class RuleLine:
    """A rule of the card beside its pass: when, and what to do."""

    when: str
    do: str


@dataclass(frozen=True, slots=True)
class TallyRow:
    """One pass on paper. `free`: what becomes free by a miss, in sentences; `tried`: what the form offers."""

    number: int
    code: str
    when: str
    boxes: tuple[BoxView, ...]
    free: str
    rules: tuple[RuleLine, ...] = ()
    tried: tuple[str, ...] = ()
    chosen: str = ""


@dataclass(frozen=True, slots=True)
class TallyView:
    """The printed sheet. `changes`: the most changes of one skate."""

    layout_id: int
    name: str
    skater: str
    rows: tuple[TallyRow, ...]
    changes: int
    careful: bool
    can_enter: bool


@dataclass(frozen=True, slots=True)
class FilledView:
    """The form for a filled sheet. `fault`: what could not be read; `sending` makes a second sending known."""

    layout_id: int
    name: str
    rows: tuple[TallyRow, ...]
    sending: str
    day: str
    kind: str
    event: str
    fault: str


@dataclass(frozen=True, slots=True)
class Filled:
    """What a form said: boxes and element tried by pass number, and where it was."""

    ticked: Mapping[int, frozenset[Box]] = field(default_factory=dict)
    tried: Mapping[int, str] = field(default_factory=dict)
    kind: str = "run-through"
    event: str = ""
    day: str = ""


def tally_view(layout: LayoutRecord, skater: SkaterRecord, card: CardView, *, can_enter: bool) -> TallyView:
    """A layout on paper, with the rules of its card beside the passes they are about."""
    rules: dict[int, list[RuleLine]] = {}
    for rule in card.rules:
        done = tuple(one.say for one in rule.do)
        rules.setdefault(rule.number, []).append(RuleLine(rule.when, listed(done)))
    return TallyView(
        layout_id=layout.id,
        name=layout.name,
        skater=skater.name,
        rows=tuple(_rows(layout, rules)),
        changes=card.asked.changes,
        careful=card.careful,
        can_enter=can_enter,
    )


def filled_view(
    layout: LayoutRecord, trained: Sequence[str], sending: str, given: Filled, fault: str = ""
) -> FilledView:
    """The form, with what was ticked before where something could not be read. `trained`: codes that may be tried."""
    return FilledView(
        layout_id=layout.id,
        name=layout.name,
        rows=tuple(_rows(layout, {}, given, trained)),
        sending=sending,
        day=given.day,
        kind=given.kind,
        event=given.event,
        fault=fault,
    )


def choices(row: PlannedPass, trained: Sequence[str]) -> tuple[str, ...]:
    """What may have been tried on a pass: as planned, the layout's options, then all that is trained."""
    options = (code for code in row.options if code is not None)
    return tuple(dict.fromkeys((row.code, *options, *trained)))


def _rows(
    layout: LayoutRecord,
    rules: Mapping[int, Sequence[RuleLine]],
    given: Filled | None = None,
    trained: Sequence[str] = (),
) -> Iterator[TallyRow]:
    edition = engine.edition(layout.edition)
    passes = plans.passes_of(layout.items, edition)
    for number, row in enumerate(passes, start=1):
        # A form asks for any element that may have been tried: it may have a tail where the plan has none.
        boxes = boxes_of(row.code) if given is None else tuple(Box)
        ticked = given.ticked.get(number, frozenset()) if given else frozenset()
        yield TallyRow(
            number=number,
            code=row.code,
            when=clock(row.seconds),
            boxes=tuple(BoxView(box.value, BOX_WORDS[box], box in ticked) for box in boxes),
            free=sentences(*_free(edition, passes, number)) if given is None else "",
            rules=tuple(rules.get(number, ())),
            tried=choices(row, trained) if given else (),
            chosen=given.tried.get(number, row.code) if given else row.code,
        )


def _free(edition: Edition, passes: Sequence[PlannedPass], number: int) -> Iterator[Text]:
    """What a miss at one pass leaves free for later, everything before it as planned."""
    element = parse_jump_element(passes[number - 1].code)
    lead = element.jumps[0]
    if (lead.revolutions or 0) > 1:
        yield say("Popped, free for later: %(free)s.", free=lead.name)
    tails = [jump.name for jump in element.jumps[1:] if not jump.is_euler]
    if tails:
        free = [*tails, *_places(edition, passes, number, element)]
        yield say("Tail lost, free for later: %(free)s.", free=listed(free))


def _places(
    edition: Edition, passes: Sequence[PlannedPass], number: int, element: JumpElement
) -> Iterator[str]:
    """The places for units that open when only the first jump of a unit comes."""
    if edition.is_short:
        yield say("the combination")
        return
    before = [engine.Performed(row.code, row.late) for row in passes[: number - 1]]
    late = passes[number - 1].late
    planned = engine.left_to_use(edition, [*before, engine.Performed(str(element), late)])
    alone = engine.left_to_use(edition, [*before, engine.Performed(element.jumps[0].name, late)])
    if alone.units > planned.units:
        yield say("a combination")
    if alone.three_jump_unit and not planned.three_jump_unit and planned.units:
        yield say("the three-jump place")
