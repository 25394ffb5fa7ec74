"""Leaving a fixed plan once, at one state: the pieces from which `app.planner.single_changes` adds up the rest."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

from app.planner.kernels.layout import *  # noqa: F403  (the layout is the vocabulary of this module)
from app.planner.kernels.rules import get, step
from app.planner.kernels.search import followed


@njit(cache=True)
def leave_now(i: int, a: int, b: int, c: int, t: Any, plan: Any, m: Any) -> Any:
    """Value of every option of pass `i`, the plan afterwards; and what the planned one may lead to.

    `plan` are the tables with the planned option alone at every pass, `m` is a memo for them. Gives values by
    option; then by outcome of the planned option: the words of the state behind it, (chance, hundredths gained).
    """
    first, fell = t.spans[i, 0], 2 * get(b, LASTFALL, 1)
    values = np.zeros(t.spans[i, 1] - first)
    kept = plan.spans[i, 0]
    count = t.options[kept, X_TO + fell] - t.options[kept, X_FROM + fell]
    behind, weights = np.zeros((count, 3), dtype=np.int64), np.zeros((count, 2))
    for x in range(first, t.spans[i, 1]):
        start = t.options[x, X_FROM + fell]
        for o in range(start, t.options[x, X_TO + fell]):
            gain, a2, b2, c2 = step(EXACT, i, o, a, b, c, t)
            chance = t.weights[o, W_CHANCE]
            values[x - first] += chance * (gain + followed(i + 1, a2, b2, c2, plan, m))
            if x == kept:
                behind[o - start, 0], behind[o - start, 1], behind[o - start, 2] = a2, b2, c2
                weights[o - start, 0], weights[o - start, 1] = chance, gain
    return values, behind, weights
