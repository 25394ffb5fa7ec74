"""Depth-first search over states with bounds from looser levels; values of fixed plans."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

from app.planner.kernels.layout import *  # noqa: F403  (the layout is the vocabulary of this module)
from app.planner.kernels.rules import get, put, relax, step

# Columns of the stack: whole numbers and points. Phases: what a frame does next.
(S_PHASE, S_LEVEL, S_PASS, S_A, S_B, S_C, S_NEXT, S_OPTION, S_CHANGED, S_OUTCOME, S_TO, S_ROW, S_PARENT,
 S_GLANCE, S_COLUMNS) = range(15)  # fmt: skip
V_BEST, V_TOTAL, V_GAIN, V_COLUMNS = range(4)
ENTER, OPEN, CHOOSE, TRY, BACK = range(5)
DEEPEST = 160


@njit(cache=True)
def find(keys: Any, level: int, i: int, a: int, b: int, c: int) -> int:
    """Place of a state in a memo, or the empty place where it belongs."""
    size, head = keys.shape[0] - 1, 16 * level + i + 1
    h = a * 0x9E3779B97F4A7C1 + b * 0xC2B2AE3D27D4EB + c * 0x165667B19E3779 + head * 0x27D4EB2F165667
    h ^= h >> 29
    h *= 0xBF58476D1CE4E5B
    at = (h ^ (h >> 32)) & size
    while keys[at, 0] != 0:
        if keys[at, 1] == a and keys[at, 2] == b and keys[at, 3] == c and keys[at, 0] == head:
            break
        at = (at + 1) & size
    return at


@njit(cache=True)
def store(m: Any, level: int, i: int, a: int, b: int, c: int, value: float) -> int:
    """Note a solved state; its place."""
    at = find(m.keys, level, i, a, b, c)
    m.keys[at, 0], m.keys[at, 1], m.keys[at, 2], m.keys[at, 3] = 16 * level + i + 1, a, b, c
    m.value[at] = value
    m.count[0] += 1
    if m.count[0] * 10 > m.keys.shape[0] * 7:
        m.count[1] = 1
    return at


@njit(cache=True)
def move(old: Any, new: Any) -> None:
    """Everything solved so far into a larger, empty memo."""
    rows = min(old.count[2], old.bounds.shape[0])
    new.bounds[:rows] = old.bounds[:rows]
    new.order[:rows] = old.order[:rows]
    new.count[0], new.count[2] = old.count[0], rows
    for was in range(old.keys.shape[0]):
        if old.keys[was, 0] == 0:
            continue
        head, a, b, c = old.keys[was, 0] - 1, old.keys[was, 1], old.keys[was, 2], old.keys[was, 3]
        at = find(new.keys, head // 16, head % 16, a, b, c)
        new.keys[at] = old.keys[was]
        new.value[at], new.row[at] = old.value[was], old.row[was]


@njit(cache=True)
def pending(c: int) -> int:
    """Late bonus still to become certain; at most three places."""
    return get(c, 0, LATE_BITS) + get(c, LATE_BITS, LATE_BITS) + get(c, 2 * LATE_BITS, LATE_BITS)


@njit(cache=True)
def is_open(x: int, b: int, t: Any) -> bool:
    """May option `x` still be tried under the limit on changes?"""
    return t.rules[R_CHANGES] < 0 or get(b, CHANGES, 4) <= t.options[x, X_LIMIT]


@njit(cache=True)
def enter(frames: Any, top: int, level: int, i: int, a: int, b: int, c: int) -> None:
    frames[top, S_PHASE], frames[top, S_LEVEL], frames[top, S_PASS] = ENTER, level, i
    frames[top, S_A], frames[top, S_B], frames[top, S_C] = a, b, c
    frames[top, S_NEXT], frames[top, S_ROW], frames[top, S_PARENT] = 0, -1, -1


@njit(cache=True)
def begin(frames: Any, points: Any, top: int, x: int, t: Any) -> None:
    """Start trying option `x`."""
    b = frames[top, S_B]
    frames[top, S_OPTION], frames[top, S_CHANGED] = x, b
    if t.rules[R_CHANGES] >= 0 and t.options[x, X_CHANGE]:
        frames[top, S_CHANGED] = put(b, CHANGES, 4, get(b, CHANGES, 4) + 1)
    fell = 2 * get(b, LASTFALL, 1)
    frames[top, S_OUTCOME], frames[top, S_TO] = t.options[x, X_FROM + fell], t.options[x, X_TO + fell]
    # A glance at the looser values pays only where they still know jumps.
    frames[top, S_GLANCE] = frames[top, S_PARENT] >= 0 and frames[top, S_LEVEL] + 2 < t.levels.shape[0]
    points[top, V_TOTAL] = 0.0
    frames[top, S_PHASE] = TRY


@njit(cache=True)
def choose(frames: Any, points: Any, top: int, t: Any, m: Any) -> bool:
    """Take the next option worth trying; False when none is left."""
    i, row, parent = frames[top, S_PASS], frames[top, S_ROW], frames[top, S_PARENT]
    first, count = t.spans[i, 0], t.spans[i, 1] - t.spans[i, 0]
    while frames[top, S_NEXT] < count:
        place = frames[top, S_NEXT]
        frames[top, S_NEXT] += 1
        if parent >= 0:
            place = m.order[parent, place]
            bound = m.bounds[parent, place] + pending(frames[top, S_C])
            if row >= 0:
                m.bounds[row, place] = bound
            if bound <= points[top, V_BEST]:
                if row < 0:
                    return False
                continue
        if is_open(first + place, frames[top, S_B], t):
            begin(frames, points, top, first + place, t)
            return True
        if row >= 0:
            m.bounds[row, place] = NEVER
    return False


@njit(cache=True)
def finish_option(frames: Any, points: Any, top: int, t: Any, m: Any) -> None:
    """All outcomes of an option are added up: either a glance at its bound, or its value."""
    total, row = points[top, V_TOTAL], frames[top, S_ROW]
    if frames[top, S_GLANCE] and total > points[top, V_BEST]:
        frames[top, S_GLANCE] = 0
        points[top, V_TOTAL] = 0.0
        fell = 2 * get(frames[top, S_B], LASTFALL, 1)
        frames[top, S_OUTCOME] = t.options[frames[top, S_OPTION], X_FROM + fell]
        return
    if row >= 0:
        m.bounds[row, frames[top, S_OPTION] - t.spans[frames[top, S_PASS], 0]] = total
    if frames[top, S_GLANCE] == 0:
        points[top, V_BEST] = max(points[top, V_BEST], total)
    frames[top, S_PHASE] = CHOOSE


@njit(cache=True)
def open_state(frames: Any, points: Any, top: int, t: Any, m: Any) -> None:
    """The looser state is solved: take a row for bounds, and its order of options."""
    level = frames[top, S_LEVEL]
    points[top, V_BEST] = NEVER
    frames[top, S_PHASE] = CHOOSE
    if level > EXACT:
        frames[top, S_ROW] = min(m.count[2], m.bounds.shape[0] - 1)
        m.count[2] += 1
    if level + 1 < t.levels.shape[0]:
        a, b = relax(level + 1, frames[top, S_A], frames[top, S_B], t.rules, t.levels)
        frames[top, S_PARENT] = m.row[find(m.keys, level + 1, frames[top, S_PASS], a, b, 0)]


@njit(cache=True)
def close_state(frames: Any, points: Any, top: int, t: Any, m: Any) -> None:
    """Note a solved state and the order of its options."""
    i, row = frames[top, S_PASS], frames[top, S_ROW]
    a, b, c = frames[top, S_A], frames[top, S_B], frames[top, S_C]
    at = store(m, frames[top, S_LEVEL], i, a, b, c, points[top, V_BEST])
    if row >= 0:
        m.row[at] = row
        count = t.spans[i, 1] - t.spans[i, 0]
        m.order[row, :count] = np.argsort(-m.bounds[row, :count])
        if m.count[2] + 1 >= m.bounds.shape[0]:
            m.count[1] = 1


@njit(cache=True)
def known(frames: Any, points: Any, top: int, t: Any, m: Any) -> bool:
    """Is the state at the top solved already? Its value goes to `points[top, V_BEST]`."""
    i = frames[top, S_PASS]
    if i == t.rules[R_PASSES]:
        points[top, V_BEST] = 0.0
        return True
    at = find(m.keys, frames[top, S_LEVEL], i, frames[top, S_A], frames[top, S_B], frames[top, S_C])
    if m.keys[at, 0] == 0:
        return False
    points[top, V_BEST] = m.value[at]
    return True


@njit(cache=True)
def try_outcomes(frames: Any, points: Any, top: int, t: Any, m: Any) -> bool:
    """Add up outcomes, at this level or, for a glance, at the looser one; True: a state must be solved first.

    That state is then on the stack above, and this frame waits for its value.
    """
    level, i, glance = frames[top, S_LEVEL], frames[top, S_PASS], frames[top, S_GLANCE]
    a, b, c = frames[top, S_A], frames[top, S_CHANGED], frames[top, S_C]
    last = i + 1 == t.rules[R_PASSES]
    while frames[top, S_OUTCOME] < frames[top, S_TO]:
        o = frames[top, S_OUTCOME]
        gain, a2, b2, c2 = step(level, i, o, a, b, c, t)
        if glance:
            a2, b2 = relax(level + 1, a2, b2, t.rules, t.levels)
            gain += pending(c2)
            c2 = 0
        behind = 0.0
        if not last:
            at = find(m.keys, level + glance, i + 1, a2, b2, c2)
            if m.keys[at, 0] == 0:
                points[top, V_GAIN] = gain
                frames[top, S_PHASE] = BACK
                enter(frames, top + 1, level + glance, i + 1, a2, b2, c2)
                return True
            behind = m.value[at]
        points[top, V_TOTAL] += t.weights[o, W_CHANCE] * (gain + behind)
        frames[top, S_OUTCOME] += 1
    return False


@njit(cache=True)
def solve(level: int, i: int, a: int, b: int, c: int, only: int, t: Any, m: Any) -> float:
    """The optimum from a state on, in hundredths; with `only` >= 0, of trying that option now.

    A depth-first walk with its own stack (compiled recursion cannot be kept on disk). Where there is a
    looser level, options are taken by falling bound; the rest is left out as soon as a bound does not
    exceed the best value found, which is exact, since no bound is too low. A memo that overflows raises its
    flag `count[1]`; then the value means nothing and the caller retries with more room.
    """
    if m.count[1]:
        return 0.0
    frames = np.empty((DEEPEST, S_COLUMNS), dtype=np.int64)
    points = np.empty((DEEPEST, V_COLUMNS))
    top, result = 0, 0.0
    enter(frames, 0, level, i, a, b, c)
    if only >= 0:
        begin(frames, points, 0, only, t)
    while top >= 0:
        phase = frames[top, S_PHASE]
        if phase == TRY:
            if try_outcomes(frames, points, top, t, m):
                top += 1
            elif only >= 0 and top == 0:
                return points[0, V_TOTAL]
            else:
                finish_option(frames, points, top, t, m)
        elif phase == BACK:
            chance = t.weights[frames[top, S_OUTCOME], W_CHANCE]
            points[top, V_TOTAL] += chance * (points[top, V_GAIN] + result)
            frames[top, S_OUTCOME] += 1
            frames[top, S_PHASE] = TRY
        elif phase == ENTER:
            if known(frames, points, top, t, m):
                result = points[top, V_BEST]
                top -= 1
                continue
            frames[top, S_PHASE] = OPEN
            loose = frames[top, S_LEVEL] + 1
            if loose < t.levels.shape[0]:
                la, lb = relax(loose, frames[top, S_A], frames[top, S_B], t.rules, t.levels)
                top += 1
                enter(frames, top, loose, frames[top - 1, S_PASS], la, lb, 0)
        elif phase == OPEN:
            open_state(frames, points, top, t, m)
        elif not choose(frames, points, top, t, m):
            result = points[top, V_BEST]
            close_state(frames, points, top, t, m)
            if m.count[1]:
                return 0.0
            top -= 1
    return result


@njit(cache=True)
def option_values(i: int, a: int, b: int, c: int, floor: float, t: Any, m: Any) -> Any:
    """Exact value of every option at a state; NEVER where it is barred or cannot reach `floor`."""
    first, last = t.spans[i, 0], t.spans[i, 1]
    values = np.full(last - first, NEVER)
    la, lb = relax(1, a, b, t.rules, t.levels)
    solve(1, i, la, lb, 0, -1, t, m)
    if m.count[1]:
        return values
    row = m.row[find(m.keys, 1, i, la, lb, 0)]
    for x in range(first, last):
        if is_open(x, b, t) and m.bounds[row, x - first] + pending(c) >= floor:
            values[x - first] = solve(EXACT, i, a, b, c, x, t, m)
    return values


@njit(cache=True)
def followed(i: int, a: int, b: int, c: int, plan: Any, m: Any) -> float:
    """Value of a fixed plan from a state on, looked up where it is known."""
    if i == plan.rules[R_PASSES]:
        return 0.0
    at = find(m.keys, EXACT, i, a, b, c)
    if m.keys[at, 0] != 0:
        return float(m.value[at])
    return solve(EXACT, i, a, b, c, -1, plan, m)


@njit(cache=True)
def swap_values(place: int, a: int, b: int, c: int, t: Any, plan: Any, m: Any, spread: Any) -> Any:
    """Value of each single departure from a fixed plan: row = pass from `place` on, column = its option.

    `plan` are the tables with the planned option alone at every pass, `m` is a memo for them; `spread` is
    an empty memo for the chance of each state under the plan.
    """
    passes = t.rules[R_PASSES]
    values = np.full((passes, (t.spans[:passes, 1] - t.spans[:passes, 0]).max()), np.nan)
    states = np.zeros((spread.keys.shape[0], 3), dtype=np.int64)
    store(spread, EXACT, place, a, b, c, 1.0)
    states[0, 0], states[0, 1], states[0, 2] = a, b, c
    start, end, gained = 0, 1, 0.0
    for i in range(place, passes):
        stop, so_far = end, gained
        for x in range(t.spans[i, 0], t.spans[i, 1]):
            total = so_far
            for s in range(start, stop):
                a1, b1, c1 = states[s, 0], states[s, 1], states[s, 2]
                chance, fell = spread.value[find(spread.keys, EXACT, i, a1, b1, c1)], 2 * get(b1, LASTFALL, 1)
                for o in range(t.options[x, X_FROM + fell], t.options[x, X_TO + fell]):
                    gain, a2, b2, c2 = step(EXACT, i, o, a1, b1, c1, t)
                    weight = chance * t.weights[o, W_CHANCE]
                    total += weight * (gain + followed(i + 1, a2, b2, c2, plan, m))
                    if x == plan.spans[i, 0]:
                        gained += weight * gain
                        at = find(spread.keys, EXACT, i + 1, a2, b2, c2)
                        if spread.keys[at, 0] == 0:
                            at = store(spread, EXACT, i + 1, a2, b2, c2, 0.0)
                            states[end, 0], states[end, 1], states[end, 2] = a2, b2, c2
                            end += 1
                        spread.value[at] += weight
            values[i, x - t.spans[i, 0]] = total
        start = stop
        if m.count[1] or spread.count[1]:
            break
    return values
