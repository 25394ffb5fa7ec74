"""Planned beside executed beside called, pass by pass, also when passes were put in, dropped or changed places.

Two lists of passes are laid side by side at the least cost of edits, by dynamic programming over their beginnings:

    best(i, j) = least of   best(i-1, j) + 1                      pass i of the first list has no partner: dropped
                            best(i, j-1) + 1                      pass j of the second has none: put in
                            best(i-1, j-1) + unlike(i, j)         they are the same pass, more or less changed
                            best(i-2, j-2) + 1/2 + unlike(i, j-1) + unlike(i-1, j)    two neighbours changed places

`unlike` is 0 for the same jumps, small for the same first jump with other tails, more for the same take-off with
other turns, and 1.2 for another take-off, which is less than dropping one pass and putting in another: a box is a box.
Plan and log are laid side by side first (by what was tried), then log and sheet (by what came); a pass not logged goes
by its plan.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from app.domain.elements import JumpElement
from app.domain.notation import parse_jump_element
from app.domain.words import say
from app.live.events import PassLeftOut
from app.live.fold import LiveState, likeliest
from app.review.official import OfficialSheet
from app.rulebook.editions import Edition
from app.scoring.base_value import base_value
from app.scoring.late_bonus import credited

ALONE, PLACES = 1.0, 0.5
OTHER_TAKEOFF, OTHER_TURNS, A_TAIL = 1.2, 0.4, 0.2

Pair = tuple[int | None, int | None]


class Cause(StrEnum):
    """Why two columns differ, and so what work the difference means."""

    DECISION = "decision"
    CONSISTENCY = "consistency"
    CALL = "call"
    RULE = "rule"
    CREDIT = "credit"


CAUSE_NAMES: dict[Cause, str] = {
    Cause.DECISION: say("Decision"),
    Cause.CONSISTENCY: say("Consistency"),
    Cause.CALL: say("Call"),
    Cause.RULE: say("Rule"),
    Cause.CREDIT: say("Credit"),
}
CAUSE_WORDS: dict[Cause, str] = {
    Cause.DECISION: say("something else was tried than planned"),
    Cause.CONSISTENCY: say("it came out other than tried"),
    Cause.CALL: say("the panel saw it otherwise than the boards"),
    Cause.RULE: say("the rulebook took something from it"),
    Cause.CREDIT: say("by the log another half than the x on the sheet says"),
}


@dataclass(frozen=True, slots=True)
class Tried:
    """A pass of the log: what was tried and what came of it. `code` is None for a pass not attempted."""

    tried: str
    code: str | None
    fall: bool = False
    error: bool = False
    late: bool = False


@dataclass(frozen=True, slots=True)
class Called:
    """A jump row of the sheet: the panel's own marks, the code as printed with `*` and `+REP`, and its x."""

    code: str
    printed: str
    x: bool = False


@dataclass(frozen=True, slots=True)
class Beside:
    """One line of the three columns, by index into each list; `moved`: it changed places."""

    planned: int | None
    tried: int | None
    called: int | None
    moved: bool = False


def log_of(state: LiveState) -> list[Tried]:
    """The passes of a log as they are compared."""
    found = []
    for slot, entry, late in zip(state.slots, state.logged, state.late, strict=True):
        if isinstance(entry, PassLeftOut):
            place = min(max(slot.key, 1), len(state.plan.passes)) - 1
            found.append(Tried(state.plan.passes[place].code, None, late=late))
        else:
            one = likeliest(entry)
            found.append(Tried(entry.tried, one.code, one.fall, one.error, late))
    return found


def rows_of(official: OfficialSheet) -> list[Called]:
    """The jump rows of a sheet as they are compared."""
    return [Called(row.called, row.code, row.late) for row in official.jumps]


def unlike(one: str, other: str) -> float:
    """How unlike two passes are: 0 for the same jumps, whatever was called."""
    mine, theirs = _jumps(one), _jumps(other)
    if mine == theirs:
        return 0.0
    (takeoff, turns), (their_takeoff, their_turns) = mine[0], theirs[0]
    if takeoff != their_takeoff:
        return OTHER_TAKEOFF
    tails = sum(a != b for a, b in zip(mine[1:], theirs[1:], strict=False)) + abs(len(mine) - len(theirs))
    return (OTHER_TURNS if turns != their_turns else 0.0) + min(A_TAIL * tails, A_TAIL * 2)


def _jumps(code: str) -> list[tuple[str, int]]:
    element: JumpElement = parse_jump_element(code)
    return [(jump.takeoff, jump.revolutions or 0) for jump in element.jumps]


