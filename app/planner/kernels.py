"""The tight loops of the free-skating planner, compiled by numba; nothing else.

They know no files and no text: `app.planner.packing` turns an edition and a problem into the tables they
read, and `app.planner.backward` says what is solved and why the bounds hold. A state is three words:

    a   two bits a tracked jump: 0 none, 1 once solo, 2 once in a unit, 3 spent
    b   the counters of the program, places below
    c   late bonus not yet certain, ten bits a place, the youngest lowest

The rules here are a second implementation of `app.legality`; tests hold the two to each other.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numba import njit

# Places of the counters in word b. QUOTA: four bits a repeat class, two used and two used within.
BOXES, UNITS, LONGS, SEQS, EULERS, EUCOMB, AXEL = 0, 4, 7, 9, 11, 13, 14
FALLS, LASTFALL, CHANGES, FAMILY, QUOTA = 15, 18, 19, 23, 35
# Columns of Tables.rules.
(R_BOXES, R_UNITS, R_SEQS, R_LONGS, R_USUAL, R_MOST, R_REPEAT, R_LATE, R_LAST, R_AXEL, R_FALLS, R_EULERS,
 R_READING, R_FAMILY, R_CHANGES, R_GOE, R_CLASSES, R_PASSES, R_BOUNDED) = range(19)  # fmt: skip
# Columns of Tables.outcomes and Tables.jumps.
O_BOX, O_JUMPS, O_UNIT, O_SEQ, O_LISTED, O_EULERS, O_AXEL, O_FALL, O_FIRST_EULER = range(9)
J_SLOT, J_FAMILY, J_CLASS, J_WITHIN, J_VALUE, J_DEAD, J_PLACE = range(7)
# Columns of Tables.ahead: row i speaks of the passes from i on, P_LATE of pass i alone.
(P_LATE, P_LATE_MOST, P_LATE_LEAST, P_UNITS, P_LONGS, P_SEQS, P_EULERS, P_LEFT, P_FALL_SEES, P_ONE,
 P_TWO) = range(11)  # fmt: skip
# Columns of Tables.classes: masks of low bits, quotas (NO_QUOTA: none), whether a solo repeat loses.
C_ALL, C_WITHIN, C_MOST, C_MOST_WITHIN, C_SOLO = range(5)
NO_QUOTA = 9
EXACT, LOOSE, LOOSEST = 0, 1, 2


class Tables(NamedTuple):
    """Everything the loops read. Shapes: see `app.planner.packing`."""

    rules: Any
    outcomes: Any
    jumps: Any
    grades: Any
    chances: Any
    deductions: Any
    ahead: Any
    classes: Any
    families: Any
    families_ahead: Any
    falls_alike: Any
    masks: Any
    option_from: Any
    option_to: Any
    option_change: Any
    outcome_from: Any
    outcome_to: Any
    landed: Any


class Memo(NamedTuple):
    """Solved states of one level: open addressing; `keys[:, 0]` is pass + 1, 0 an empty place."""

    keys: Any
    value: Any
    row: Any
    """Row of `bounds` and `order`, at the looser levels."""
    count: Any
    """States stored, overflow flag, rows used."""
    bounds: Any
    """No option of the state is worth more."""
    order: Any
    """Options by falling bound."""


@njit(cache=True)
def half_up(numerator: int, denominator: int) -> int:
    return (2 * numerator + denominator) // (2 * denominator)


@njit(cache=True)
def get(word: int, shift: int, bits: int) -> int:
    return (word >> shift) & ((1 << bits) - 1)


@njit(cache=True)
def put(word: int, shift: int, bits: int, value: int) -> int:
    return (word & ~(((1 << bits) - 1) << shift)) | (value << shift)


@njit(cache=True)
def forget_jumps(i: int, a: int, b: int, t: Any) -> tuple[int, int]:
    """Close jumps that can never count again, forget those no later pass tries."""
    low, one, two = t.masks[0], t.ahead[i, P_ONE], t.ahead[i, P_TWO]
    cap = t.rules[R_FAMILY]
    if cap > 0:
        for f in range(t.families.shape[0]):
            count, ahead = get(b, FAMILY + 2 * f, 2), t.families_ahead[i, f]
            if ahead > 0 and count >= cap:
                a |= t.families[f] | (t.families[f] << 1)
            if ahead == 0 or count + ahead <= cap:
                b = put(b, FAMILY + 2 * f, 2, 0)
    for k in range(t.rules[R_CLASSES]):
        mine, most = t.classes[k, C_ALL], t.classes[k, C_MOST]
        once = (a ^ (a >> 1)) & low
        shut = 0
        if get(b, QUOTA + 4 * k, 2) >= most:
            shut = once & mine
        elif get(b, QUOTA + 4 * k + 2, 2) >= t.classes[k, C_MOST_WITHIN]:
            shut = once & t.classes[k, C_WITHIN]
        a |= shut | (shut << 1)
        if t.classes[k, C_SOLO] == 0:
            in_unit = (a >> 1) & ~a & mine
            a = (a & ~(in_unit << 1)) | in_unit
            if most == NO_QUOTA:
                a &= ~(a & ~(a >> 1) & mine & ~two)
    a &= one | (one << 1)
    for k in range(t.rules[R_CLASSES]):
        if t.classes[k, C_MOST] == NO_QUOTA:
            b = put(b, QUOTA + 4 * k, 4, 0)
        else:
            once = (a ^ (a >> 1)) & t.classes[k, C_ALL]
            fresh = ~(a | (a >> 1)) & t.classes[k, C_ALL] & two
            if once == 0 and fresh == 0:
                b = put(b, QUOTA + 4 * k, 4, 0)
    return a, b


@njit(cache=True)
def forget_counters(i: int, b: int, t: Any) -> int:
    """Forget what the passes from `i` on cannot run into."""
    rules, ahead = t.rules, t.ahead
    units, left = get(b, UNITS, 3), ahead[i, P_LEFT]
    reading = rules[R_READING]
    if ahead[i, P_UNITS] == 0 or units >= rules[R_UNITS]:
        b = put(b, LONGS, 7, 0)
    else:
        if get(b, LONGS, 2) + ahead[i, P_LONGS] <= rules[R_LONGS]:
            b = put(b, LONGS, 2, 0)
        if ahead[i, P_EULERS] == 0 and ahead[i, P_SEQS] == 0:
            b = put(b, SEQS, 5, 0)
        elif reading == 0:
            if get(b, SEQS, 2) + ahead[i, P_SEQS] <= rules[R_SEQS]:
                b = put(b, SEQS, 2, 0)
            b = put(b, EUCOMB, 1, 0)
            if get(b, EULERS, 2) + ahead[i, P_EULERS] <= rules[R_EULERS]:
                b = put(b, EULERS, 2, 0)
    b = put(b, UNITS, 3, min(units, rules[R_UNITS]) if units + ahead[i, P_UNITS] > rules[R_UNITS] else 0)
    boxes = get(b, BOXES, 4)
    if get(b, AXEL, 1) == 0 and boxes + left < rules[R_BOXES]:
        b = put(b, AXEL, 1, 1)
    if get(b, AXEL, 1) == 1 and boxes + left <= rules[R_BOXES]:
        b = put(b, BOXES, 4, 0)
    elif boxes >= rules[R_BOXES]:
        b = put(put(b, BOXES, 4, rules[R_BOXES]), AXEL, 1, 1)
    b = put(b, FALLS, 3, t.falls_alike[i, get(b, FALLS, 3)])
    if ahead[i, P_FALL_SEES] == 0:
        b = put(b, LASTFALL, 1, 0)
    if rules[R_CHANGES] >= 0:
        b = put(b, CHANGES, 4, max(get(b, CHANGES, 4), max(0, rules[R_CHANGES] - left)))
    return b


@njit(cache=True)
def relax(level: int, a: int, b: int, t: Any) -> tuple[int, int]:
    """Level LOOSE forgets doubles, solo or unit, and falls; LOOSEST every jump."""
    b = put(b, FALLS, 3, 0)
    if level == LOOSEST:
        return 0, b & ((1 << FAMILY) - 1)
    solo = a & ~(a >> 1) & t.masks[0]
    a = (a & ~solo) | (solo << 1)
    return a & (t.masks[1] | (t.masks[1] << 1)), b


@njit(cache=True)
def forget(level: int, i: int, a: int, b: int, t: Any) -> tuple[int, int]:
    """The same future from pass `i` on, with everything erased that no later pass can use."""
    a, b = forget_jumps(i, a, b, t)
    b = forget_counters(i, b, t)
    if level > EXACT:
        a, b = relax(level, a, b, t)
    return a, b


@njit(cache=True)
def place_late(i: int, c: int, amount: int, late: bool, t: Any) -> tuple[int, int]:
    """Late bonus before pass `i`: (paid now, still pending). `late`: the pass before used up a place."""
    last = t.rules[R_LAST]
    if late:
        c = ((c << 10) | amount) & ((1 << (10 * last)) - 1)
    paid = 0
    if c:
        for k in range(last):
            if k + t.ahead[i, P_LATE_MOST] < last:
                paid += get(c, 10 * k, 10)
                c = put(c, 10 * k, 10, 0)
            elif k + t.ahead[i, P_LATE_LEAST] >= last:
                c = put(c, 10 * k, 10, 0)
    return paid, c


@njit(cache=True)
def execute(group: int, within: int, b: int) -> int:
    """Note that one more jump of a class holds a place of its repeat quota."""
    b = put(b, QUOTA + 4 * group, 2, min(get(b, QUOTA + 4 * group, 2) + 1, 3))
    if within:
        b = put(b, QUOTA + 4 * group + 2, 2, min(get(b, QUOTA + 4 * group + 2, 2) + 1, 3))
    return b


@njit(cache=True)
def rule_jump(starred: bool, unit: bool, jump: Any, a: int, b: int, t: Any) -> tuple[bool, bool, int, int]:
    """Repetition of one jump: (starred, kept in part, a, b)."""
    slot, family, group, within = jump[J_SLOT], jump[J_FAMILY], jump[J_CLASS], jump[J_WITHIN]
    shut = False
    if family >= 0:
        count = get(b, FAMILY + 2 * family, 2)
        shut = count >= t.rules[R_FAMILY]
        b = put(b, FAMILY + 2 * family, 2, min(count + 1, 3))
    if slot < 0:
        return starred or shut, False, a, b
    part = False
    status = get(a, 2 * slot, 2)
    if starred:
        if status == 1 or status == 2:
            b = execute(group, within, b)
    elif shut or status == 3:
        starred = True
    elif status > 0:
        full = get(b, QUOTA + 4 * group, 2) >= t.classes[group, C_MOST]
        full_within = get(b, QUOTA + 4 * group + 2, 2) >= t.classes[group, C_MOST_WITHIN]
        if full or (within and full_within):
            starred = True
        else:
            b = execute(group, within, b)
            part = t.classes[group, C_SOLO] == 1 and status == 1 and not unit
    now = 3 if status > 0 else 2 if unit else 1
    return starred, part, put(a, 2 * slot, 2, now), b


@njit(cache=True)
def rule_element(o: int, a: int, b: int, t: Any) -> tuple[int, int, bool, int, int]:
    """One element under all rules: (sum of values, reference value, kept in part, a, b)."""
    rules, out = t.rules, t.outcomes[o]
    boxes = get(b, BOXES, 4)
    if boxes >= rules[R_BOXES]:
        return 0, 0, False, a, b
    unit, seq, reading = out[O_UNIT] == 1, out[O_SEQ] == 1, rules[R_READING]
    units, longs, seqs = get(b, UNITS, 3), get(b, LONGS, 2), get(b, SEQS, 2)
    eulers, eucomb = get(b, EULERS, 2), get(b, EUCOMB, 1)
    surplus = unit and units >= rules[R_UNITS]
    if seq and not surplus:
        surplus = seqs >= rules[R_SEQS] or (reading == 1 and eucomb > 0) or (reading == 2 and eulers > 0)
    longest = rules[R_MOST] if longs < rules[R_LONGS] else rules[R_USUAL]
    no_euler = eulers + out[O_EULERS] > rules[R_EULERS]
    no_euler = no_euler or (reading > 0 and seqs > 0 and not seq) or (reading == 2 and (seqs > 0 or seq))
    no_axel = rules[R_AXEL] == 1 and boxes + 1 == rules[R_BOXES] and get(b, AXEL, 1) + out[O_AXEL] == 0
    part, base, reference = surplus, 0, 0
    for n in range(out[O_JUMPS]):
        jump = t.jumps[o, n]
        starred = jump[J_DEAD] == 1
        if surplus:
            starred = starred or n > 0
        elif unit:
            starred = starred or jump[J_PLACE] > longest
            starred = starred or (out[O_EULERS] > 0 and no_euler and n >= out[O_FIRST_EULER])
        starred, less, a, b = rule_jump(starred, unit, jump, a, b, t)
        part = part or less
        if not starred and not no_axel:
            base += jump[J_VALUE]
            reference = max(reference, jump[J_VALUE])
    b = put(b, UNITS, 3, min(units + unit, 7))
    b = put(b, LONGS, 2, min(longs + (unit and out[O_LISTED] > rules[R_USUAL]), 3))
    b = put(b, SEQS, 2, min(seqs + seq, 3))
    b = put(b, EULERS, 2, min(eulers + out[O_EULERS], 3))
    b = put(b, EUCOMB, 1, 1 if eucomb or (out[O_EULERS] > 0 and unit and not seq) else 0)
    b = put(b, AXEL, 1, 1 if get(b, AXEL, 1) or out[O_AXEL] else 0)
    return base, reference, part, a, b


@njit(cache=True)
def step(level: int, i: int, o: int, a: int, b: int, c: int, t: Any) -> tuple[float, int, int, int]:
    """Outcome `o` at pass `i`: (hundredths gained, state before pass i + 1)."""
    gain = 0.0
    fall = t.outcomes[o, O_FALL]
    if fall:
        falls = get(b, FALLS, 3)
        gain -= t.deductions[falls]
        b = put(b, FALLS, 3, min(falls + 1, t.rules[R_FALLS] - 1))
    b = put(b, LASTFALL, 1, fall)
    late, amount = False, 0
    if t.outcomes[o, O_BOX]:
        base, reference, part, a, b = rule_element(o, a, b, t)
        b = put(b, BOXES, 4, min(get(b, BOXES, 4) + 1, 15))
        percent = t.rules[R_REPEAT] if part else 100
        plain = half_up(base * percent, 100)
        gain += plain + t.grades[o] * reference * t.rules[R_GOE] / 100.0
        late = t.ahead[i, P_LATE] == 1
        if late:
            amount = half_up(base * percent * t.rules[R_LATE], 10000) - plain
    if level > EXACT:
        if late and t.ahead[i + 1, P_LATE_LEAST] < t.rules[R_LAST]:
            gain += amount
    else:
        paid, c = place_late(i + 1, c, amount, late, t)
        gain += paid
    a, b = forget(level, i + 1, a, b, t)
    return gain, a, b, c


@njit(cache=True)
def find(m: Any, i: int, a: int, b: int, c: int) -> int:
    """Place of a state in a memo, or the empty place where it belongs."""
    size = m.keys.shape[0] - 1
    h = a * 0x9E3779B97F4A7C1 + b * 0xC2B2AE3D27D4EB + c * 0x165667B19E3779 + i * 0x27D4EB2F165667
    h ^= h >> 29
    h *= 0xBF58476D1CE4E5B
    at = (h ^ (h >> 32)) & size
    while m.keys[at, 0] != 0:
        if m.keys[at, 1] == a and m.keys[at, 2] == b and m.keys[at, 3] == c and m.keys[at, 0] == i + 1:
            break
        at = (at + 1) & size
    return int(at)


@njit(cache=True)
def store(m: Any, i: int, a: int, b: int, c: int, value: float) -> int:
    """Note a solved state; its place."""
    at = find(m, i, a, b, c)
    m.keys[at, 0], m.keys[at, 1], m.keys[at, 2], m.keys[at, 3] = i + 1, a, b, c
    m.value[at] = value
    m.count[0] += 1
    if m.count[0] * 10 > m.keys.shape[0] * 7:
        m.count[1] = 1
    return int(at)


@njit(cache=True)
def pending(c: int, t: Any) -> int:
    total = 0
    for k in range(t.rules[R_LAST]):
        total += get(c, 10 * k, 10)
    return total


@njit(cache=True)
def is_open(e: int, b: int, t: Any) -> bool:
    """May option `e` still be tried under the limit on changes?"""
    if t.rules[R_CHANGES] < 0 or t.option_change[e] == 0:
        return True
    return get(b, CHANGES, 4) < t.rules[R_CHANGES]


# Columns of the stack of `solve`: whole numbers and points. Phases: what a frame waits for.
(S_PHASE, S_LEVEL, S_PASS, S_A, S_B, S_C, S_K, S_E, S_CHANGED, S_OUT, S_ROW, S_PARENT) = range(12)
V_BEST, V_TOTAL, V_GAIN = range(3)
ENTER, BOUNDED, CHOOSE, TRY, BACK = range(5)
DEEPEST = 64


@njit(cache=True)
def enter(frame: Any, level: int, i: int, a: int, b: int, c: int) -> None:
    frame[S_PHASE], frame[S_LEVEL], frame[S_PASS] = ENTER, level, i
    frame[S_A], frame[S_B], frame[S_C] = a, b, c
    frame[S_K], frame[S_ROW], frame[S_PARENT] = 0, -1, -1


@njit(cache=True)
def open_frame(frame: Any, values: Any, t: Any, memos: Any) -> None:
    """Take a row for the bounds of a looser state, and the parent's order if it has one."""
    level, i, b = frame[S_LEVEL], frame[S_PASS], frame[S_B]
    m = memos[level]
    if level > EXACT:
        frame[S_ROW] = m.count[2]
        m.count[2] += 1
        if m.count[2] >= m.bounds.shape[0]:
            m.count[1] = 1
            frame[S_ROW] = 0
    if level < LOOSEST and t.rules[R_BOUNDED]:
        la, lb = relax(level + 1, frame[S_A], b, t)
        looser = memos[level + 1]
        frame[S_PARENT] = looser.row[find(looser, i, la, lb, 0)]
    values[V_BEST] = -1e18
    frame[S_PHASE] = CHOOSE


