"""One outcome at one pass: rulings as points, the next state, and forgetting."""

from __future__ import annotations

from typing import Any

from numba import njit

from app.planner.kernels.layout import *  # noqa: F403  (the layout is the vocabulary of this module)


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
def close_families(i: int, a: int, b: int, rules: Any, ahead: Any) -> tuple[int, int]:
    """Take-offs at their cap close their jumps; caps out of reach are forgotten."""
    cap = rules[R_FAMILY]
    for f in range(FAMILIES):
        count, coming = get(b, FAMILY + 2 * f, 2), ahead[i, P_FAMILIES + f]
        if coming > 0 and count >= cap:
            a |= rules[R_FAMILIES + f] | (rules[R_FAMILIES + f] << 1)
        if coming == 0 or count + coming <= cap:
            b = put(b, FAMILY + 2 * f, 2, 0)
    return a, b


@njit(cache=True)
def forget_jumps(i: int, a: int, b: int, rules: Any, ahead: Any, classes: Any) -> tuple[int, int]:
    """Close jumps that can never count again, forget those no later pass tries."""
    if rules[R_FAMILY] > 0:
        a, b = close_families(i, a, b, rules, ahead)
    low, one, two = rules[R_LOW], ahead[i, P_ONE], ahead[i, P_TWO]
    for k in range(rules[R_CLASSES]):
        mine, most = classes[k, C_ALL], classes[k, C_MOST]
        if most != NO_QUOTA:
            once = (a ^ (a >> 1)) & low
            shut = 0
            if get(b, QUOTA + 4 * k, 2) >= most:
                shut = once & mine
            elif get(b, QUOTA + 4 * k + 2, 2) >= classes[k, C_MOST_WITHIN]:
                shut = once & classes[k, C_WITHIN]
            a |= shut | (shut << 1)
        if classes[k, C_SOLO] == 0:
            in_unit = (a >> 1) & ~a & mine
            a = (a & ~(in_unit << 1)) | in_unit
            if most == NO_QUOTA:
                a &= ~(a & ~(a >> 1) & mine & ~two)
    a &= one | (one << 1)
    for k in range(rules[R_CLASSES]):
        mine = classes[k, C_ALL]
        if classes[k, C_MOST] == NO_QUOTA or ((a ^ (a >> 1)) & mine) | (~(a | (a >> 1)) & mine & two) == 0:
            b = put(b, QUOTA + 4 * k, 4, 0)
    return a, b


@njit(cache=True)
def forget_counters(i: int, b: int, rules: Any, ahead: Any) -> int:
    """Forget what the passes from `i` on cannot run into."""
    units, left, reading = get(b, UNITS, 3), ahead[i, P_LEFT], rules[R_READING]
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
    b = put(b, FALLS, 3, ahead[i, P_ALIKE + get(b, FALLS, 3)])
    if ahead[i, P_FALL_SEES] == 0:
        b = put(b, LASTFALL, 1, 0)
    if rules[R_CHANGES] >= 0:
        b = put(b, CHANGES, 4, max(get(b, CHANGES, 4), max(0, rules[R_CHANGES] - left)))
    return b


@njit(cache=True)
def relax(level: int, a: int, b: int, rules: Any, levels: Any) -> tuple[int, int]:
    """Forget the rules that a looser level does without."""
    drop, kept = levels[level, L_DROP], levels[level, L_KEPT]
    if drop & DROP_FALLS:
        b = put(b, FALLS, 3, 0)
    if drop & DROP_SOLO:
        solo = a & ~(a >> 1) & rules[R_LOW]
        a = (a & ~solo) | (solo << 1)
    if drop & DROP_COUNTERS:
        b &= (1 << FAMILY) - 1
    return a & (kept | (kept << 1)), b


@njit(cache=True)
def forget(level: int, i: int, a: int, b: int, t: Any) -> tuple[int, int]:
    """The same future from pass `i` on, with everything erased that no later pass can use."""
    a, b = forget_jumps(i, a, b, t.rules, t.ahead, t.classes)
    b = forget_counters(i, b, t.rules, t.ahead)
    if level > EXACT:
        a, b = relax(level, a, b, t.rules, t.levels)
    return a, b


