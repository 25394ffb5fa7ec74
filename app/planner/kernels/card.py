"""One pass of the card's table of states: every outcome of one option from every state, states behind it merged."""

from __future__ import annotations

from typing import Any

from numba import njit

from app.planner.kernels.layout import *  # noqa: F403  (the layout is the vocabulary of this module)
from app.planner.kernels.rules import get, step


@njit(cache=True)
def place_in(table: Any, a: int, b: int, c: int) -> int:
    """Place of a state in a table of a layer (`table[:, 0]` is its number + 1), or the empty place for it."""
    size = table.shape[0] - 1
    h = a * 0x9E3779B97F4A7C1 + b * 0xC2B2AE3D27D4EB + c * 0x165667B19E3779
    h ^= h >> 29
    h *= 0xBF58476D1CE4E5B
    at = (h ^ (h >> 32)) & size
    while table[at, 0] != 0:
        if table[at, 1] == a and table[at, 2] == b and table[at, 3] == c:
            break
        at = (at + 1) & size
    return at


@njit(cache=True)
def number_of(table: Any, states: Any, count: Any, a: int, b: int, c: int) -> int:
    """Number of a state in its layer, added when new. `count[1]` is raised when there is no room."""
    at = place_in(table, a, b, c)
    if table[at, 0] == 0:
        number = count[0]
        if number == states.shape[0]:
            count[1] = 1
            return 0
        table[at, 0], table[at, 1], table[at, 2], table[at, 3] = number + 1, a, b, c
        states[number, 0], states[number, 1], states[number, 2] = a, b, c
        count[0] += 1
    return table[at, 0] - 1


@njit(cache=True)
def expand(
    i: int, x: int, here: Any, first: int, last: int, t: Any,
    behind: Any, gains: Any, chances: Any, table: Any, states: Any, count: Any,
) -> None:  # fmt: skip
    """Try option `x` of pass `i` from the states `first` to `last` of `here`.

    A column for each outcome, those after a fall behind the others; one that does not apply has chance 0.
    `behind`: numbers in the next layer, of which `table`, `states` and `count` are filled up.
    """
    usual, middle = t.options[x, X_FROM], t.options[x, X_TO]
    for n in range(first, last):
        a, b, c = here[n, 0], here[n, 1], here[n, 2]
        fell = 2 * get(b, LASTFALL, 1)
        start, stop = t.options[x, X_FROM + fell], t.options[x, X_TO + fell]
        shift = middle - usual if start > usual else 0
        for o in range(start, stop):
            gain, a2, b2, c2 = step(EXACT, i, o, a, b, c, t)
            w = o - start + shift
            gains[n - first, w], chances[n - first, w] = gain, t.weights[o, W_CHANCE]
            behind[n - first, w] = number_of(table, states, count, a2, b2, c2)
