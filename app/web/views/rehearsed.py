"""A rehearsal afterwards: what was called, what was done, whether the answer was tried, and what came of it."""

from __future__ import annotations

from dataclasses import dataclass

from app.domain.words import either, say, sentences
from app.errors import InputError
from app.live.events import LoggedPass, PassLeftOut
from app.live.fold import LiveState
from app.live.pad import how_words
from app.practice.answers import Answered, Tried, answered
from app.web.views.boards import Sheet
from app.web.views.called import answer_said, call_word


@dataclass(frozen=True, slots=True)
class RehearsedView:
    """One call in four sentences; `cue`: the answer in the skater's own words."""

    called: str
    done: str
    answer: str
    cue: str
    tried: str


@dataclass(frozen=True, slots=True)
class RehearsalView:
    """The calls of a rehearsal. `none`: said where nothing was called; `layout_id` 0: the layout is gone."""

    calls: tuple[RehearsedView, ...]
    none: str
    note: str
    layout_id: int


def rehearsal_view(sheet: Sheet, state: LiveState) -> RehearsalView | None:
    """What a rehearsal brought; None for any other program."""
    rehearsal = sheet.record.rehearsal
    if rehearsal is None:
        return None
    elements = sheet.elements
    try:
        found = answered(state, elements.offered, elements.known, sheet.limits)
    except InputError:
        found = ()
    return RehearsalView(
        calls=tuple(_rehearsed(one, sheet) for one in found),
        none=say("Nothing was called: the lot fell on no pass, or a pass went wrong by itself before."),
        note=sentences(
            say("A rehearsal: what was called counts as no miss of the skater's."),
            say("Draw number %(seed)s: the same number draws the same again.", seed=rehearsal.seed),
        ),
        layout_id=sheet.record.layout_id or 0,
    )


def _rehearsed(one: Answered, sheet: Sheet) -> RehearsedView:
    row = sheet.state.plan.passes[one.call.number - 1]
    code = one.swap.element if one.swap is not None else None
    known = sheet.elements.known.get(code) if code is not None else None
    return RehearsedView(
        called=say(
            "Pass %(number)s, %(planned)s: “%(call)s” was called.",
            number=one.call.number,
            planned=row.code,
            call=call_word(one.call.failure),
        ),
        done=say("Done: %(what)s.", what=_did(one.call.entry)),
        answer=say("The answer: %(answer)s.", answer=answer_said(one.swap)),
        cue=known.cue if known is not None else "",
        tried=_tried(one),
    )


def _tried(one: Answered) -> str:
    match one.tried:
        case Tried.NOT_REACHED:
            said = say("That pass was not reached.")
        case Tried.TRIED:
            kept = one.entry is None
            said = say("The plan was kept.") if kept else say("Tried: %(what)s.", what=_did(one.entry))
        case Tried.NOT_TRIED:
            did = say("Done there: %(what)s.", what=_did(one.entry)) if one.entry is not None else ""
            said = sentences(say("Not tried."), did)
    if one.changed:
        return sentences(said, say("Meanwhile another answer had become the better one."))
    return said


def _did(entry: LoggedPass | None) -> str:
    """What was logged of a pass: `3S+3T, landed`."""
    if entry is None or isinstance(entry, PassLeftOut):
        return say("not attempted")
    codes = either(dict.fromkeys(reading.code for reading in entry.readings))
    if entry.how == "as planned":
        return say("%(codes)s, landed", codes=codes)
    return say("%(codes)s, %(how)s", codes=codes, how=how_words(entry))
