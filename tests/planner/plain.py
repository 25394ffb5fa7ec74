"""Runs `plain_loops` as plain Python and prints its answers as JSON: `python -m tests.planner.plain`."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import numba
import numpy as np

WHOLE = (int, np.int8, np.int16, np.int32)
Loop = Callable[..., Any]


def as_it_is(*_: Any, **options: Any) -> Callable[[Loop], Loop]:
    """Instead of numba's `njit`: the function itself, its whole numbers those of the machine, as in compiled code."""

    def wrapped(loop: Loop) -> Loop:
        def called(*given: Any) -> Any:
            return loop(*(np.int64(one) if type(one) in WHOLE else one for one in given))

        return called

    return wrapped


if __name__ == "__main__":
    numba.njit = as_it_is
    np.seterr(over="ignore")  # in a hash whole numbers run over
    from tests.planner.plain_loops import answers

    print(json.dumps(answers()))