@njit(cache=True)
def choose(frame: Any, values: Any, t: Any, memos: Any) -> bool:
    """Take the next option worth trying; False when none is left."""
    level, i, row, parent = frame[S_LEVEL], frame[S_PASS], frame[S_ROW], frame[S_PARENT]
    first, count = t.option_from[i], t.option_to[i] - t.option_from[i]
    while frame[S_K] < count:
        place = frame[S_K]
        frame[S_K] += 1
        if parent >= 0:
            looser = memos[level + 1]
            place = looser.order[parent, place]
            bound = looser.bounds[parent, place] + pending(frame[S_C], t)
            if row >= 0:
                memos[level].bounds[row, place] = bound
            if bound <= values[V_BEST]:
                if row < 0:
                    return False
                continue
        e = first + place
        if not is_open(e, frame[S_B], t):
            if row >= 0:
                memos[level].bounds[row, place] = -1e18
            continue
        begin(frame, values, e, t)
        return True
    return False


@njit(cache=True)
def begin(frame: Any, values: Any, e: int, t: Any) -> None:
    """Start trying option `e`."""
    b = frame[S_B]
    frame[S_E], frame[S_CHANGED] = e, b
    if t.rules[R_CHANGES] >= 0 and t.option_change[e]:
        frame[S_CHANGED] = put(b, CHANGES, 4, get(b, CHANGES, 4) + 1)
    frame[S_OUT] = t.outcome_from[e, get(b, LASTFALL, 1)]
    values[V_TOTAL] = 0.0
    frame[S_PHASE] = TRY


