"""The call-out trainer's pages: which program, how well it is known, a call and its buttons, an answer weighed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from markupsafe import Markup

from app.domain.rulings import Certainty
from app.domain.words import figure, listed, say, say_many, sentences
from app.live.line import Line
from app.live.program import KnownElement
from app.live.rule_notes import RuleNote
from app.planner.slips import Kind
from app.practice.schedule import Memory, Standing
from app.practice.trainer import Answer, Call
from app.practice.verdicts import IN_TIME, Verdict, Weight, in_words
from app.storage.records import LayoutRecord, SkaterRecord
from app.web.trainer_picture import CallRow, PassRows, draw_progress
from app.web.views.home import edition_words

MARKS = {Weight.RIGHT: "✓", Weight.CLOSE: "≈", Weight.AWAY: "−", Weight.WORTHLESS: "✕"}
"""The shape beside the word of a verdict."""
VERDICTS: dict[Weight, str] = {
    Weight.RIGHT: say("Right"),
    Weight.CLOSE: say("Close"),
    Weight.AWAY: say("Points given away"),
    Weight.WORTHLESS: say("Worth nothing"),
}
"""The word of a verdict."""
WORDS: dict[Certainty, str] = {
    "second-hand": say("second-hand"),
    "inferred": say("inferred"),
    "memory": say("from memory"),
}
PRINTED = 0.05
"""Points that show at one decimal."""


@dataclass(frozen=True, slots=True)
class ProgramChoice:
    """One layout to train for."""

    id: int
    name: str
    edition: str


@dataclass(frozen=True, slots=True)
class ProgramsView:
    """Which of the skater's programs to train for."""

    skater_id: int
    skater: str
    layouts: tuple[ProgramChoice, ...]


@dataclass(frozen=True, slots=True)
class TrainerView:
    """Where the trainer starts. `counts`: how many calls stand where, in words; `when`: what comes next, and when."""

    layout_id: int
    layout: str
    skater: str
    edition: str
    counts: str
    when: str
    picture: Markup | None


@dataclass(frozen=True, slots=True)
class ButtonView:
    """One answer: `name` is sent, `say` is read first, `cue` are the skater's own words."""

    name: str
    say: str
    cue: str


@dataclass(frozen=True, slots=True)
class CallView:
    """A call and its buttons. `asked_at`: by the laptop's clock, in milliseconds; `limit`: seconds for an answer."""

    layout_id: int
    layout: str
    number: int
    kind: str
    jump: str
    planned: str
    fails: str
    became: str
    buttons: tuple[ButtonView, ...]
    sending: str
    asked_at: int
    limit: int
    note: str


@dataclass(frozen=True, slots=True)
class RuleView:
    """A rule behind a verdict: what it says, where it stands, how sure that is."""

    says: str
    source: str
    how_sure: str


@dataclass(frozen=True, slots=True)
class VerdictView:
    """What the answer was worth. `right` is empty where the answer was the right one; `cue` the skater's own words."""

    layout_id: int
    layout: str
    number: int
    planned: str
    fails: str
    mark: str
    word: str
    picked: str
    points: str
    why: str
    rules: tuple[RuleView, ...]
    right: str
    right_why: str
    cue: str
    caution: str
    time: str


def programs_view(skater: SkaterRecord, layouts: Sequence[LayoutRecord]) -> ProgramsView:
    """The skater's layouts to choose from."""
    return ProgramsView(
        skater.id,
        skater.name,
        tuple(ProgramChoice(one.id, one.name, edition_words(one.edition)) for one in layouts),
    )


def trainer_view(
    layout: LayoutRecord,
    skater: SkaterRecord,
    calls: Sequence[Call],
    memories: Sequence[Memory],
    now: datetime,
) -> TrainerView:
    """The start page, with the picture of how well everything is known."""
    return TrainerView(
        layout_id=layout.id,
        layout=layout.name,
        skater=skater.name,
        edition=edition_words(layout.edition),
        counts=_counts(memories),
        when=_when(memories, now),
        picture=draw_progress(_rows(calls, memories)) if calls else None,
    )


def call_view(
    layout: LayoutRecord,
    call: Call,
    known: Mapping[str, KnownElement],
    sending: str,
    asked_at: int,
    early: bool,
) -> CallView:
    """A call, ready to be answered."""
    return CallView(
        layout_id=layout.id,
        layout=layout.name,
        number=call.key.number,
        kind=call.key.kind.value,
        jump=call.key.jump,
        planned=call.planned,
        fails=fails_words(call),
        became="" if call.becomes in (None, call.planned) else call.becomes or "",
        buttons=tuple(_button(one, known) for one in call.answers),
        sending=sending,
        asked_at=asked_at,
        limit=int(IN_TIME),
        note=say("Nothing is due just now, so this one comes early.") if early else "",
    )


