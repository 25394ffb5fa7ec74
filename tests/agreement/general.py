"""The same decisions put to two general libraries, which know nothing of skating.

`finite_horizon`: QuantEcon's backward induction over a Markov decision process whose states are listed one
by one through the judge. `clean_layout`: OR-Tools' CP-SAT on programs in which every attempt becomes
itself, as whole numbers and constraints written from the rulebook's numbers. Both give hundredths.
"""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from time import perf_counter
from typing import Any

import numpy as np
import scipy.sparse
from ortools.sat.python import cp_model

from app.domain.elements import JumpElement
from app.domain.notation import parse_jump_element
from app.domain.points import half_up
from app.legality.repeats import repeat_class
from app.legality.units import unit_facts
from app.planner.mechanics import TallyMechanics
from app.planner.problem import Problem
from app.rulebook.editions import Edition
from app.scoring.base_value import base_value


@dataclass(frozen=True)
class Answer:
    """An optimum in hundredths, seconds of the solver alone, and the size of what it was given."""

    value: float
    seconds: float
    size: int


# finite horizon


def finite_horizon(problem: Problem) -> Answer:
    """The optimum by QuantEcon's `backward_induction`; one history, no limit on changes."""
    from quantecon.markov import DiscreteDP, backward_induction

    rows = _Rows(problem)
    rewards, transitions, states, actions, count = rows.arrays()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it warns that without discount only finite horizons are solved
        process = DiscreteDP(rewards, transitions, 1.0, states, actions)
    began = perf_counter()
    values, _ = backward_induction(process, len(problem.passes), rows.ends(count))
    return Answer(float(values[0, rows.start]), perf_counter() - began, count)


class _Rows:
    """States reachable through the judge, numbered, and one row for each state and option."""

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._mechanics = TallyMechanics(problem)
        self._numbers: dict[tuple[int, Any], int] = {}
        self._rewards: list[float] = []
        self._pairs: list[tuple[int, int]] = []
        self._moves: list[dict[int, float]] = []
        _, key = self._mechanics.start(problem.histories[0], 0, 0)
        self.start = self._number(0, key)
        self._list_all()

    def _number(self, place: int, key: Any) -> int:
        return self._numbers.setdefault((place, key), len(self._numbers))

    def _list_all(self) -> None:
        open_states = [(0, key) for _, key in self._numbers]
        seen = set(self._numbers)
        while open_states:
            place, key = open_states.pop()
            for behind in self._list(place, key):
                if behind not in seen:
                    seen.add(behind)
                    open_states.append(behind)

    def _list(self, place: int, key: Any) -> list[tuple[int, Any]]:
        """The rows of one state; the states behind it."""
        here = self._number(place, key)
        if place == len(self._problem.passes):
            self._row(here, 0, 0.0, {here: 1.0})
            return []
        found = []
        for number, option in enumerate(self._problem.passes[place].options):
            reward, behind = 0.0, {}
            for attempt, gain, after in self._mechanics.moves(place, option, number, key):
                chance = float(attempt.chance)
                reward += chance * gain
                to = self._number(place + 1, after)
                behind[to] = behind.get(to, 0.0) + chance
                found.append((place + 1, after))
            self._row(here, number, reward, behind)
        return found

    def _row(self, state: int, action: int, reward: float, behind: dict[int, float]) -> None:
        self._pairs.append((state, action))
        self._rewards.append(reward)
        self._moves.append(behind)

    def arrays(self) -> tuple[Any, Any, Any, Any, int]:
        """Rewards, sparse transitions, states and actions, sorted by state, and the number of states."""
        order = sorted(range(len(self._pairs)), key=self._pairs.__getitem__)
        count = len(self._numbers)
        row, column, chance = [], [], []
        for line, place in enumerate(order):
            for to, share in self._moves[place].items():
                row.append(line)
                column.append(to)
                chance.append(share)
        transitions = scipy.sparse.csr_matrix((chance, (row, column)), shape=(len(order), count))
        rewards = np.array([self._rewards[place] for place in order])
        states, actions = np.array([self._pairs[place] for place in order]).T
        return rewards, transitions, states, actions, count

    def ends(self, count: int) -> Any:
        """What only the end settles: late bonus still pending in a last state."""
        worth = np.zeros(count)
        for (place, key), number in self._numbers.items():
            if place == len(self._problem.passes):
                worth[number] = self._mechanics.end(key)
        return worth


# the all-clean case


