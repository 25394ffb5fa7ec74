"""The policy on the phone says, text for text, what the server's board says for the same taps.

The board asks the engine about every sequence of passes anew and merges nothing, so this also holds the merging of
states to the unmerged program. Programs, elements and chances are invented.
"""

from __future__ import annotations

from random import Random

import pytest

from app import engine
from app.live.events import PassSkated, Reading
from app.live.policy import after
from app.live.program import Limits
from app.web.advisor import Advisor
from tests.agreement import programs
from tests.web.policy_walks import Laptop, Program, program, usual, walk

OLD, NEW, MEN = (
    "isu/2025-26/senior/women/free",
    "isu/2026-27/senior/women/free",
    "isu/2025-26/senior/men/free",
)
WALKS = 25

PROGRAMS = {
    "seven passes": lambda: usual(OLD, 7),
    "the late bonus of an early pass can be lost": lambda: usual(OLD, 7, late=1),
    "six passes of 2026/27": lambda: usual(NEW, 6),
    "men": lambda: usual(MEN, 7, options=8),
    "harder after a fall allowed, one change": lambda: usual(OLD, 6, limits=Limits(0.2, 1, True)),
    "short program": lambda: program(programs.short_program("isu/2025-26/senior/women/short", 4)),
}


def differences(of: Program, walks: int, seed: int, most: int, wild: float = 0.3) -> tuple[int, list[str]]:
    """States compared, and what differs."""
    policy, laptop, random = of.policy(most), Laptop(of), Random(seed)
    compared, found = 0, []
    for _ in range(walks):
        for sent, phone, board in walk(of, policy, laptop, random, wild):
            compared += 1
            if phone != board:
                found.append(f"after {sent}: phone {phone}, board {board}")
    return compared, found


@pytest.mark.parametrize("name", PROGRAMS)
def test_the_phone_says_what_the_board_says(name: str) -> None:
    compared, found = differences(PROGRAMS[name](), WALKS, seed=1, most=60)
    assert not found, found[0]
    assert compared >= 2 * WALKS


def test_points_so_far_and_to_come_add_up_to_the_program() -> None:
    """Every attempt lands with a grade of 0: whatever is skated and to come, the sum is the base value of the whole
    program with its second half, as the engine's review (held to official sheets elsewhere) has it."""
    request = programs.all_clean(1, OLD, 6, 12)
    of = program(request)
    rows = [engine.Performed(row.code, late=row.late) for row in of.state.plan.passes]
    whole = engine.review(engine.edition(OLD), rows).base_total / 100
    state, advisor = of.state, Advisor()
    for place, row in enumerate(of.state.plan.passes):
        answer = advisor.ask(1, state, of.elements, of.limits)
        assert answer.skated + answer.to_come == pytest.approx(whole), f"before pass {place + 1}"
        landed = PassSkated(place + 1, row.code, "as planned", (Reading(row.code),))
        state = after(state, landed)
