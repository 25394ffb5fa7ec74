"""The failure to call on the screen of a rehearsal: one word to call across the ice, and what the skater then does."""

from __future__ import annotations

from dataclasses import dataclass

from app.domain.words import say
from app.live.advice import Swap
from app.live.events import FailureCalled
from app.live.fold import LiveState
from app.live.rehearsal import call_now
from app.planner.slips import Kind

WORDS = {
    Kind.TAIL_LOST: say("Tail lost"),
    Kind.TAIL_SHORT: say("Tail short"),
    Kind.POPPED: say("Popped"),
    Kind.SINGLED: say("Popped"),
    Kind.LEFT_OUT: say("Left out"),
}
"""What is called. A fall is never called: it is called as what it leaves (`app.practice.rehearsals`)."""


@dataclass(frozen=True, slots=True)
class CalledView:
    """What is called now. `word` is called out, `does` is what is skated instead; `id` and `key` are for the forms."""

    word: str
    does: str
    pass_words: str
    id: str
    key: int


def called_view(state: LiveState) -> CalledView | None:
    """The call before the pass to come; None when there is none."""
    now, row = call_now(state), state.next_pass
    if now is None or row is None:
        return None
    return CalledView(
        word=call_word(now.failure),
        does=does_words(now.failure),
        pass_words=say("Pass %(number)s, %(element)s", number=state.next_number, element=row.code),
        id=now.id,
        key=now.failure.number,
    )


def call_word(failure: FailureCalled) -> str:
    """A failure as it is called out."""
    return WORDS[Kind(failure.failure)]


def does_words(failure: FailureCalled) -> str:
    """What the skater does instead of the pass, in one sentence."""
    match Kind(failure.failure):
        case Kind.LEFT_OUT:
            return say("Skate past it, without a jump.")
        case Kind.TAIL_SHORT:
            return say("%(element)s instead.", element=failure.becomes)
        case Kind.TAIL_LOST:
            return say("%(element)s without the %(tail)s.", element=failure.becomes, tail=failure.jump)
        case _:
            return say("Open it to a %(element)s, or to less.", element=failure.becomes)


def answer_said(swap: Swap | None) -> str:
    """An answer as it is said."""
    if swap is None:
        return say("Keep the plan")
    if swap.element is None:
        return say("Pass %(number)s: leave it out", number=swap.number)
    return say("Pass %(number)s: %(element)s", number=swap.number, element=swap.element)