@njit(cache=True)
def place_late(i: int, c: int, amount: int, late: bool, rules: Any, ahead: Any) -> tuple[int, int]:
    """Late bonus before pass `i`: (paid now, still pending). `late`: the pass before used up a place."""
    last = rules[R_LAST]
    if late:
        c = ((c << LATE_BITS) | amount) & ((1 << (LATE_BITS * last)) - 1)
    paid = 0
    if c:
        for k in range(last):
            if k + ahead[i, P_LATE_MOST] < last:
                paid += get(c, LATE_BITS * k, LATE_BITS)
                c = put(c, LATE_BITS * k, LATE_BITS, 0)
            elif k + ahead[i, P_LATE_LEAST] >= last:
                c = put(c, LATE_BITS * k, LATE_BITS, 0)
    return paid, c


@njit(cache=True)
def execute(group: int, within: int, b: int) -> int:
    """Note that one more jump of a class holds a place of its repeat quota."""
    b = put(b, QUOTA + 4 * group, 2, min(get(b, QUOTA + 4 * group, 2) + 1, 3))
    if within:
        b = put(b, QUOTA + 4 * group + 2, 2, min(get(b, QUOTA + 4 * group + 2, 2) + 1, 3))
    return b


@njit(cache=True)
def rule_jump(
    starred: bool, unit: bool, o: int, at: int, a: int, b: int, outcomes: Any, rules: Any, classes: Any
) -> tuple[bool, bool, int, int]:
    """Repetition of the jump at column `at`: (starred, kept in part, a, b)."""
    shut = False
    if rules[R_FAMILY] > 0 and outcomes[o, at + J_FAMILY] >= 0:
        place = FAMILY + 2 * outcomes[o, at + J_FAMILY]
        count = get(b, place, 2)
        shut = count >= rules[R_FAMILY]
        b = put(b, place, 2, min(count + 1, 3))
    slot = 2 * outcomes[o, at + J_SLOT]
    if slot < 0:
        return starred or shut, False, a, b
    status = get(a, slot, 2)
    if status == 0:
        return starred or shut, False, put(a, slot, 2, 2 if unit else 1), b
    part, group, within = False, outcomes[o, at + J_CLASS], outcomes[o, at + J_WITHIN]
    if starred:
        if status < 3 and not shut and may_repeat(group, within, b, classes):
            b = execute(group, within, b)
    elif shut or status == 3 or not may_repeat(group, within, b, classes):
        starred = True
    else:
        b = execute(group, within, b)
        part = classes[group, C_SOLO] == 1 and status == 1 and not unit
    return starred, part, put(a, slot, 2, 3), b


@njit(cache=True)
def may_repeat(group: int, within: int, b: int, classes: Any) -> bool:
    """Is a place of the repeat quota still free?"""
    if get(b, QUOTA + 4 * group, 2) >= classes[group, C_MOST]:
        return False
    return within == 0 or get(b, QUOTA + 4 * group + 2, 2) < classes[group, C_MOST_WITHIN]


@njit(cache=True)
def no_euler(o: int, b: int, outcomes: Any, rules: Any) -> bool:
    """Is the Euler of this unit one too many, or barred by a sequence?"""
    coming = outcomes[o, O_EULERS]
    if coming == 0:
        return False
    seq, seqs, reading = outcomes[o, O_SEQ], get(b, SEQS, 2), rules[R_READING]
    if get(b, EULERS, 2) + coming > rules[R_EULERS]:
        return True
    return (reading > 0 and seqs > 0 and seq == 0) or (reading == 2 and (seqs > 0 or seq == 1))


@njit(cache=True)
def is_surplus(o: int, b: int, outcomes: Any, rules: Any) -> bool:
    """Is this unit one too many, or a sequence too many?"""
    if outcomes[o, O_UNIT] == 0:
        return False
    if get(b, UNITS, 3) >= rules[R_UNITS]:
        return True
    if outcomes[o, O_SEQ] == 0:
        return False
    if get(b, SEQS, 2) >= rules[R_SEQS]:
        return True
    reading = rules[R_READING]
    return (reading == 1 and get(b, EUCOMB, 1) > 0) or (reading == 2 and get(b, EULERS, 2) > 0)