def side_by_side(first: Sequence[str], second: Sequence[str]) -> list[tuple[Pair, bool]]:
    """The pairs of least cost, in the order of `second`, each with whether it changed places."""
    best: list[list[float]] = [[j * ALONE for j in range(len(second) + 1)]]
    steps: list[list[str]] = [["put in"] * (len(second) + 1)]
    for i in range(1, len(first) + 1):
        best.append([i * ALONE])
        steps.append(["dropped"])
        for j in range(1, len(second) + 1):
            found = [
                (best[i - 1][j - 1] + unlike(first[i - 1], second[j - 1]), "same"),
                (best[i - 1][j] + ALONE, "dropped"),
                (best[i][j - 1] + ALONE, "put in"),
            ]
            if i > 1 and j > 1:
                crossed = unlike(first[i - 1], second[j - 2]) + unlike(first[i - 2], second[j - 1])
                found.append((best[i - 2][j - 2] + PLACES + crossed, "places"))
            cost, step = min(found, key=lambda one: one[0])
            best[i].append(cost)
            steps[i].append(step)
    return _traced(steps, len(first), len(second))


def _traced(steps: list[list[str]], i: int, j: int) -> list[tuple[Pair, bool]]:
    pairs: list[tuple[Pair, bool]] = []
    while i or j:
        step = "put in" if not i else "dropped" if not j else steps[i][j]
        if step == "same":
            pairs.append(((i - 1, j - 1), False))
            i, j = i - 1, j - 1
        elif step == "dropped":
            pairs.append(((i - 1, None), False))
            i -= 1
        elif step == "put in":
            pairs.append(((None, j - 1), False))
            j -= 1
        else:
            pairs += [((i - 2, j - 1), True), ((i - 1, j - 2), True)]
            i, j = i - 2, j - 2
    return pairs[::-1]


def three_columns(
    planned: Sequence[str], log: Sequence[Tried], called: Sequence[Called]
) -> tuple[Beside, ...]:
    """Plan, log and sheet side by side, in the order of the sheet."""
    to_log = side_by_side(planned, [one.tried for one in log])
    plan_of = {pair[1]: (pair[0], moved) for pair, moved in to_log if pair[1] is not None}
    # What the sheet is laid beside: the log in its order, and where nothing was logged, the plan.
    known = [(plan_of[n][0], n, one.code, plan_of[n][1]) for n, one in enumerate(log)]
    skated = [one for one in known if one[2] is not None]
    unlogged = [pair[0] for pair, _ in to_log if pair[1] is None and pair[0] is not None]
    middle = skated + [(place, None, planned[place], False) for place in unlogged if place >= len(log)]
    found: list[Beside] = []
    for (place, row), moved in side_by_side(
        [code or "" for _, _, code, _ in middle], [c.code for c in called]
    ):
        plan, tried, _, was_moved = middle[place] if place is not None else (None, None, None, False)
        found.append(Beside(plan, tried, row, moved or was_moved))
    out = [Beside(plan, n, None, moved) for plan, n, code, moved in known if code is None]
    out += [Beside(place, None, None) for place in unlogged if place < len(log)]
    for one in out:
        _insert(found, one)
    return tuple(found)


def _insert(found: list[Beside], one: Beside) -> None:
    """A pass that was not skated, put behind the pass planned before it."""
    before = [n for n, other in enumerate(found) if (other.planned or 0) < (one.planned or 0)]
    found.insert(before[-1] + 1 if before else 0, one)


def credit_apart(
    book: Edition, lines: Sequence[Beside], log: Sequence[Tried], called: Sequence[Called]
) -> frozenset[int]:
    """Indices of lines on which the sheet gives second-half credit otherwise than the log's halves would have it.

    A sheet alone cannot show this of the first jump with an x: only the log knows in which half the one before it
    started. Where nothing was logged, the sheet is taken as it is; nothing to multiply is no difference.
    """
    rows = sorted((one for one in lines if one.called is not None), key=_row)
    first = min((n for n, line in enumerate(rows) if called[_row(line)].x), default=len(rows))
    late = [n >= first if one.tried is None else log[one.tried].late for n, one in enumerate(rows)]
    due = credited(book, late)
    found = set()
    for line, is_due in zip(rows, due, strict=True):
        row = called[_row(line)]
        element = parse_jump_element(row.printed)
        if row.x != is_due and base_value(book, element, True) != base_value(book, element):
            found.add(lines.index(line))
    return frozenset(found)


def _row(line: Beside) -> int:
    return -1 if line.called is None else line.called


def causes(
    line: Beside,
    planned: Sequence[str],
    log: Sequence[Tried],
    called: Sequence[Called],
    *,
    credit: bool = False,
) -> tuple[Cause, ...]:
    """Why this line's columns differ, in order; empty when all three agree. `credit`: it is one of `credit_apart`."""
    found = []
    tried = None if line.tried is None else log[line.tried]
    row = None if line.called is None else called[line.called]
    plan = None if line.planned is None else planned[line.planned]
    if line.moved or (tried is not None and tried.code is not None and tried.tried != plan):
        found.append(Cause.DECISION)
    if tried is not None and (tried.fall or tried.code is None or unlike(tried.tried, tried.code)):
        found.append(Cause.CONSISTENCY)
    came = tried.code if tried is not None else plan if row is not None else None
    if (row is None) != (came is None) or (row is not None and came is not None and row.code != came):
        found.append(Cause.CALL)
    if row is not None and row.printed != row.code:
        found.append(Cause.RULE)
    if credit:
        found.append(Cause.CREDIT)
    return tuple(found)
