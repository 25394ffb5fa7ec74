"""The planner with a stopwatch: `seconds` of an answer is what the caller waited for it.

The planner itself knows no clock; what it answers depends on the question alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from time import perf_counter
from typing import Any

from app.planner import plan
from app.planner.advice import Advice
from app.requests import AdviseRequest, DonePass


class Planner(plan.Planner):
    """A program asked again after every pass; see `app.planner.plan.Planner`."""

    def advise(
        self, done: Sequence[DonePass | Mapping[str, Any]] | None = None, next_pass: int = 0
    ) -> Advice:
        started = perf_counter()
        found = super().advise(done, next_pass)
        return replace(found, seconds=round(perf_counter() - started, 6))


def advise(request: AdviseRequest | Mapping[str, Any]) -> Advice:
    """Answer one `advise` request (contract in the design). Raises InputError naming the field."""
    started = perf_counter()
    found = plan.Planner(request).advise()
    return replace(found, seconds=round(perf_counter() - started, 6))
