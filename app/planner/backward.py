r"""The exact optimum of a free skating by backward induction, in compiled loops.

State: pass number i and tally s (what any rule may still look at, falls and changes included).
Choice: an option e of pass i. Chance: what the attempt becomes, o, with p(o). Gain g: points of the element
as ruled, less the fall. With n passes,

    V_n(s) = 0,     V_i(s) = max_e  sum_o p(o) [ g_i(o, s) + V_{i+1}(s . o) ].

Order of evaluation: from the first pass, depth first, each state once (memo), after everything is forgotten
that no later pass can use. Late bonus is part of g as soon as it is certain; until then the amount waits in
the state.

Bounds. The same recursion over a tally with rules forgotten - doubles, the solo repeat and graded falls at
level LOOSE, every repeat rule at level LOOSEST - never gives less: those rules only take points away, and a
jump with a grade of -5 or better is worth more counted than starred. Options are tried by falling bound, and
left out once a bound does not exceed the best value found; so the answer is exact.

Cost: states of the looser levels, plus the states the bounds leave open, times options times outcomes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from app.domain.elements import JumpElement
from app.legality.judge import judge_all
from app.legality.tally import Tally
from app.planner.kernels import departures, layout as k, rules as step_rules, search
from app.planner.packing import Packed, pack, pack_state
from app.planner.problem import Attempt, History, Problem
from app.planner.solver import Node
from app.rulebook.editions import Edition
from app.scoring.base_value import base_value

Branch = tuple[float, float, Node]
"""Chance of an outcome, hundredths it gains, the node behind it."""
BARRED = -1e9
"""Below this no real value lies: some pass would have nothing allowed left to try."""


def new_memo(size: int, rows: int, options: int) -> k.Memo:
    """An empty memo for `size` states (a power of two). Untouched pages cost no memory."""
    return k.Memo(
        keys=np.zeros((size, 4), dtype=np.int64),
        value=np.zeros(size),
        row=np.zeros(size, dtype=np.int32),
        count=np.zeros(3, dtype=np.int64),
        bounds=np.zeros((rows, options)),
        order=np.zeros((rows, options), dtype=np.int16),
    )


def with_grades(packed: Packed, extra: Callable[[Attempt], float]) -> Packed:
    """The same tables, each attempt graded higher by so much: for bounds."""
    weights = packed.tables.weights.copy()
    weights[:, 1] += [extra(one) for one in packed.outcomes]
    return replace(packed, tables=packed.tables._replace(weights=weights))


def late_bonus(edition: Edition, element: JumpElement) -> int:
    """Hundredths that the late factor adds to an element as ruled."""
    return base_value(edition, element, True) - base_value(edition, element)


def alone(tables: k.Tables, plan: Sequence[int]) -> k.Tables:
    """Tables with the planned option (by index, one for every pass) alone, and no limit on changes."""
    chosen = tables.spans[:, 0] + np.array(plan, dtype=np.int64)
    rules = tables.rules.copy()
    rules[k.R_CHANGES] = -1
    return tables._replace(rules=rules, spans=np.stack((chosen, chosen + 1), axis=1))


class BackwardSolver:
    """Solves one packable problem for any one history; keeps what it solved."""

    def __init__(
        self, problem: Problem, size: int | None = None, extra: Callable[[Attempt], float] | None = None
    ) -> None:
        self._problem = problem
        self._packed = pack(problem) if extra is None else with_grades(pack(problem), extra)
        self._widest = max(len(one.options) for one in problem.passes)
        self._plan_size = 1 << 15
        self._plans: dict[tuple[int, ...], tuple[k.Tables, k.Memo]] = {}
        # A small memo stays near the processor; it grows with what is solved.
        self._size = size or (1 << 15 if self._widest <= 12 else 1 << 17)
        self._memo = new_memo(self._size, self._size // 2, self._widest)

    def _grow(self) -> None:
        self._size *= 4
        larger = new_memo(self._size, self._size // 2, self._widest)
        search.move(self._memo, larger)
        self._memo = larger

    @property
    def packed(self) -> Packed:
        return self._packed

    def node(
        self, history: History, changes: int, place: int, what_if: Callable[[Tally], Tally] | None = None
    ) -> tuple[float, Node]:
        """Certain late bonus of what was done, and the node before pass `place`.

        `what_if` changes the tally: the rest of the program as if something else had been used up.
        """
        elements = [one.element for one in history.done if one.element is not None]
        verdicts, tally = judge_all(self._problem.edition, elements)
        tally = what_if(tally) if what_if else tally
        late = []
        for verdict, one in zip(verdicts, (one for one in history.done if one.element), strict=True):
            if one.late and isinstance(verdict.element, JumpElement):
                late.append(late_bonus(self._problem.edition, verdict.element))
        fell = bool(history.done) and history.done[-1].fall
        falls = sum(one.fall for one in history.done)
        return self.node_of(place, tally, falls, fell, late, changes)

    def node_of(
        self, place: int, tally: Tally, falls: int, fell: bool, late: Sequence[int], changes: int
    ) -> tuple[float, Node]:
        """The same from a tally; `late`: late bonus of the late elements done, in order."""
        c = 0
        mask = (1 << (k.LATE_BITS * int(self._packed.tables.rules[k.R_LAST]))) - 1
        for bonus in late:
            c = ((c << k.LATE_BITS) | bonus) & mask
        a, b = pack_state(self._packed, tally, falls, fell, changes)
        tables = self._packed.tables
        paid, c = step_rules.place_late(place, c, 0, False, tables.rules, tables.ahead)
        a, b = step_rules.forget(k.EXACT, place, a, b, tables)
        return float(paid), (int(a), int(b), int(c))

    def start(self, histories: Sequence[History], changes: int, place: int) -> tuple[float, Node]:
        (history,) = histories
        return self.node(history, changes, place)

    def value(self, place: int, node: Node) -> float:
        while True:
            found = search.solve(k.EXACT, place, *node, -1, self._packed.tables, self._memo)
            if not self.overflowed():
                return float(found)

    def option_values(self, place: int, node: Node, floor: float = -1e18) -> list[float | None]:
        while True:
            found = search.option_values(place, *node, floor, self._packed.tables, self._memo)
            if not self.overflowed():
                return [float(x) if x > BARRED else None for x in found]

    def tables_and_memo(self) -> tuple[k.Tables, k.Memo]:
        """What the loops of other solvers read, and the memo they share with this one."""
        return self._packed.tables, self._memo

    def overflowed(self) -> bool:
        """Did the memo overflow? Then there is a larger one now, and the question must be asked again."""
        if self._memo.count[1]:
            self._grow()
            return True
        return False

    def after(self, place: int, node: Node, outcome: int, change: bool) -> tuple[float, Node]:
        """Points gained by an outcome (index into `packed.outcomes`), and the node behind it."""
        a, b, c = node
        if change and self._packed.tables.rules[k.R_CHANGES] >= 0:
            b = step_rules.put(b, k.CHANGES, 4, step_rules.get(b, k.CHANGES, 4) + 1)
        gain, a, b, c = step_rules.step(k.EXACT, place, outcome, a, b, c, self._packed.tables)
        return float(gain), (int(a), int(b), int(c))

    def outcomes(self, place: int, option: int, node: Node) -> list[tuple[Attempt, int]]:
        """What an option may become at a node, each with its outcome number."""
        tables = self._packed.tables
        row = tables.options[tables.spans[place, 0] + option]
        fell = 2 * ((node[1] >> k.LASTFALL) & 1)
        numbers = range(int(row[k.X_FROM + fell]), int(row[k.X_TO + fell]))
        return [(self._packed.outcomes[o], o) for o in numbers]

    def landed(self, place: int, node: Node, option: int) -> Node:
        tables = self._packed.tables
        outcome = int(tables.options[tables.spans[place, 0] + option, k.X_LANDED])
        return self.after(place, node, outcome, self._problem.passes[place].options[option].change)[1]

    def plan_value(self, place: int, node: Node, plan: Sequence[int]) -> float:
        while True:
            tables, memo = self._fixed(plan)
            found = search.solve(k.EXACT, place, *node, -1, tables, memo)
            if not memo.count[1]:
                return float(found)
            self._more_room_for_plans()

    def swap_values(self, place: int, node: Node, plan: Sequence[int]) -> list[list[float]]:
        while True:
            tables, memo = self._fixed(plan)
            spread = new_memo(self._plan_size, 1, 1)
            table = search.swap_values(place, *node, self._packed.tables, tables, memo, spread)
            if not (memo.count[1] or spread.count[1]):
                rows = zip(table[place:], self._problem.passes[place:], strict=True)
                return [[float(x) for x in row[: len(one.options)]] for row, one in rows]
            self._more_room_for_plans()

    def leave_now(self, place: int, node: Node, plan: Sequence[int]) -> tuple[list[float], list[Branch]]:
        """Value of every option of one pass with the plan afterwards, and what the planned one may lead to."""
        while True:
            tables, memo = self._fixed(plan)
            values, behind, weights = departures.leave_now(place, *node, self._packed.tables, tables, memo)
            if not memo.count[1]:
                pairs = zip(weights.tolist(), behind.tolist(), strict=True)
                return values.tolist(), [(chance, gain, (a, b, c)) for (chance, gain), (a, b, c) in pairs]
            self._more_room_for_plans()

    def _fixed(self, plan: Sequence[int]) -> tuple[k.Tables, k.Memo]:
        """Tables with the planned option alone at every pass and no looser level, and their own memo."""
        known = self._plans.get(tuple(plan))
        if known is not None:
            return known
        followed = alone(self._packed.tables, plan)
        exact_only = followed._replace(levels=followed.levels[:1])
        self._plans[tuple(plan)] = exact_only, new_memo(self._plan_size, 1, 1)
        return self._plans[tuple(plan)]

    def _more_room_for_plans(self) -> None:
        self._plan_size *= 4
        self._plans.clear()

    def states(self) -> int:
        return int(self._memo.count[0])
