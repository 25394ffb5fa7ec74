"""A drill for one failure and its answer: few jumps, easy ones first, the whole answer once.

The steps (walked, marked, in singles, once whole) are common practice without a source; that content is put into a
program with singles first is one elite coach's account. No step asks for a repetition: "a miss means three more" is
how a section is drilled elsewhere, and it adds jumps just when something hurts or tires. Every jump of a unit counts.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from app.domain.elements import JumpElement
from app.domain.notation import parse_jump_element
from app.live.program import Plan
from app.practice.rehearsals import Drilled


class StepKind(StrEnum):
    """How a step is done."""

    SAY = "say"
    WALK = "walk"
    MARK = "mark"
    SINGLES = "singles"
    WHOLE = "whole"


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a drill; `codes` are what is jumped in it, nothing where nothing is."""

    kind: StepKind
    codes: tuple[str, ...] = ()

    @property
    def jumps(self) -> int:
        """Take-offs in it."""
        return sum(jumps_of(code) for code in self.codes)


@dataclass(frozen=True, slots=True)
class Drill:
    """The drill of one failure. `start`, `end`: whole seconds of the music, from the failed pass to its answer."""

    drilled: Drilled
    start: int
    end: int
    steps: tuple[Step, ...]

    @property
    def jumps(self) -> int:
        """Take-offs in all, each step done once."""
        return sum(step.jumps for step in self.steps)


def drill_of(plan: Plan, drilled: Drilled) -> Drill:
    """The drill of a failure of this layout."""
    failed, answer = drilled.first.becomes, drilled.swap.element
    easy = tuple(singles(code) for code in (failed, answer) if code is not None)
    steps = [Step(StepKind.SAY), Step(StepKind.WALK), Step(StepKind.MARK)]
    if easy:
        steps.append(Step(StepKind.SINGLES, easy))
    if answer is not None:
        steps.append(Step(StepKind.WHOLE, (answer,)))
    start = plan.passes[drilled.first.key.number - 1].seconds
    return Drill(drilled, start, plan.passes[drilled.swap.number - 1].seconds, tuple(steps))


def singles(code: str) -> str:
    """The same element with one turn in each jump: `3S+3T` is walked through as `1S+1T`; an Euler stays."""
    jumps = parse_jump_element(code).jumps
    return str(
        JumpElement(
            tuple(
                jump if jump.is_euler else replace(jump, revolutions=1, edge="", rotation="")
                for jump in jumps
            )
        )
    )


def jumps_of(code: str) -> int:
    """Take-offs of an element: every jump of a unit, the Euler too; one that opened without a turn is none."""
    return sum(jump.is_euler or bool(jump.revolutions) for jump in parse_jump_element(code).jumps)