@njit(cache=True)
def close_frame(frame: Any, best: float, t: Any, memos: Any) -> None:
    """Note the solved state and the order of its options."""
    level, i = frame[S_LEVEL], frame[S_PASS]
    m, row = memos[level], frame[S_ROW]
    at = store(m, i, frame[S_A], frame[S_B], frame[S_C], best)
    if row >= 0:
        m.row[at] = row
        count = t.option_to[i] - t.option_from[i]
        m.order[row, :count] = np.argsort(-m.bounds[row, :count])


@njit(cache=True)
def solve(level: int, i: int, a: int, b: int, c: int, only: int, t: Any, memos: Any) -> float:
    """The optimum from a state on, in hundredths; with `only` >= 0, of trying that option now.

    A depth-first walk with its own stack (compiled recursion cannot be kept on disk). Above LOOSEST the
    options are taken by falling bound of the looser level; the rest is left out as soon as a bound does not
    exceed the best value found, which is exact, since no bound is too low. A memo that overflows raises its
    flag `count[1]`; then the value means nothing and the caller retries with more room.
    """
    frames = np.zeros((DEEPEST, 12), dtype=np.int64)
    points = np.zeros((DEEPEST, 3))
    top, result = 0, 0.0
    enter(frames[0], level, i, a, b, c)
    if only >= 0:
        begin(frames[0], points[0], only, t)
    while top >= 0:
        frame, values = frames[top], points[top]
        phase = frame[S_PHASE]
        m = memos[frame[S_LEVEL]]
        if phase == ENTER:
            if frame[S_PASS] == t.rules[R_PASSES]:
                result = 0.0
                top -= 1
                continue
            at = find(m, frame[S_PASS], frame[S_A], frame[S_B], frame[S_C])
            if m.keys[at, 0] != 0:
                result = m.value[at]
                top -= 1
                continue
            frame[S_PHASE] = BOUNDED
            if frame[S_LEVEL] < LOOSEST and t.rules[R_BOUNDED]:
                la, lb = relax(frame[S_LEVEL] + 1, frame[S_A], frame[S_B], t)
                top += 1
                enter(frames[top], frame[S_LEVEL] + 1, frame[S_PASS], la, lb, 0)
        elif phase == BOUNDED:
            open_frame(frame, values, t, memos)
        elif phase == CHOOSE:
            if not choose(frame, values, t, memos):
                result = values[V_BEST]
                close_frame(frame, result, t, memos)
                top -= 1
                if memos[0].count[1] or memos[1].count[1] or memos[2].count[1]:
                    return 0.0
        elif phase == TRY:
            if frame[S_OUT] == t.outcome_to[frame[S_E], get(frame[S_B], LASTFALL, 1)]:
                total = values[V_TOTAL]
                if only >= 0 and top == 0:
                    return total
                if frame[S_ROW] >= 0:
                    m.bounds[frame[S_ROW], frame[S_E] - t.option_from[frame[S_PASS]]] = total
                values[V_BEST] = max(values[V_BEST], total)
                frame[S_PHASE] = CHOOSE
            else:
                gain, a2, b2, c2 = step(
                    frame[S_LEVEL], frame[S_PASS], frame[S_OUT], frame[S_A], frame[S_CHANGED], frame[S_C], t
                )
                values[V_GAIN] = gain
                frame[S_PHASE] = BACK
                top += 1
                enter(frames[top], frame[S_LEVEL], frame[S_PASS] + 1, a2, b2, c2)
        else:
            values[V_TOTAL] += t.chances[frame[S_OUT]] * (values[V_GAIN] + result)
            frame[S_OUT] += 1
            frame[S_PHASE] = TRY
    return result


