"""The table a card is reckoned on: every state that the plan and at most two swaps can lead to, pass by pass.

States of a pass are numbered so that those the plan alone leads to come first, then those behind one swap, then
those behind two. For each option there is one `Steps`: what every outcome gains and which state lies behind it.
Free skatings are walked by the compiled loops, whatever those do not know by the judge (`app.planner.mechanics`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from app.domain.notation import parse_jump_element
from app.planner.backward import BackwardSolver
from app.planner.card_rules import Kind, kind_of
from app.planner.kernels import card as loops, layout as k
from app.planner.mechanics import Mechanics, TallyMechanics
from app.planner.packing import packable
from app.planner.problem import Attempt, Option, Problem
from app.planner.short_mechanics import ShortMechanics

Floats = NDArray[np.float64]
Numbers = NDArray[np.int32]
Columns = tuple[tuple[Kind | None, bool], ...]
"""For each outcome of an option: its kind of failure, and whether it ended in a fall."""


@dataclass(frozen=True, slots=True)
class Steps:
    """One option of one pass, from the first so many states; `behind` and `chance` have a column an outcome."""

    gain: Floats
    """Expected hundredths of each state."""
    chance: Floats
    behind: Numbers
    columns: Columns


@dataclass(frozen=True, slots=True)
class Layer:
    """One pass. `sizes[d]`: states that at most `d` swaps lead to; `steps` by option, the plan at `keep`."""

    sizes: tuple[int, ...]
    keep: int
    steps: tuple[Steps, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """All passes; `end` is what only the end settles, for each state behind the last; `start` the first states."""

    layers: tuple[Layer, ...]
    end: Floats
    end_sizes: tuple[int, ...]
    start: Floats
    """Chance of each state before the first pass (more than one when it is not sure what was done)."""
    certain: float
    """Hundredths that are certain already."""

    def size(self, place: int, swaps: int) -> int:
        """States before pass `place` that at most `swaps` swaps lead to."""
        sizes = self.layers[place].sizes if place < len(self.layers) else self.end_sizes
        return sizes[min(swaps, len(sizes) - 1)]


class _Walker(Protocol):
    """Numbers the states of one pass after the other."""

    def begin(self, keys: Sequence[Any]) -> None: ...
    def next_pass(self) -> None: ...
    def expand(self, place: int, number: int, first: int, last: int) -> tuple[Floats, Floats, Numbers]: ...
    def found(self) -> int: ...
    def end(self) -> Floats: ...


def build_table(problem: Problem, swaps: int) -> Table:
    """The table of a problem whose passes can all keep their plan, for at most `swaps` swaps."""
    free = replace(problem, max_changes=None)
    walker: _Walker
    if packable(free):
        solver = BackwardSolver(free)
        walker, mechanics = _Loops(solver), None
        starts = [solver.node(one, 0, 0) for one in free.histories]
    else:
        mechanics = ShortMechanics(free) if free.edition.is_short else TallyMechanics(free)
        walker = _Judge(free, mechanics)
        starts = [mechanics.start(one, 0, 0) for one in free.histories]
    walker.begin(list(dict.fromkeys(key for _, key in starts)))
    numbers = {key: n for n, key in enumerate(dict.fromkeys(key for _, key in starts))}
    start = np.zeros(len(numbers))
    for history, (_, key) in zip(free.histories, starts, strict=True):
        start[numbers[key]] += float(history.chance)
    layers, sizes = [], (len(numbers),) * (swaps + 1)
    for place in range(len(free.passes)):
        layer = _layer(free, walker, place, sizes, swaps)
        layers.append(layer[0])
        sizes = layer[1]
        walker.next_pass()
    certain = sum(float(one.chance) * points for one, (points, _) in zip(free.histories, starts, strict=True))
    return Table(tuple(layers), walker.end(), sizes, start, certain)


def _layer(
    problem: Problem, walker: _Walker, place: int, sizes: tuple[int, ...], swaps: int
) -> tuple[Layer, tuple[int, ...]]:
    """One pass, and the sizes of the next: states behind fewer swaps are numbered first."""
    here = problem.passes[place]
    keep = here.keep or 0
    others = [n for n in range(len(here.options)) if n != keep] if place else []
    parts: list[list[tuple[Floats, Floats, Numbers]]] = [[] for _ in here.options]
    behind = []
    for made in range(swaps + 1):
        first = sizes[made - 1] if made else 0
        parts[keep].append(walker.expand(place, keep, first, sizes[made]))
        if made:
            before = sizes[made - 2] if made > 1 else 0
            for number in others:
                parts[number].append(walker.expand(place, number, before, sizes[made - 1]))
        behind.append(walker.found())
    steps = tuple(_joined(rows, columns_of(option)) for rows, option in zip(parts, here.options, strict=True))
    return Layer(sizes, keep, steps), tuple(behind)


def _joined(parts: Sequence[tuple[Floats, Floats, Numbers]], columns: Columns) -> Steps:
    if not parts:
        nothing = np.zeros((0, len(columns)))
        return Steps(np.zeros(0), nothing, nothing.astype(np.int32), columns)
    gains, chances, behind = (np.concatenate(rows) for rows in zip(*parts, strict=True))
    return Steps((gains * chances).sum(axis=1), chances, behind, columns)


def columns_of(option: Option) -> Columns:
    """Kind and fall of every outcome, those after a fall behind the others where they differ."""
    tried = None if option.code is None else parse_jump_element(option.code)
    return tuple((kind_of(tried, one), one.fall) for one in _outcomes(option))


def _outcomes(option: Option) -> tuple[Attempt, ...]:
    extra = () if option.after_fall is option.attempts else option.after_fall
    return (*option.attempts, *extra)


class _Loops:
    """States as the compiled loops keep them."""

    def __init__(self, solver: BackwardSolver, size: int = 1 << 16) -> None:
        self._tables = solver.packed.tables
        self._size = size
        self._here = np.zeros((0, 3), dtype=np.int64)
        self._fresh()

    def begin(self, keys: Sequence[Any]) -> None:
        self._here = np.array(keys, dtype=np.int64).reshape(-1, 3)

    def _fresh(self) -> None:
        self._places = np.zeros((self._size, 4), dtype=np.int64)
        self._states = np.zeros((self._size // 2, 3), dtype=np.int64)
        self._count = np.zeros(2, dtype=np.int64)

    def next_pass(self) -> None:
        self._here = self._states[: self._count[0]].copy()
        self._fresh()

    def expand(self, place: int, number: int, first: int, last: int) -> tuple[Floats, Floats, Numbers]:
        row = int(self._tables.spans[place, 0]) + number
        width = int(self._tables.options[row, k.X_LANDED] - self._tables.options[row, k.X_FROM])
        while True:
            gains, chances = np.zeros((last - first, width)), np.zeros((last - first, width))
            behind = np.zeros((last - first, width), dtype=np.int32)
            loops.expand(
                place, row, self._here, first, last, self._tables,
                behind, gains, chances, self._places, self._states, self._count,
            )  # fmt: skip
            if not self._count[1]:
                return gains, chances, behind
            self._more_room()

    def _more_room(self) -> None:
        """A layer four times as large, with the states found so far under their numbers."""
        kept, found = self._states, int(self._count[0])
        self._size *= 4
        self._fresh()
        for a, b, c in kept[:found]:
            loops.number_of(self._places, self._states, self._count, a, b, c)

    def found(self) -> int:
        return int(self._count[0])

    def end(self) -> Floats:
        return np.zeros(len(self._here))


class _Judge:
    """States as the judge keeps them, one after the other."""

    def __init__(self, problem: Problem, mechanics: Mechanics) -> None:
        self._problem = problem
        self._mechanics = mechanics
        self._here: list[Any] = []
        self._behind: dict[Any, int] = {}

    def begin(self, keys: Sequence[Any]) -> None:
        self._here = list(keys)

    def next_pass(self) -> None:
        self._here, self._behind = list(self._behind), {}

    def expand(self, place: int, number: int, first: int, last: int) -> tuple[Floats, Floats, Numbers]:
        option = self._problem.passes[place].options[number]
        columns = {id(one): w for w, one in enumerate(_outcomes(option))}
        shape = (last - first, len(columns))
        gains, chances, behind = np.zeros(shape), np.zeros(shape), np.zeros(shape, dtype=np.int32)
        for n, key in enumerate(self._here[first:last]):
            for attempt, gain, after in self._mechanics.moves(place, option, number, key):
                w = columns[id(attempt)]
                gains[n, w], chances[n, w] = gain, float(attempt.chance)
                behind[n, w] = self._behind.setdefault(after, len(self._behind))
        return gains, chances, behind

    def found(self) -> int:
        return len(self._behind)

    def end(self) -> Floats:
        return np.array([self._mechanics.end(key) for key in self._here])
