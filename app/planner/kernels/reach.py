"""The chance to reach a number of points from a state on: the search of the aim "at least".

A state gets a fourth word, the points still needed, as whole numbers: hundredths times `G_SCALE`, so that
exact decimals stay exact. With a grid, gains are rounded to it, down (`G_UP` 0) or up.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

from app.planner.kernels.layout import *  # noqa: F403  (the layout is the vocabulary of this module)
from app.planner.kernels.rules import get, put, step
from app.planner.kernels.search import is_open

# Columns of the goal vector: scale, grid width (0: none), rounding up; least and most to come from G_LEAST on.
G_SCALE, G_GRID, G_UP, G_PASSES, G_LEAST = range(5)
# Columns of the stack.
(N_PASS, N_A, N_B, N_C, N_NEED, N_NEXT, N_OPTION, N_CHANGED, N_OUTCOME, N_TO, N_COLUMNS) = range(11)
SURE = 1.0 - 1e-12
DEEPEST = 16


@njit(cache=True)
def place_of(keys: Any, i: int, a: int, b: int, c: int, need: int) -> int:
    """Place of a state in a memo, or the empty place where it belongs."""
    size = keys.shape[0] - 1
    h = a * 0x9E3779B97F4A7C1 + b * 0xC2B2AE3D27D4EB + c * 0x165667B19E3779 + need * 0x27D4EB2F165667 + i
    h ^= h >> 29
    h *= 0xBF58476D1CE4E5B
    at = (h ^ (h >> 32)) & size
    while keys[at, 0] != 0:
        if (
            keys[at, 1] == a
            and keys[at, 2] == b
            and keys[at, 3] == c
            and keys[at, 4] == need
            and keys[at, 0] == i + 1
        ):
            break
        at = (at + 1) & size
    return int(at)


@njit(cache=True)
def counted(gain: float, goal: Any) -> int:
    """A gain as whole numbers, rounded to the grid if there is one."""
    exact = int(np.rint(gain * goal[G_SCALE]))
    grid = goal[G_GRID]
    if grid == 0:
        return exact
    down = exact // grid * grid
    return down + grid if goal[G_UP] and down < exact else down


@njit(cache=True)
def settled(i: int, need: int, goal: Any) -> float:
    """1 or 0 where the end is certain, else -1."""
    if i == goal[G_PASSES]:
        return 1.0 if need <= 0 else 0.0
    if need <= goal[G_LEAST + i]:
        return 1.0
    if need > goal[G_LEAST + goal[G_PASSES] + 1 + i]:
        return 0.0
    return -1.0


@njit(cache=True)
def start_option(frames: Any, points: Any, top: int, x: int, t: Any) -> None:
    b = frames[top, N_B]
    frames[top, N_OPTION], frames[top, N_CHANGED] = x, b
    if t.rules[R_CHANGES] >= 0 and t.options[x, X_CHANGE]:
        frames[top, N_CHANGED] = put(b, CHANGES, 4, get(b, CHANGES, 4) + 1)
    fell = 2 * get(b, LASTFALL, 1)
    frames[top, N_OUTCOME], frames[top, N_TO] = t.options[x, X_FROM + fell], t.options[x, X_TO + fell]
    points[top, 1] = 0.0


@njit(cache=True)
def next_option(frames: Any, points: Any, top: int, t: Any) -> bool:
    """Start the next open option; False when none is left or the goal is already sure."""
    i = frames[top, N_PASS]
    while t.spans[i, 0] + frames[top, N_NEXT] < t.spans[i, 1]:
        if points[top, 0] >= SURE:
            return False
        x = t.spans[i, 0] + frames[top, N_NEXT]
        frames[top, N_NEXT] += 1
        if is_open(x, frames[top, N_B], t):
            start_option(frames, points, top, x, t)
            return True
    return False


@njit(cache=True)
def add_outcomes(frames: Any, points: Any, top: int, t: Any, goal: Any, m: Any) -> bool:
    """Add up outcomes of the option under way; True: the state behind one must be solved first (on top)."""
    i = frames[top, N_PASS]
    while frames[top, N_OUTCOME] < frames[top, N_TO]:
        o = frames[top, N_OUTCOME]
        gain, a, b, c = step(EXACT, i, o, frames[top, N_A], frames[top, N_CHANGED], frames[top, N_C], t)
        need = frames[top, N_NEED] - counted(gain, goal)
        chance = settled(i + 1, need, goal)
        if chance < 0:
            at = place_of(m.keys, i + 1, a, b, c, need)
            if m.keys[at, 0] == 0:
                push(frames, points, top + 1, i + 1, a, b, c, need)
                return True
            chance = m.value[at]
        points[top, 1] += t.weights[o, W_CHANCE] * chance
        frames[top, N_OUTCOME] += 1
    return False


@njit(cache=True)
def push(frames: Any, points: Any, top: int, i: int, a: int, b: int, c: int, need: int) -> None:
    frames[top, N_PASS], frames[top, N_A], frames[top, N_B] = i, a, b
    frames[top, N_C], frames[top, N_NEED], frames[top, N_NEXT], frames[top, N_OPTION] = c, need, 0, -1
    points[top, 0] = NEVER


@njit(cache=True)
def keep(frames: Any, points: Any, top: int, m: Any) -> None:
    """Note a solved state."""
    i, a, b = frames[top, N_PASS], frames[top, N_A], frames[top, N_B]
    c, need = frames[top, N_C], frames[top, N_NEED]
    at = place_of(m.keys, i, a, b, c, need)
    m.keys[at, 0], m.keys[at, 1], m.keys[at, 2], m.keys[at, 3], m.keys[at, 4] = i + 1, a, b, c, need
    m.value[at] = points[top, 0]
    m.count[0] += 1
    if m.count[0] * 10 > m.keys.shape[0] * 7:
        m.count[1] = 1


@njit(cache=True)
def reach(i: int, a: int, b: int, c: int, need: int, only: int, t: Any, goal: Any, m: Any) -> float:
    """Greatest chance to still get `need`; with `only` >= 0, when that option is tried now.

    A memo that overflows raises `count[1]`; then the value means nothing.
    """
    sure = settled(i, need, goal)
    if only < 0 and sure >= 0:
        return sure
    frames = np.empty((DEEPEST, N_COLUMNS), dtype=np.int64)
    points = np.empty((DEEPEST, 2))
    top = 0
    push(frames, points, 0, i, a, b, c, need)
    if only >= 0:
        start_option(frames, points, 0, only, t)
    while top >= 0:
        if frames[top, N_OPTION] < 0:
            if next_option(frames, points, top, t):
                continue
            keep(frames, points, top, m)
            if top == 0 or m.count[1]:
                return points[0, 0]
            top -= 1
        elif add_outcomes(frames, points, top, t, goal, m):
            top += 1
        elif only >= 0 and top == 0:
            return points[0, 1]
        else:
            points[top, 0] = max(points[top, 0], points[top, 1])
            frames[top, N_OPTION] = -1
    return 0.0


@njit(cache=True)
def followed(i: int, a: int, b: int, c: int, need: int, plan: Any, goal: Any, m: Any) -> float:
    """Chance of a fixed plan from a state on, looked up where it is known."""
    sure = settled(i, need, goal)
    if sure >= 0:
        return sure
    at = place_of(m.keys, i, a, b, c, need)
    if m.keys[at, 0] != 0:
        return float(m.value[at])
    return reach(i, a, b, c, need, -1, plan, goal, m)
