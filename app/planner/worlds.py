"""The exact optimum when it is not sure what just happened, and for everything the kernels do not know.

A node is a set of possible worlds with their chances. The observer sees what an attempt becomes, but never
learns which reading of an earlier pass was right, so one choice serves all worlds:

    V_i(W) = max_e  sum over what is seen  P(seen) V_{i+1}(W given seen).

With one world this is plain backward induction with merged states. Options are tried by falling bound; a
bound lets every world choose for itself, so it is never too low and the answer is exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.planner.mechanics import Key, Mechanics, PackedMechanics
from app.planner.problem import Attempt, History, Problem

World = tuple[float, Key]
"""Chance and key."""
Seen = tuple[str, bool, bool, float]
SLACK = 1e-9


@dataclass(frozen=True, slots=True)
class WorldNode:
    """Possible worlds, chances summing to one, and the changes made so far."""

    worlds: tuple[World, ...]
    changes: int


class WorldSolver:
    """Solves one problem over all its histories; keeps what it solved."""

    def __init__(self, problem: Problem, mechanics: Mechanics) -> None:
        self._problem = problem
        self._mechanics = mechanics
        self._memo: dict[tuple[int, WorldNode], float] = {}
        # By identity: the attempts live as long as the problem.
        self._facts = {
            id(attempt): (float(attempt.chance), _seen_of(attempt))
            for one in problem.passes
            for option in one.options
            for attempt in (*option.attempts, *option.after_fall)
        }

    def start(self, histories: Sequence[History], changes: int, place: int) -> tuple[float, WorldNode]:
        certain = 0.0
        worlds = []
        for history in histories:
            points, key = self._mechanics.start(history, changes, place)
            certain += float(history.chance) * points
            worlds.append((float(history.chance), key))
        return certain, WorldNode(merged(worlds), changes)

    def value(self, place: int, node: WorldNode) -> float:
        if place == len(self._problem.passes):
            return sum(chance * self._mechanics.end(key) for chance, key in node.worlds)
        if len(node.worlds) == 1 and isinstance(self._mechanics, PackedMechanics):
            return self._mechanics.value(place, node.worlds[0][1])
        known = self._memo.get((place, node))
        if known is None:
            known = self._memo[place, node] = self._best(place, node)
        return known

    def _best(self, place: int, node: WorldNode) -> float:
        bounds = self._bounds(place, node)
        best = float("-inf")
        for number in sorted(range(len(bounds)), key=lambda n: -bounds[n]):
            if bounds[number] <= best - SLACK:
                break
            if self._open(place, number, node):
                best = max(best, self.option_value(place, number, node))
        return best

    def _bounds(self, place: int, node: WorldNode) -> list[float]:
        table = [self._mechanics.bounds(place, key, node.changes) for _, key in node.worlds]
        return [
            sum(chance * row[n] for (chance, _), row in zip(node.worlds, table, strict=True))
            for n in range(len(self._problem.passes[place].options))
        ]

    def _open(self, place: int, number: int, node: WorldNode) -> bool:
        option = self._problem.passes[place].options[number]
        return self._problem.leaves_a_way(place, option, node.changes)

    def option_value(self, place: int, number: int, node: WorldNode) -> float:
        """Expected hundredths of trying one option now and the best afterwards."""
        total = 0.0
        gained, groups = self._seen(place, number, node)
        for chance, behind in groups:
            total += chance * self.value(place + 1, behind)
        return gained + total

    def _seen(self, place: int, number: int, node: WorldNode) -> tuple[float, list[tuple[float, WorldNode]]]:
        """Expected gain of an option, and what may be seen: its chance and the node behind it."""
        option = self._problem.passes[place].options[number]
        gained = 0.0
        groups: dict[Seen, list[World]] = {}
        for weight, key in node.worlds:
            for attempt, gain, behind in self._mechanics.moves(place, option, number, key):
                share, seen = self._facts[id(attempt)]
                chance = weight * share
                gained += chance * gain
                groups.setdefault(seen, []).append((chance, behind))
        changes = node.changes + option.change
        found = []
        for worlds in groups.values():
            total = sum(chance for chance, _ in worlds)
            found.append((total, WorldNode(merged([(c / total, k) for c, k in worlds]), changes)))
        return gained, found

    def option_values(self, place: int, node: WorldNode, floor: float = float("-inf")) -> list[float | None]:
        bounds = self._bounds(place, node)
        return [
            self.option_value(place, n, node)
            if self._open(place, n, node) and bounds[n] >= floor - SLACK
            else None
            for n in range(len(bounds))
        ]

    def landed(self, place: int, node: WorldNode, option: int) -> WorldNode:
        chosen = self._problem.passes[place].options[option]
        worlds = [(chance, self._mechanics.landed(place, chosen, option, key)) for chance, key in node.worlds]
        return WorldNode(merged(worlds), node.changes + chosen.change)

    def plan_value(self, place: int, node: WorldNode, plan: Sequence[int]) -> float:
        if isinstance(self._mechanics, PackedMechanics):
            return sum(chance * self._mechanics.plan_value(place, key, plan) for chance, key in node.worlds)
        following = Following(self._problem, self._mechanics, plan)
        return sum(chance * following.value(place, key) for chance, key in node.worlds)

    def swap_values(self, place: int, node: WorldNode, plan: Sequence[int]) -> list[list[float]]:
        """Nothing is chosen on the way, so every world has its own values."""
        if not isinstance(self._mechanics, PackedMechanics):
            return Following(self._problem, self._mechanics, plan).swaps(place, node.worlds)
        tables = [(chance, self._mechanics.swap_values(place, key, plan)) for chance, key in node.worlds]
        return [
            [sum(chance * table[row][n] for chance, table in tables) for n in range(len(one.options))]
            for row, one in enumerate(self._problem.passes[place:])
        ]

    def states(self) -> int:
        return len(self._memo)


def _seen_of(attempt: Attempt) -> Seen:
    """What the observer learns from an outcome."""
    return str(attempt.element), attempt.fall, attempt.error, float(attempt.grade)


class Following:
    """Values of one fixed plan. Nothing is chosen on the way, so every world has its own value."""

    def __init__(self, problem: Problem, mechanics: Mechanics, plan: Sequence[int]) -> None:
        self._problem = problem
        self._mechanics = mechanics
        self._plan = plan
        self._memo: dict[tuple[int, Key], float] = {}

    def value(self, place: int, key: Key) -> float:
        """Expected hundredths of the plan from a pass on, in one world."""
        if place == len(self._plan):
            return self._mechanics.end(key)
        known = self._memo.get((place, key))
        if known is None:
            known = self._memo[place, key] = self._with(place, key, self._plan[place])
        return known

    def _with(self, place: int, key: Key, number: int) -> float:
        """The same, with another option at this pass."""
        option = self._problem.passes[place].options[number]
        return sum(
            float(attempt.chance) * (gain + self.value(place + 1, behind))
            for attempt, gain, behind in self._mechanics.moves(place, option, number, key)
        )

    def swaps(self, place: int, worlds: Sequence[World]) -> list[list[float]]:
        """Value of each single departure, by pass and option. Worlds under the plan are carried along."""
        rows, gained = [], 0.0
        for ahead, one in enumerate(self._problem.passes[place:], start=place):
            rows.append(
                [
                    gained + sum(chance * self._with(ahead, key, n) for chance, key in worlds)
                    for n in range(len(one.options))
                ]
            )
            points, worlds = self._step(ahead, worlds)
            gained += points
        return rows

    def _step(self, place: int, worlds: Sequence[World]) -> tuple[float, tuple[World, ...]]:
        """Points expected at one pass of the plan, and the worlds behind it."""
        number, gained, behind = self._plan[place], 0.0, []
        option = self._problem.passes[place].options[number]
        for weight, key in worlds:
            for attempt, gain, after in self._mechanics.moves(place, option, number, key):
                chance = weight * float(attempt.chance)
                gained += chance * gain
                behind.append((chance, after))
        return gained, merged(behind)


def merged(worlds: Sequence[World]) -> tuple[World, ...]:
    """Equal worlds as one."""
    together: dict[Key, float] = {}
    for chance, key in worlds:
        together[key] = together.get(key, 0.0) + chance
    return tuple((chance, key) for key, chance in together.items())
