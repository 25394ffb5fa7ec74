"""Chances to reach a number of points, for all states of a graph and all needs at once.

The recursion of the aim "at least", V(s, n) = max_e sum_o p(o) V(s . o, n - g(o)), with the needs of a state side by
side: a step function on a grid. `cells[offset[s] + k]` belongs to the need `low[s] + 1 + k`; up to `low[s]` a need is
surely met, above `high[s]` it never is. Gains are rounded to the grid: all up, so that no chance is too low, or all
down, so that none is too high.

`follow` says what is reached in truth by always taking the option of greatest stored chance: no chance is too high.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numba import njit

from app.planner.kernels.graph import (
    DEEPEST,
    F_COLUMNS,
    F_EDGE,
    F_LAST,
    F_OUTCOME,
    F_PASS,
    F_POINTS,
    F_STATE,
    edge_of,
    outcomes_of,
    spot,
    take,
)
from app.planner.kernels.layout import *  # noqa: F403  (the layout is the vocabulary of this module)
from app.planner.kernels.search import is_open

FAR = 1 << 40
# Places of Needs.unit: whole units of a hundredth, units of a grid step, whether gains are rounded up.
U_SCALE, U_GRID, U_UP = range(3)
ANY = -1
"""In a plan: any option of the pass."""


class Needs(NamedTuple):
    """Step functions of the chance to meet a need; see the top of this module."""

    unit: Any
    low: Any
    high: Any
    offset: Any
    cells: Any


@njit(cache=True)
def in_steps(gain: float, unit: Any) -> int:
    """A gain in grid steps, rounded up or down."""
    whole = int(np.rint(gain * unit[U_SCALE]))
    return int(-((-whole) // unit[U_GRID])) if unit[U_UP] else int(whole // unit[U_GRID])


@njit(cache=True)
def takes(x: int, i: int, b: int, plan: Any, t: Any) -> bool:
    """Is this option the plan's, or open where the plan leaves the choice?"""
    return is_open(x, b, t) and (plan[i] == ANY or x == t.spans[i, 0] + plan[i])


@njit(cache=True)
def ranges(i: int, plan: Any, t: Any, g: Any, n: Needs) -> float:
    """Fill `low` and `high` of every state; the additions that `chances` will need."""
    work = 0.0
    for place in range(t.rules[R_PASSES] - 1, i - 1, -1):
        for s in range(g.first[place], g.first[place + 1]):
            edge, b, added = g.edges[s], g.states[s, 1], 0
            n.low[s], n.high[s] = -FAR, -FAR
            for x in range(t.spans[place, 0], t.spans[place, 1]):
                if not is_open(x, b, t):
                    continue
                start, end = outcomes_of(x, b, t)
                if not takes(x, place, b, plan, t):
                    edge += end - start
                    continue
                least = FAR
                for _ in range(start, end):
                    points, behind = in_steps(g.gain[edge], n.unit), g.child[edge]
                    least = min(least, points + (n.low[behind] if behind >= 0 else 0))
                    n.high[s] = max(n.high[s], points + (n.high[behind] if behind >= 0 else 0))
                    edge += 1
                    added += 1
                n.low[s] = max(n.low[s], least)
            work += float(added) * float(n.high[s] - n.low[s])
    return work


@njit(cache=True)
def add_outcome(total: Any, low: int, points: int, weight: float, behind: int, n: Needs) -> None:
    """Add weight x the chance behind one outcome, for every need of `total` (the first is `low + 1`)."""
    count, sure, most, base = total.shape[0], 0, 0, 0
    if behind >= 0:
        sure, most, base = n.low[behind], n.high[behind], n.offset[behind]
    # Need low + 1 + k leaves the state behind with need low + 1 + k - points.
    met = min(max(sure + points - low, 0), count)
    end = min(max(most + points - low, met), count)
    total[:met] += weight
    total[met:end] += weight * n.cells[base + met + low - points - sure : base + end + low - points - sure]