@njit(cache=True)
def option_values(i: int, a: int, b: int, c: int, floor: float, t: Any, memos: Any) -> Any:
    """Exact value of every option at a state; -1e18 where it is barred or cannot reach `floor`."""
    first, last = t.option_from[i], t.option_to[i]
    values = np.full(last - first, -1e18)
    la, lb = relax(LOOSE, a, b, t)
    solve(LOOSE, i, la, lb, 0, -1, t, memos)
    m = memos[LOOSE]
    row = m.row[find(m, i, la, lb, 0)]
    for e in range(first, last):
        if is_open(e, b, t) and m.bounds[row, e - first] + pending(c, t) >= floor:
            values[e - first] = solve(EXACT, i, a, b, c, e, t, memos)
    return values


@njit(cache=True)
def swap_values(a: int, b: int, c: int, t: Any, plan: Any, memos: Any, spread: Any) -> Any:
    """Value of each single departure from a fixed plan: row = pass, column = option within the pass.

    `plan` are the tables with the planned option alone at every pass, `memos` belong to them; `spread` is
    an empty memo for the chance of each state under the plan.
    """
    passes = t.rules[R_PASSES]
    width = 0
    for i in range(passes):
        width = max(width, t.option_to[i] - t.option_from[i])
    values = np.full((passes, width), np.nan)
    states = np.zeros((spread.keys.shape[0], 3), dtype=np.int64)
    store(spread, 0, a, b, c, 1.0)
    states[0, 0], states[0, 1], states[0, 2] = a, b, c
    start, end, gained = 0, 1, 0.0
    for i in range(passes):
        stop, so_far = end, gained
        for e in range(t.option_from[i], t.option_to[i]):
            total = so_far
            for s in range(start, stop):
                a1, b1, c1 = states[s, 0], states[s, 1], states[s, 2]
                chance, fell = spread.value[find(spread, i, a1, b1, c1)], get(b1, LASTFALL, 1)
                for o in range(t.outcome_from[e, fell], t.outcome_to[e, fell]):
                    gain, a2, b2, c2 = step(EXACT, i, o, a1, b1, c1, t)
                    weight = chance * t.chances[o]
                    total += weight * (gain + solve(EXACT, i + 1, a2, b2, c2, -1, plan, memos))
                    if e == plan.option_from[i]:
                        gained += weight * gain
                        at = find(spread, i + 1, a2, b2, c2)
                        if spread.keys[at, 0] == 0:
                            at = store(spread, i + 1, a2, b2, c2, 0.0)
                            states[end, 0], states[end, 1], states[end, 2] = a2, b2, c2
                            end += 1
                        spread.value[at] += weight
            values[i, e - t.option_from[i]] = total
        start = stop
        if memos[0].count[1] or spread.count[1]:
            break
    return values
