"""Every state that a program can still come to, as one graph; the optimum and the ends of the program on it.

States are numbered pass by pass: those before pass i are `first[i]` to `first[i + 1]`. The edges of a state stand
together from `edges[s]` on: its open options in order, each with all its outcomes; `child` is -1 behind the last
pass. Walking the options in the same order finds them again, so nothing else is stored.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numba import njit

from app.planner.kernels.layout import *  # noqa: F403  (the layout is the vocabulary of this module)
from app.planner.kernels.rules import get, put, step
from app.planner.kernels.search import find, is_open

FULL = -1
"""The room given is too small."""
# Columns of a frame: state, pass, points gained or needed, next outcome, its edge, end of the outcomes.
F_STATE, F_PASS, F_POINTS, F_OUTCOME, F_EDGE, F_LAST, F_COLUMNS = range(7)
DEEPEST = 16


class Graph(NamedTuple):
    """States (words a, b, c) and edges (gain in hundredths, state behind); see the top of this module."""

    states: Any
    first: Any
    edges: Any
    child: Any
    gain: Any


@njit(cache=True)
def outcomes_of(x: int, b: int, t: Any) -> tuple[int, int]:
    """First outcome of an option at a state, and the one behind its last."""
    fell = 2 * get(b, LASTFALL, 1)
    return t.options[x, X_FROM + fell], t.options[x, X_TO + fell]


@njit(cache=True)
def changed(x: int, b: int, t: Any) -> int:
    """Word b with the change counted, where changes are limited."""
    if t.rules[R_CHANGES] >= 0 and t.options[x, X_CHANGE]:
        return put(b, CHANGES, 4, get(b, CHANGES, 4) + 1)
    return b


@njit(cache=True)
def number_of(i: int, a: int, b: int, c: int, keys: Any, g: Graph, count: int) -> int:
    """Number of a state before pass `i`: a new one is `count`; FULL without room."""
    at = find(keys, EXACT, i, a, b, c)
    if keys[at, 0] != 0:
        return int(keys[at, 4])
    if count == g.states.shape[0]:
        return FULL
    keys[at, 0], keys[at, 1], keys[at, 2], keys[at, 3], keys[at, 4] = i + 1, a, b, c, count
    g.states[count, 0], g.states[count, 1], g.states[count, 2] = a, b, c
    return count


@njit(cache=True)
def expand(i: int, a: int, b: int, c: int, t: Any, keys: Any, g: Graph) -> int:
    """Fill `g` with all states from one before pass `i` on; how many edges there are, FULL without room.

    `keys`: empty, a power of two rows of five, the look-up from words to numbers.
    """
    passes, edge = t.rules[R_PASSES], 0
    count = 1 + number_of(i, a, b, c, keys, g, 0)
    g.first[: i + 1] = 0
    g.first[i + 1 :] = 1
    for place in range(i, passes):
        for s in range(g.first[place], g.first[place + 1]):
            g.edges[s] = edge
            a, b, c = g.states[s, 0], g.states[s, 1], g.states[s, 2]
            for x in range(t.spans[place, 0], t.spans[place, 1]):
                if not is_open(x, b, t):
                    continue
                start, end = outcomes_of(x, b, t)
                if edge + end - start > g.child.shape[0]:
                    return FULL
                for o in range(start, end):
                    g.gain[edge], a2, b2, c2 = step(EXACT, place, o, a, changed(x, b, t), c, t)
                    g.child[edge] = -1
                    if place + 1 < passes:
                        behind = number_of(place + 1, a2, b2, c2, keys, g, count)
                        if behind == FULL:
                            return FULL
                        g.child[edge] = behind
                        count = max(count, behind + 1)
                    edge += 1
        g.first[place + 2 :] = count
    g.edges[count] = edge
    return edge


@njit(cache=True)
def expected(i: int, t: Any, g: Graph, tie: float, value: Any, best: Any) -> None:
    """Optimum of every state and its option (index in its pass); of equals a kept plan, then the first."""
    for place in range(t.rules[R_PASSES] - 1, i - 1, -1):
        for s in range(g.first[place], g.first[place + 1]):
            edge, b = g.edges[s], g.states[s, 1]
            value[s], best[s] = NEVER, -1
            for x in range(t.spans[place, 0], t.spans[place, 1]):
                if not is_open(x, b, t):
                    continue
                start, end = outcomes_of(x, b, t)
                total = 0.0
                for o in range(start, end):
                    behind = value[g.child[edge]] if g.child[edge] >= 0 else 0.0
                    total += t.weights[o, W_CHANCE] * (g.gain[edge] + behind)
                    edge += 1
                kept = total > value[s] - tie and t.options[x, X_CHANGE] == 0
                if total > value[s] + tie or kept:
                    value[s], best[s] = max(total, value[s]), x - t.spans[place, 0]


@njit(cache=True)
def edge_of(i: int, s: int, option: int, t: Any, g: Graph) -> int:
    """First edge of an option (index in its pass) at a state."""
    edge, b = g.edges[s], g.states[s, 1]
    for x in range(t.spans[i, 0], t.spans[i, 0] + option):
        if is_open(x, b, t):
            start, end = outcomes_of(x, b, t)
            edge += end - start
    return int(edge)


@njit(cache=True)
def take(frame: Any, option: int, t: Any, g: Graph) -> None:
    """Set a frame to the first outcome of an option (index in its pass)."""
    s, i = frame[F_STATE], frame[F_PASS]
    start, end = outcomes_of(t.spans[i, 0] + option, g.states[s, 1], t)
    frame[F_OUTCOME], frame[F_LAST], frame[F_EDGE] = start, end, edge_of(i, s, option, t, g)


@njit(cache=True)
def spot(keys: Any, s: int, points: int) -> int:
    """Place of a state with its points in a memo, or the empty place where they belong."""
    size = keys.shape[0] - 1
    h = s * 0x9E3779B97F4A7C1 + points * 0xC2B2AE3D27D4EB
    h ^= h >> 29
    h *= 0xBF58476D1CE4E5B
    at = (h ^ (h >> 32)) & size
    while keys[at, 0] != 0:
        if keys[at, 0] == s + 1 and keys[at, 1] == points:
            break
        at = (at + 1) & size
    return int(at)


@njit(cache=True)
def spread(
    i: int, scale: int, grid: int, t: Any, g: Graph, best: Any, keys: Any, worlds: Any, weights: Any
) -> tuple[int, int]:
    """Every end of the program when each state tries its `best` option: from where to where they stand in `worlds`.

    A world is a state (0 behind the last pass) and its points in units of a hundredth / `scale` x `grid`, merged in
    `keys`, an empty memo whose third column is the place in `worlds`. FULL: too little room.
    """
    passes = t.rules[R_PASSES]
    weights[0] = 1.0
    start, end = 0, 1
    for place in range(i, passes):
        stop = end
        for w in range(start, stop):
            s = worlds[w, 0]
            edge = edge_of(place, s, best[s], t, g)
            first, last = outcomes_of(t.spans[place, 0] + best[s], g.states[s, 1], t)
            for o in range(first, last):
                behind = g.child[edge] if g.child[edge] >= 0 else g.first[passes]
                points = worlds[w, 1] + int(np.rint(np.rint(g.gain[edge] * scale) / grid))
                at = spot(keys, behind, points)
                if keys[at, 0] == 0:
                    if end == worlds.shape[0]:
                        return 0, FULL
                    keys[at, 0], keys[at, 1], keys[at, 2] = behind + 1, points, end
                    worlds[end, 0], worlds[end, 1], weights[end] = behind, points, 0.0
                    end += 1
                weights[keys[at, 2]] += weights[w] * t.weights[o, W_CHANCE]
                edge += 1
        start = stop
    return start, end