def verdict_view(
    layout: LayoutRecord, call: Call, answer: Answer, found: Verdict, line: Line, seconds: float
) -> VerdictView:
    """What an answer was worth, and the right one with its reason where it was another."""
    is_right = found.weight is Weight.RIGHT
    notes = (found.rule,) if found.rule else line.notes
    right = next((one for one in call.answers if one.swap == call.choice.swap), call.answers[0])
    return VerdictView(
        layout_id=layout.id,
        layout=layout.name,
        number=call.key.number,
        planned=call.planned,
        fails=fails_words(call),
        mark=MARKS[found.weight],
        word=VERDICTS[found.weight],
        picked=answer_words(answer),
        points=_points(answer, found),
        why=line.why if is_right else found.why,
        rules=tuple(RuleView(one.says, one.source, one.how_sure) for one in notes),
        right="" if is_right else answer_words(right),
        right_why="" if is_right else line.why,
        cue=line.cue,
        caution=_caution(found.rule, line),
        time=in_words(seconds, found.weight),
    )


def fails_words(call: Call) -> str:
    """A failure in a few words, as it is called across the ice."""
    match call.key.kind:
        case Kind.FELL:
            return say("fall on the %(jump)s", jump=call.key.jump)
        case Kind.POPPED | Kind.SINGLED:
            return say("popped to %(jump)s", jump=(call.becomes or "").split("+")[0])
        case Kind.TAIL_LOST:
            return say("%(jump)s lost", jump=call.key.jump)
        case Kind.TAIL_SHORT:
            return say("%(jump)s comes short", jump=call.key.jump)
        case Kind.LEFT_OUT:
            return say("not attempted")


def answer_words(answer: Answer) -> str:
    """An answer as it is said."""
    if answer.swap is None:
        return say("Keep the plan")
    if answer.swap.element is None:
        return say("Pass %(number)s: leave it out", number=answer.swap.number)
    return say("Pass %(number)s: %(element)s", number=answer.swap.number, element=answer.swap.element)


def _button(answer: Answer, known: Mapping[str, KnownElement]) -> ButtonView:
    code = answer.swap.element if answer.swap else None
    cue = known[code].cue if code is not None and code in known else ""
    return ButtonView(answer.name, answer_words(answer), cue)


def _points(answer: Answer, found: Verdict) -> str:
    """Points won over the plan and given away, in words."""
    away = say("%(points)s points given away", points=figure(found.away)) if found.away >= PRINTED else ""
    if answer.swap is None:
        return away or say("nothing given away")
    if found.won < 0:
        return say("%(points)s points less than the plan", points=figure(-found.won))
    won = say("%(points)s points more than the plan", points=figure(found.won))
    return listed((won, away)) if away else won


def _caution(note: RuleNote | None, line: Line) -> str:
    """How sure the rules behind a verdict are, in a word or two; empty where they were read."""
    if note is None:
        return line.caution
    return "" if note.certainty == "read" else WORDS[note.certainty]


def _counts(memories: Sequence[Memory]) -> str:
    if not memories:
        return ""
    found = [one.standing for one in memories]
    shown = (Standing.KNOWN, Standing.GETTING_THERE, Standing.NEW)
    counts = {
        Standing.KNOWN: say("%(count)s known", count=found.count(Standing.KNOWN)),
        Standing.GETTING_THERE: say("%(count)s getting there", count=found.count(Standing.GETTING_THERE)),
        Standing.NEW: say("%(count)s new", count=found.count(Standing.NEW)),
    }
    return listed(counts[one] for one in shown)


def _when(memories: Sequence[Memory], now: datetime) -> str:
    """What comes next, in words."""
    if not memories:
        return say(
            "No failure of this layout leaves anything to choose: none of its later passes has a trained swap, "
            "or your limits allow no change."
        )
    due = [one.due for one in memories if one.due is not None]
    waiting = sum(one <= now for one in due)
    if waiting:
        return say("%(count)s to ask again now.", count=waiting)
    if len(due) < len(memories):
        return say("Something new comes next.")
    days = (min(due) - now).days
    go_on = say("You may go on all the same.")
    if days < 1:
        return sentences(say("Nothing is due just now."), go_on)
    return sentences(say_many("Nothing is due for a day.", "Nothing is due for %(count)s days.", days), go_on)


def _rows(calls: Sequence[Call], memories: Sequence[Memory]) -> tuple[PassRows, ...]:
    pairs = zip(calls, memories, strict=True)
    return tuple(
        PassRows(number, group[0][0].planned, tuple(CallRow(fails_words(c), m.standing) for c, m in group))
        for number, group in ((n, list(g)) for n, g in groupby(pairs, key=lambda pair: pair[0].key.number))
    )