@njit(cache=True)
def rule_element(
    o: int, a: int, b: int, outcomes: Any, rules: Any, classes: Any
) -> tuple[int, int, bool, int, int]:
    """One element under all rules: (sum of values, reference value, kept in part, a, b)."""
    boxes = get(b, BOXES, 4)
    if boxes >= rules[R_BOXES]:
        return 0, 0, False, a, b
    unit = outcomes[o, O_UNIT] == 1
    surplus = is_surplus(o, b, outcomes, rules)
    longest = rules[R_MOST] if get(b, LONGS, 2) < rules[R_LONGS] else rules[R_USUAL]
    euler_from = outcomes[o, O_FIRST_EULER] if no_euler(o, b, outcomes, rules) else MOST_JUMPS
    no_axel = (
        rules[R_AXEL] == 1 and boxes + 1 == rules[R_BOXES] and get(b, AXEL, 1) + outcomes[o, O_AXEL] == 0
    )
    part, base, reference = surplus, 0, 0
    for n in range(outcomes[o, O_JUMPS]):
        at = O_FIRST + O_WIDTH * n
        starred = outcomes[o, at + J_DEAD] == 1
        if surplus:
            starred = starred or n > 0
        elif unit:
            starred = starred or outcomes[o, at + J_PLACE] > longest or n >= euler_from
        starred, less, a, b = rule_jump(starred, unit, o, at, a, b, outcomes, rules, classes)
        part = part or less
        if not starred and not no_axel:
            base += outcomes[o, at + J_VALUE]
            reference = max(reference, outcomes[o, at + J_VALUE])
    if unit:
        b = count_unit(o, b, outcomes, rules)
    if outcomes[o, O_AXEL]:
        b |= 1 << AXEL
    return base, reference, part, a, b


@njit(cache=True)
def count_unit(o: int, b: int, outcomes: Any, rules: Any) -> int:
    """Counters behind a combination or sequence."""
    seq, eulers = outcomes[o, O_SEQ], outcomes[o, O_EULERS]
    b = put(b, UNITS, 3, min(get(b, UNITS, 3) + 1, 7))
    if outcomes[o, O_LISTED] > rules[R_USUAL]:
        b = put(b, LONGS, 2, min(get(b, LONGS, 2) + 1, 3))
    if seq:
        b = put(b, SEQS, 2, min(get(b, SEQS, 2) + 1, 3))
    if eulers:
        b = put(b, EULERS, 2, min(get(b, EULERS, 2) + eulers, 3))
        if seq == 0:
            b |= 1 << EUCOMB
    return b


@njit(cache=True)
def step(level: int, i: int, o: int, a: int, b: int, c: int, t: Any) -> tuple[float, int, int, int]:
    """Outcome `o` at pass `i`: (hundredths gained, state before pass i + 1)."""
    rules, outcomes, ahead = t.rules, t.outcomes, t.ahead
    gain = 0.0
    b &= ~(1 << LASTFALL)
    if outcomes[o, O_FALL]:
        falls = get(b, FALLS, 3)
        gain -= rules[R_EACH + falls]
        b = put(b, FALLS, 3, min(falls + 1, rules[R_FALLS] - 1)) | (1 << LASTFALL)
    late, amount = False, 0
    if outcomes[o, O_BOX]:
        base, reference, part, a, b = rule_element(o, a, b, outcomes, rules, t.classes)
        b = put(b, BOXES, 4, min(get(b, BOXES, 4) + 1, 15))
        percent = rules[R_REPEAT] if part else 100
        plain = half_up(base * percent, 100)
        gain += plain + t.weights[o, W_GRADE] * reference * rules[R_GOE] / 100.0
        late = ahead[i, P_LATE] == 1
        if late:
            amount = half_up(base * percent * rules[R_LATE], 10000) - plain
    if level > EXACT:
        if late and ahead[i + 1, P_LATE_LEAST] < rules[R_LAST]:
            gain += amount
    else:
        paid, c = place_late(i + 1, c, amount, late, rules, ahead)
        gain += paid
    a, b = forget(level, i + 1, a, b, t)
    return gain, a, b, c
