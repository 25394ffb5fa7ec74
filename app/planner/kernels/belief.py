"""The optimum when several readings of the program are possible: one choice must serve all of them.

A state is one packed state a reading, all before the same pass, and all or none of them right after a fall. So what
an attempt becomes has the same chance in every reading; their weights never change, and are not part of the state.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

from app.planner.kernels.layout import *  # noqa: F403  (the layout is the vocabulary of this module)
from app.planner.kernels.rules import get, put, relax, step
from app.planner.kernels.search import find, is_open, pending, solve

# Columns of the stack: whole numbers and points.
B_PASS, B_OPTION, B_OUTCOME, B_COLUMNS = range(4)
U_BEST, U_TOTAL, U_COLUMNS = range(3)
DEEPEST = 16
SLACK = 1e-9
TAKEN = -1e19
"""Bound of an option that was tried or is barred."""


@njit(cache=True)
def spot(keys: Any, i: int, words: Any) -> int:
    """Place of a state in a memo, or the empty place where it belongs."""
    size, flat = keys.shape[0] - 1, words.ravel()
    h = (i + 1) * 0x27D4EB2F165667
    for n in range(flat.shape[0]):
        h = (h ^ flat[n]) * 0x9E3779B97F4A7C1
        h ^= h >> 29
    at = (h ^ (h >> 32)) & size
    while keys[at, 0] != 0:
        if keys[at, 0] == i + 1 and np.all(keys[at, 1:] == flat):
            break
        at = (at + 1) & size
    return int(at)


@njit(cache=True)
def note(keys: Any, values: Any, count: Any, i: int, words: Any, value: float) -> None:
    """Note a solved state."""
    at = spot(keys, i, words)
    keys[at, 0] = i + 1
    keys[at, 1:] = words.ravel()
    values[at] = value
    count[0] += 1
    if count[0] * 10 > keys.shape[0] * 7:
        count[1] = 1


@njit(cache=True)
def loose_bounds(i: int, words: Any, weights: Any, t: Any, m: Any, bounds: Any) -> None:
    """Bounds of the first looser level, each reading choosing for itself; barred options: TAKEN."""
    first, last = t.spans[i, 0], t.spans[i, 1]
    bounds[: last - first] = 0.0
    for w in range(weights.shape[0]):
        a, b, c = words[w, 0], words[w, 1], words[w, 2]
        la, lb = relax(1, a, b, t.rules, t.levels)
        solve(1, i, la, lb, 0, -1, t, m)
        if m.count[1]:
            return
        row = m.row[find(m.keys, 1, i, la, lb, 0)]
        for x in range(first, last):
            bounds[x - first] += weights[w] * (m.bounds[row, x - first] + pending(c))
    for x in range(first, last):
        if not is_open(x, words[0, 1], t):
            bounds[x - first] = TAKEN


@njit(cache=True)
def tight_bound(i: int, x: int, words: Any, weights: Any, t: Any, m: Any) -> float:
    """Worth of an option if it were known afterwards which reading is right: no less than the truth."""
    total = 0.0
    for w in range(weights.shape[0]):
        total += weights[w] * solve(EXACT, i, words[w, 0], words[w, 1], words[w, 2], x, t, m)
        if m.count[1]:
            return 0.0
    return total


@njit(cache=True)
def choose(i: int, words: Any, weights: Any, t: Any, m: Any, bounds: Any, tight: Any, best: float) -> int:
    """The option with the highest tight bound, or -1 when none can beat `best`. It is marked as taken."""
    first, count = t.spans[i, 0], t.spans[i, 1] - t.spans[i, 0]
    while True:
        n = int(np.argmax(bounds[:count]))
        if bounds[n] <= best + SLACK or bounds[n] <= TAKEN:
            return -1
        if tight[n]:
            bounds[n] = TAKEN
            return n
        bounds[n], tight[n] = tight_bound(i, first + n, words, weights, t, m), 1
        if m.count[1]:
            return -1


@njit(cache=True)
def advance(i: int, o: int, change: int, words: Any, weights: Any, t: Any, behind: Any) -> float:
    """One outcome in every reading: expected gain; the states behind go to `behind`."""
    gained = 0.0
    for w in range(weights.shape[0]):
        b = words[w, 1]
        if t.rules[R_CHANGES] >= 0 and change:
            b = put(b, CHANGES, 4, get(b, CHANGES, 4) + 1)
        gain, a2, b2, c2 = step(EXACT, i, o, words[w, 0], b, words[w, 2], t)
        behind[w, 0], behind[w, 1], behind[w, 2] = a2, b2, c2
        gained += weights[w] * gain
    return gained


@njit(cache=True)
def alike(words: Any) -> bool:
    """Do all readings leave the same state?"""
    for w in range(1, words.shape[0]):
        if words[w, 0] != words[0, 0] or words[w, 1] != words[0, 1] or words[w, 2] != words[0, 2]:
            return False
    return True


@njit(cache=True)
def tried(
    frames: Any, points: Any, stack: Any, top: int, weights: Any, t: Any, m: Any, keys: Any, values: Any
) -> bool:
    """Add up outcomes of the option under way; True: the state now on top must be solved first."""
    i, x = frames[top, B_PASS], frames[top, B_OPTION]
    while frames[top, B_OUTCOME] < t.options[x, X_TO + 2 * get(stack[top, 0, 1], LASTFALL, 1)]:
        o = frames[top, B_OUTCOME]
        value = advance(i, o, t.options[x, X_CHANGE], stack[top], weights, t, stack[top + 1])
        if i + 1 < t.rules[R_PASSES]:
            after = stack[top + 1]
            if alike(after):
                value += solve(EXACT, i + 1, after[0, 0], after[0, 1], after[0, 2], -1, t, m)
            else:
                at = spot(keys, i + 1, after)
                if keys[at, 0] == 0:
                    return True
                value += values[at]
        points[top, U_TOTAL] += t.weights[o, W_CHANCE] * value
        frames[top, B_OUTCOME] += 1
    return False


@njit(cache=True)
def begin(frames: Any, points: Any, stack: Any, top: int, x: int, t: Any) -> None:
    fell = 2 * get(stack[top, 0, 1], LASTFALL, 1)
    frames[top, B_OPTION], frames[top, B_OUTCOME] = x, t.options[x, X_FROM + fell]
    points[top, U_TOTAL] = 0.0


@njit(cache=True)
def believe(
    i: int, words: Any, weights: Any, only: int, t: Any, m: Any, keys: Any, values: Any, count: Any
) -> float:
    """The optimum over all readings from pass `i` on, in hundredths; with `only` >= 0, of trying that option.

    Depth first, options by falling bound. `m` is the memo of certain states; when it or the own memo
    overflows (`count[1]`), the value means nothing.
    """
    readings, widest = weights.shape[0], m.bounds.shape[1]
    frames = np.zeros((DEEPEST, B_COLUMNS), dtype=np.int64)
    points = np.zeros((DEEPEST, U_COLUMNS))
    stack = np.zeros((DEEPEST, readings, 3), dtype=np.int64)
    bounds = np.full((DEEPEST, widest), TAKEN)
    tight = np.zeros((DEEPEST, widest), dtype=np.int64)
    stack[0] = words
    top, entered = 0, only >= 0
    frames[0, B_PASS], frames[0, B_OPTION] = i, -1
    if only >= 0:
        begin(frames, points, stack, 0, only, t)
    while not (m.count[1] or count[1]):
        place = frames[top, B_PASS]
        if not entered:
            points[top, U_BEST], frames[top, B_OPTION], entered = NEVER, -1, True
            bounds[top], tight[top] = TAKEN, 0
            loose_bounds(place, stack[top], weights, t, m, bounds[top])
        elif frames[top, B_OPTION] < 0:
            n = choose(place, stack[top], weights, t, m, bounds[top], tight[top], points[top, U_BEST])
            if n >= 0:
                begin(frames, points, stack, top, t.spans[place, 0] + n, t)
                continue
            note(keys, values, count, place, stack[top], points[top, U_BEST])
            if top == 0:
                return float(points[0, U_BEST])
            top -= 1
        elif tried(frames, points, stack, top, weights, t, m, keys, values):
            top, entered = top + 1, False
            frames[top, B_PASS] = place + 1
        elif only >= 0 and top == 0:
            return float(points[0, U_TOTAL])
        else:
            points[top, U_BEST] = max(points[top, U_BEST], points[top, U_TOTAL])
            frames[top, B_OPTION] = -1
    return 0.0
