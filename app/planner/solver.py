"""What every solver offers, so that advice is built the same way on all of them.

A node is what a solver knows before a pass: hashable, opaque to others. Values are hundredths of a point,
floats of exact data, without the points already certain.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Protocol

from app.planner.problem import History

Node = Any


class Solver(Protocol):
    """An exact solver of one problem."""

    def start(self, histories: Sequence[History], changes: int, place: int) -> tuple[float, Node]:
        """Points already certain, and the node before pass `place`."""
        ...

    def value(self, place: int, node: Node) -> float:
        """The optimum from this node on."""
        ...

    def option_values(self, place: int, node: Node, floor: float = ...) -> list[float | None]:
        """Value of each option; None where barred or surely below `floor`."""
        ...

    def landed(self, place: int, node: Node, option: int) -> Node:
        """The node behind an option that becomes itself."""
        ...

    def plan_value(self, place: int, node: Node, plan: Sequence[int]) -> float:
        """Value of trying exactly these options from `place` on, whatever happens. `plan`: one for every pass."""
        ...

    def swap_values(self, place: int, node: Node, plan: Sequence[int]) -> list[list[float]]:
        """Value of each single departure from `plan`, by pass from `place` on and by option."""
        ...

    def states(self) -> int:
        """Different states solved so far."""
        ...
