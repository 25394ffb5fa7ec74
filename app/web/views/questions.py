"""What in the log needs a decision, in words, with the buttons that decide it."""

from __future__ import annotations

from dataclasses import dataclass

from app.domain.words import both, either, say
from app.live.events import Author, LoggedPass, PassLeftOut
from app.live.fold import LiveState, Undecided, Why
from app.live.merge import Candidate, Slot
from app.live.pad import how_words


@dataclass(frozen=True, slots=True)
class AccountView:
    """One account of a pass: what happened, who says so; `keeps` and `over` are event ids for the choice."""

    words: str
    who: str
    keeps: str
    over: str


@dataclass(frozen=True, slots=True)
class QuestionView:
    """Something that needs a decision. `accounts` to choose from; `of`: ids to take out of the log instead."""

    words: str
    number: int
    key: int
    accounts: tuple[AccountView, ...]
    of: str
    event_id: str


def questions_of(state: LiveState, event_id: str) -> tuple[QuestionView, ...]:
    """Everything undecided, each with an id of its own for the tap that decides it."""
    return tuple(_question(one, state, f"{event_id}q{place}") for place, one in enumerate(state.undecided))


def differ_words(state: LiveState) -> str:
    """For the line: that people logged a pass differently, and that advice is for both; empty when they did not."""
    return say("Loggers differ: half and half") if state.differing else ""


def _question(one: Undecided, state: LiveState, event_id: str) -> QuestionView:
    slot = one.slot
    if slot is None:
        words = say("A correction has arrived before what it corrects.")
        return QuestionView(words, 0, 0, (), " ".join(one.ids), event_id)
    accounts = _accounts(slot) if one.why is Why.DIFFER else ()
    return QuestionView(
        _words(one.why, slot, state), slot.number, slot.key, accounts, " ".join(slot.ids), event_id
    )


def _words(why: Why, slot: Slot, state: LiveState) -> str:
    said = what_words(slot.entry)
    if why is Why.DIFFER:
        return say("Pass %(number)s was logged differently. Which is right?", number=slot.number)
    if why is Why.GAP:
        return say(
            "Pass %(number)s is logged (%(said)s), pass %(open)s is not: log that first.",
            number=slot.number,
            said=said,
            open=state.next_number,
        )
    return say("Logged (%(said)s), but the plan has no pass left for it.", said=said)


def _accounts(slot: Slot) -> tuple[AccountView, ...]:
    return tuple(_account(one, slot) for one in slot.candidates)


def _account(one: Candidate, slot: Slot) -> AccountView:
    over = [name for other in slot.candidates if other is not one for name in other.ids]
    return AccountView(what_words(one.what), _who(one.authors), one.ids[0], " ".join(over))


def _who(authors: tuple[Author, ...]) -> str:
    return both(dict.fromkeys(one.name for one in authors))


def what_words(what: LoggedPass) -> str:
    """What happened on a pass, in words."""
    if isinstance(what, PassLeftOut):
        return say("not attempted")
    codes = either(dict.fromkeys(reading.code for reading in what.readings))
    return say("%(how)s (%(codes)s)", how=how_words(what), codes=codes)
