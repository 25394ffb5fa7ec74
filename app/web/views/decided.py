"""What to advise where a total may be aimed at: by chances, or by points when no chance is left to raise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from app.domain.words import figure, say
from app.live import advice, aim
from app.live.advice import Choice, Swap
from app.live.doubt import Way, doubt_words, in_doubt
from app.live.events import AimSet
from app.live.fold import LiveState
from app.live.line import percent
from app.live.program import Limits
from app.web.advisor import Advisor, Answer, Elements

TOO_MANY = say("Several calls are in doubt: this is best on average over all of them.")


@dataclass(frozen=True, slots=True)
class Decided:
    """An answer and the choice from it. `by_chance`: gains are chances of the aim, else points.

    `state`: the state the answer is for, its aim as advised by. `note`: why the coach's own aim was left, in words.
    """

    answer: Answer
    choice: Choice
    state: LiveState
    by_chance: bool
    note: str = ""

    def doubt(self, each: Sequence[tuple[Way, tuple[Swap, ...]]], elements: Elements, limits: Limits) -> str:
        """Whether the calls in doubt change the choice, in words. `each`: the swaps were a way certain."""
        if not each and in_doubt(self.state):
            return TOO_MANY
        pick = aim.choose_for if self.by_chance else advice.choose
        told = [(way, pick(swaps, self.state, elements.offered, limits)) for way, swaps in each]
        return doubt_words(self.choice, told)


def decide(
    program_id: int, state: LiveState, elements: Elements, limits: Limits, others: float, advisor: Advisor
) -> Decided:
    """Ask and choose. A total that no single change brings within reach: the choice is for most points instead.

    `others`: points of spins and steps as planned.
    """
    answer = advisor.ask(program_id, state, elements, limits, others)
    if state.aim.kind == "expected":
        return Decided(answer, advice.choose(answer.swaps, state, elements.offered, limits), state, False)
    if not aim.out_of_reach(answer.kept, answer.swaps):
        return Decided(answer, aim.choose_for(answer.swaps, state, elements.offered, limits), state, True)
    free = replace(state, aim=AimSet("expected", components=state.aim.components))
    said = advisor.ask(program_id, free, elements, limits, others)
    choice = advice.choose(said.swaps, free, elements.offered, limits)
    return Decided(said, choice, free, False, _left_note(state.aim, answer.kept))


def _left_note(wanted: AimSet, kept: float) -> str:
    return say(
        "%(points)s is out of reach now (%(chance)s), so the advice is for most points on average.",
        points=figure(wanted.points, 2),
        chance=percent(kept),
    )