def clean_layout(book: Edition, late: Sequence[bool], options: Sequence[Sequence[str]]) -> Answer:
    """The best program without a jump that counts for nothing, by CP-SAT; one element at each pass.

    Rules as constraints: units, the unit of three jumps, the sequence, no jump more often than twice, the
    repeat quotas, an Axel when every box is used; 70 % of a second solo execution by order of passes; late
    factor by position, since every pass uses a box. For editions without a cap per take-off (to 2025/26).
    """
    model = cp_model.CpModel()
    elements = [[parse_jump_element(code) for code in row] for row in options]
    tried = [[model.new_bool_var(f"{i}_{e}") for e in range(len(row))] for i, row in enumerate(elements)]
    for row in tried:
        model.add_exactly_one(row)
    flat = [
        (place, element, tried[place][number])
        for place, row in enumerate(elements)
        for number, element in enumerate(row)
    ]
    _unit_rules(model, book, flat)
    _repeat_rules(model, book, flat)
    places = [place for place, one in enumerate(late) if one]
    credited = set(places[-book.rules.late.last :])
    lost = _second_solos(model, book, flat, credited)
    model.maximize(sum(base_value(book, e, place in credited) * x for place, e, x in flat) - lost)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    began = perf_counter()
    status = solver.solve(model)
    assert status == cp_model.OPTIMAL, solver.status_name(status)
    return Answer(solver.objective_value, perf_counter() - began, len(flat))


Flat = list[tuple[int, JumpElement, Any]]


def _unit_rules(model: Any, book: Edition, flat: Flat) -> None:
    units = book.rules.units
    assert units is not None, "a free skating has units"
    facts = [(unit_facts(book, element), x) for _, element, x in flat]
    for one, x in facts:
        if one.listed > units.most_jumps or (one.is_unit and one.listed < 2):
            model.add(x == 0)
    model.add(sum(x for one, x in facts if one.is_unit) <= units.most)
    model.add(sum(x for one, x in facts if one.is_sequence) <= units.most_sequences)
    model.add(sum(x for one, x in facts if one.listed > units.usual_jumps) <= units.most_long)
    passes = {place for place, _, _ in flat}
    if book.rules.axel.required and len(passes) == book.boxes:
        model.add(sum(x for _, e, x in flat if any(jump.is_axel for jump in e.jumps)) >= 1)


def _executions(book: Edition, flat: Flat) -> dict[str, list[tuple[int, Any]]]:
    """For each jump under a repeat class: how often an element executes it, and that element's variable."""
    found: dict[str, list[tuple[int, Any]]] = {}
    for _, element, x in flat:
        names = [jump.name for jump in element.jumps if not jump.is_euler]
        for name in set(names):
            if repeat_class(book, name):
                found.setdefault(name, []).append((names.count(name), x))
    return found


def _repeat_rules(model: Any, book: Edition, flat: Flat) -> None:
    twice: dict[str, Any] = {}
    for name, uses in _executions(book, flat).items():
        twice[name] = model.new_bool_var(f"twice {name}")
        model.add(sum(times * x for times, x in uses) <= 1 + twice[name])
    assert book.rules.repeats is not None, "a free skating has repeats"
    for one in book.rules.repeats.classes:
        assert one.executions == 2, "written for two executions"
        mine = {name: x for name, x in twice.items() if int(name[0]) in one.revolutions}
        if one.most_repeated is not None:
            model.add(sum(mine.values()) <= one.most_repeated)
        if one.most_repeated_within is not None:
            within = [x for name, x in mine.items() if int(name[0]) in one.within]
            model.add(sum(within) <= one.most_repeated_within)


def _second_solos(model: Any, book: Edition, flat: Flat, credited: set[int]) -> Any:
    """Hundredths lost by second solo executions: the later of two solos of one jump keeps a part."""
    lost: Any = 0
    for place, element, x in flat:
        name = element.jumps[0].name
        if element.is_unit or not (governing := repeat_class(book, name)) or not governing.solo_loses:
            continue
        earlier = [y for before, e, y in flat if before < place and not e.is_unit and e.jumps[0].name == name]
        if earlier:
            second = model.new_bool_var("")
            for y in earlier:
                model.add(second >= x + y - 1)
            late = place in credited
            whole = base_value(book, element, late)
            percent = book.rules.late.percent if late else 100
            assert book.rules.part is not None, "a free skating says what +REP keeps"
            kept = half_up(base_value(book, element) * book.rules.part.percent * percent, 10_000)
            lost += (whole - kept) * second
    return lost
