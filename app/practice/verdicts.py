"""What a picked answer is worth: points won, points given away, or the rule that makes it worthless; in one sentence.

The right answer is the live screen's, with the live screen's reason (`app.live.line`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from app.domain.notation import parse_jump_element
from app.domain.rulings import Ruling
from app.domain.words import Figure, figure, say, sentences
from app.live.advice import swap_words
from app.live.line import Ground, Line, line_of
from app.live.program import KnownElement, Limits
from app.live.rule_notes import RuleNote
from app.planner.fragile import LEAST
from app.practice.trainer import Answer, Call, spoilt
from app.rulebook.editions import Edition

IN_TIME = 3.0
"""Seconds in which an answer is there when it is needed (common practice, no source)."""


class Weight(StrEnum):
    """How an answer weighs."""

    RIGHT = "right"
    CLOSE = "close"
    AWAY = "points given away"
    WORTHLESS = "worth nothing"


@dataclass(frozen=True, slots=True)
class Verdict:
    """`won`: points over keeping the plan; `away`: points less than the right answer, never negative.

    `rule`: the rule that takes a jump of it, with how sure that is; None where none does.
    """

    weight: Weight
    won: float
    away: float
    why: str
    rule: RuleNote | None = None


def verdict(call: Call, answer: Answer, limits: Limits) -> Verdict:
    """Weigh a picked answer against keeping the plan and against what the live screen would say."""
    away = max(call.best - answer.gain, 0.0)
    lost = spoilt(answer, call.answers[0])
    weight = _weight(call, answer, away, bool(lost), limits)
    rule = lost[0][1] if lost and weight is not Weight.RIGHT else None
    return Verdict(
        weight=weight,
        won=answer.gain,
        away=away,
        why=_why(call, answer, lost[0] if rule else None, away, limits),
        rule=RuleNote(rule.why, rule.rule, rule.certainty) if rule else None,
    )


def in_words(seconds: float, weight: Weight) -> str:
    """A kind word about the time; empty where there is nothing to say about it."""
    if weight is not Weight.RIGHT or seconds <= IN_TIME:
        return ""
    return sentences(
        say("It took %(seconds)s seconds.", seconds=round(seconds)),
        say("The thought is right, it only needs to come sooner; it is asked again soon."),
    )


def right_line(call: Call, edition: Edition, offered: Mapping[str, KnownElement], limits: Limits) -> Line:
    """The right answer as the live screen says it: headline, gain, the skater's own words, why, rules."""
    chosen = next((one for one in call.answers if one.swap == call.choice.swap), call.answers[0])
    ground = Ground(call.state, edition, offered, limits, call.answers[0].ruled, chosen.ruled)
    return line_of(call.choice, ground)


def _weight(call: Call, answer: Answer, away: float, spoils: bool, limits: Limits) -> Weight:
    """Right: what the live screen says, or a swap worth as much. Close: less than the threshold given away."""
    if answer.swap == call.choice.swap:
        return Weight.RIGHT
    both_swaps = answer.swap is not None and call.choice.swap is not None
    if both_swaps and away <= LEAST and answer.gain >= limits.threshold:
        return Weight.RIGHT
    if spoils and answer.gain <= 0:
        return Weight.WORTHLESS
    return Weight.CLOSE if away < max(limits.threshold, LEAST) else Weight.AWAY


def _why(call: Call, answer: Answer, lost: tuple[int, Ruling] | None, away: float, limits: Limits) -> str:
    """One sentence on a picked answer."""
    if lost is not None:
        return _spoils(call, answer, lost)
    if answer.swap is None:
        return _keeps(call)
    what = swap_words(answer.swap) if answer.swap.element else say("Leaving it out")
    if answer.gain < -LEAST:
        return say(
            "%(what)s brings %(points)s points less than keeping the plan, misses included.",
            what=what,
            points=figure(-answer.gain),
        )
    won = figure(answer.gain)
    if away > LEAST:
        return say(
            "%(what)s wins %(points)s points; the best trained answer wins %(best)s.",
            what=what,
            points=won,
            best=figure(call.best),
        )
    if call.choice.swap is None:
        return say(
            "%(what)s brings only %(points)s points: under %(least)s the plan is kept.",
            what=what,
            points=won,
            least=Figure(f"{limits.threshold:g}"),
        )
    return say("%(what)s wins %(points)s points over keeping the plan.", what=what, points=won)


def _keeps(call: Call) -> str:
    if call.choice.swap is None:
        return say("Nothing trained is worth a change here, so the plan stands.")
    return say(
        "Keeping the plan leaves %(points)s points that a trained swap would win back.",
        points=figure(call.best),
    )


def _spoils(call: Call, answer: Answer, lost: tuple[int, Ruling]) -> str:
    number, ruling = lost
    swapped = answer.swap is not None and answer.swap.number == number
    code = answer.swap.element if swapped and answer.swap else call.state.plan.passes[number - 1].code
    jump = parse_jump_element(code or "").jumps[ruling.jump - 1].name
    return say(
        "Then the %(jump)s of pass %(number)s counts for nothing: %(why)s.",
        jump=jump,
        number=number,
        why=ruling.why,
    )
