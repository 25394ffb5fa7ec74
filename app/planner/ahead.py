"""What the passes still to come can hold at most: by this the loops forget what no later pass can use.

Row i of the table speaks of the passes from i on (columns: `kernels.layout`, P_…).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from app.domain.elements import JumpElement
from app.domain.notation import parse_jump_element
from app.legality.units import unit_facts
from app.planner.kernels import layout as k
from app.planner.problem import Attempt, Problem

FAMILIES = ("T", "S", "Lo", "F", "Lz", "A")
Ints = NDArray[np.int64]


def bits(slots: dict[str, int], names: Iterable[str]) -> int:
    """Mask of the low bits of some jumps."""
    return sum(1 << (2 * slots[name]) for name in names)


@lru_cache(maxsize=4_096)
def landed(code: str | None) -> Attempt:
    """An option that becomes itself: what `if_landed` follows."""
    element = None if code is None else parse_jump_element(code)
    return Attempt(Fraction(0), element, Fraction(0), False, False)


def ahead_table(problem: Problem, slots: dict[str, int]) -> Ints:
    """What the passes from i on may still hold: most executions, units, late places, falls."""
    count = len(problem.passes)
    ahead = np.zeros((count + 2, k.P_COLUMNS), dtype=np.int64)
    executions = dict.fromkeys(slots, 0)
    for i in range(count - 1, -1, -1):
        elements = _elements(problem, i)
        row = _pass_ahead(problem, i, elements)
        ahead[i] = ahead[i + 1] + row
        ahead[i, k.P_LATE] = problem.passes[i].late
        ahead[i, k.P_FALL_SEES] = any(o.after_fall is not o.attempts for o in problem.passes[i].options)
        for name, times in _most_executions(elements).items():
            if name in executions:
                executions[name] += times
        for f, takeoff in enumerate(FAMILIES):
            ahead[i, k.P_FAMILIES + f] += _most_of_family(elements, takeoff)
        ahead[i, k.P_ONE] = bits(slots, (name for name, times in executions.items() if times >= 1))
        ahead[i, k.P_TWO] = bits(slots, (name for name, times in executions.items() if times >= 2))
    ahead[:, k.P_ALIKE :] = _falls_alike(problem)
    return ahead


def _elements(problem: Problem, i: int) -> list[JumpElement | None]:
    """Every different thing that a pass may become; None: its box stays free."""
    options = problem.passes[i].options
    attempts = [a.element for option in options for a in (*option.attempts, *option.after_fall)]
    return list(dict.fromkeys(attempts + [landed(option.code).element for option in options]))


def _pass_ahead(problem: Problem, i: int, elements: Sequence[JumpElement | None]) -> Ints:
    row = np.zeros(k.P_COLUMNS, dtype=np.int64)
    facts = [unit_facts(problem.edition, one) for one in elements if one]
    usual = problem.edition.rules.units.usual_jumps if problem.edition.rules.units else 2
    late = problem.passes[i].late
    row[k.P_LATE_MOST] = late and any(elements)
    row[k.P_LATE_LEAST] = late and all(elements)
    row[k.P_UNITS] = any(one.is_unit for one in facts)
    row[k.P_LONGS] = any(one.listed > usual for one in facts)
    row[k.P_SEQS] = any(one.is_sequence for one in facts)
    row[k.P_EULERS] = max((one.eulers for one in facts), default=0)
    row[k.P_LEFT] = 1
    return row


def _most_executions(elements: Sequence[JumpElement | None]) -> dict[str, int]:
    most: dict[str, int] = {}
    for element in elements:
        names = [jump.name for jump in element.jumps] if element else []
        for name in set(names):
            most[name] = max(most.get(name, 0), names.count(name))
    return most


def _most_of_family(elements: Sequence[JumpElement | None], takeoff: str) -> int:
    return max(
        (
            sum(1 for jump in element.jumps if jump.takeoff == takeoff and jump.revolutions is not None)
            for element in elements
            if element
        ),
        default=0,
    )


def _falls_alike(problem: Problem) -> Ints:
    """For pass i and falls so far, the fewest falls that lead to the same deductions to come."""
    each = problem.edition.rules.falls.each
    last = len(each) - 1
    count = len(problem.passes)
    table = np.zeros((count + 2, 8), dtype=np.int64)
    left = 0
    for i in range(count, -1, -1):
        if i < count:
            options = problem.passes[i].options
            left += any(a.fall for o in options for a in (*o.attempts, *o.after_fall))
        coming = [tuple(each[min(f + n, last)] for n in range(left)) for f in range(len(each))]
        for falls in range(len(each)):
            table[i, falls] = coming.index(coming[falls])
    return table