@njit(cache=True)
def chances(i: int, plan: Any, t: Any, g: Any, n: Needs) -> None:
    """Fill `cells`, from the last pass to the first, following `plan` where it does not say ANY."""
    room = np.empty(np.max(n.high[: g.first[-1]] - n.low[: g.first[-1]]) + 1)
    for place in range(t.rules[R_PASSES] - 1, i - 1, -1):
        for s in range(g.first[place], g.first[place + 1]):
            edge, b, count = g.edges[s], g.states[s, 1], n.high[s] - n.low[s]
            mine, total = n.cells[n.offset[s] : n.offset[s] + count], room[:count]
            mine[:] = 0.0
            for x in range(t.spans[place, 0], t.spans[place, 1]):
                if not is_open(x, b, t):
                    continue
                start, end = outcomes_of(x, b, t)
                if not takes(x, place, b, plan, t):
                    edge += end - start
                    continue
                total[:] = 0.0
                for o in range(start, end):
                    points = in_steps(g.gain[edge], n.unit)
                    add_outcome(total, n.low[s], points, t.weights[o, W_CHANCE], g.child[edge], n)
                    edge += 1
                for k in range(count):
                    mine[k] = max(mine[k], total[k])


@njit(cache=True)
def stored(s: int, need: int, n: Needs) -> float:
    """The chance of a state to meet a need in whole units; state -1: behind the last pass."""
    steps = -((-need) // n.unit[U_GRID])
    if s < 0:
        return 1.0 if need <= 0 else 0.0
    if steps <= n.low[s]:
        return 1.0
    if steps > n.high[s]:
        return 0.0
    return float(n.cells[n.offset[s] + steps - n.low[s] - 1])


@njit(cache=True)
def left_after(need: int, gain: float, fine: int, n: Needs) -> int:
    """The need behind a gain, which is rounded down to `fine` units."""
    return int(need - int(np.rint(gain * n.unit[U_SCALE])) // fine * fine)


@njit(cache=True)
def option_chance(i: int, s: int, option: int, need: int, t: Any, g: Any, n: Needs) -> float:
    """Stored chance of one option (index in its pass): never too low."""
    start, end = outcomes_of(t.spans[i, 0] + option, g.states[s, 1], t)
    edge, total = edge_of(i, s, option, t, g), 0.0
    for o in range(start, end):
        total += t.weights[o, W_CHANCE] * stored(g.child[edge], left_after(need, g.gain[edge], 1, n), n)
        edge += 1
    return total


@njit(cache=True)
def choose(frame: Any, t: Any, g: Any, n: Needs) -> None:
    """Set a frame to the option of greatest stored chance."""
    s, i, need = frame[F_STATE], frame[F_PASS], frame[F_POINTS]
    edge, b, most = g.edges[s], g.states[s, 1], -1.0
    for x in range(t.spans[i, 0], t.spans[i, 1]):
        if not is_open(x, b, t):
            continue
        start, end = outcomes_of(x, b, t)
        chance = 0.0
        for o in range(start, end):
            left = left_after(need, g.gain[edge + o - start], 1, n)
            chance += t.weights[o, W_CHANCE] * stored(g.child[edge + o - start], left, n)
        if chance > most + 1e-12:
            most = chance
            frame[F_OUTCOME], frame[F_LAST], frame[F_EDGE] = start, end, edge
        edge += end - start


@njit(cache=True)
def decided(s: int, need: int, passes: int, n: Needs) -> float:
    """1 or 0 where the end is certain whatever rounding did, else -1."""
    if s < 0:
        return 1.0 if need <= 0 else 0.0
    if -((-need) // n.unit[U_GRID]) <= n.low[s] - passes:
        return 1.0
    return 0.0 if stored(s, need, n) == 0.0 else -1.0


@njit(cache=True)
def follow(
    i: int,
    s: int,
    need: int,
    only: int,
    fine: int,
    t: Any,
    g: Any,
    n: Needs,
    keys: Any,
    values: Any,
    count: Any,
) -> float:
    """The chance that always taking the option of greatest stored chance meets `need` (whole units).

    With `only` >= 0 that option (index in its pass) is tried now. Gains are rounded down to `fine` units (1: exact).
    A memo that overflows raises `count[1]`; then the value means nothing.
    """
    frames = np.zeros((DEEPEST, F_COLUMNS), dtype=np.int64)
    totals = np.zeros(DEEPEST)
    frames[0, F_STATE], frames[0, F_PASS], frames[0, F_POINTS] = s, i, need
    if only >= 0:
        take(frames[0], only, t, g)
    else:
        choose(frames[0], t, g, n)
    top = 0
    while True:
        o, edge = frames[top, F_OUTCOME], frames[top, F_EDGE]
        if o == frames[top, F_LAST]:
            if top == 0:
                return float(totals[0])
            at = spot(keys, frames[top, F_STATE], frames[top, F_POINTS])
            keys[at, 0], keys[at, 1], values[at] = (
                frames[top, F_STATE] + 1,
                frames[top, F_POINTS],
                totals[top],
            )
            count[0] += 1
            if count[0] * 10 > keys.shape[0] * 7:
                count[1] = 1
                return 0.0
            top -= 1
            continue
        behind, left = g.child[edge], left_after(frames[top, F_POINTS], g.gain[edge], fine, n)
        chance = decided(behind, left, t.rules[R_PASSES], n)
        if chance < 0:
            at = spot(keys, behind, left)
            if keys[at, 0] == 0:
                top += 1
                frames[top, F_STATE], frames[top, F_PASS] = behind, frames[top - 1, F_PASS] + 1
                frames[top, F_POINTS], totals[top] = left, 0.0
                choose(frames[top], t, g, n)
                continue
            chance = values[at]
        totals[top] += t.weights[o, W_CHANCE] * chance
        frames[top, F_EDGE] += 1
        frames[top, F_OUTCOME] += 1


@njit(cache=True)
def departures(
    i: int, need: int, plan: Any, t: Any, g: Any, n: Needs, keys: Any, worlds: Any, weights: Any
) -> Any:
    """Chance of each single departure from `plan`: row = pass from `i` on, column = its option.

    `n` holds the chances of following the plan; worlds (state, need in grid steps) under the plan are merged in
    `keys`, an empty memo whose third column is the place in `worlds`. An answer of no rows: too little room.
    """
    passes, grid = t.rules[R_PASSES], n.unit[U_GRID]
    values = np.full((passes, (t.spans[:passes, 1] - t.spans[:passes, 0]).max()), np.nan)
    worlds[0, 0], worlds[0, 1], weights[0] = 0, -((-need) // grid), 1.0
    start, end = 0, 1
    for place in range(i, passes):
        stop = end
        values[place] = 0.0
        for w in range(start, stop):
            s, left = worlds[w, 0], worlds[w, 1]
            edge, b = g.edges[s], g.states[s, 1]
            for x in range(t.spans[place, 0], t.spans[place, 1]):
                if not is_open(x, b, t):
                    continue
                first, last = outcomes_of(x, b, t)
                for o in range(first, last):
                    chance, behind = weights[w] * t.weights[o, W_CHANCE], g.child[edge]
                    to_go = left - in_steps(g.gain[edge], n.unit)
                    values[place, x - t.spans[place, 0]] += chance * stored(behind, to_go * grid, n)
                    edge += 1
                    if x != t.spans[place, 0] + plan[place] or behind < 0:
                        continue
                    at = spot(keys, behind, to_go)
                    if keys[at, 0] == 0:
                        if end == worlds.shape[0]:
                            return values[:0]
                        keys[at, 0], keys[at, 1], keys[at, 2] = behind + 1, to_go, end
                        worlds[end, 0], worlds[end, 1], weights[end] = behind, to_go, 0.0
                        end += 1
                    weights[keys[at, 2]] += chance
        start = stop
    return values
