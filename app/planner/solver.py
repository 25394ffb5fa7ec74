"""What every solver offers, so that advice is built the same way on all of them.

A node is what a solver knows before a pass: hashable, opaque to others. Values are hundredths of a point
(or, for a chance, plain numbers) as floats of exact data.
"""

from __future__ import annotations

from typing import Protocol

Node = tuple[int, ...]


class Solver(Protocol):
    """An exact solver of one problem."""

    def start(self) -> tuple[float, Node]:
        """Points already certain, and the node before the first pass."""
        ...

    def value(self, place: int, node: Node) -> float:
        """The optimum from this node on."""
        ...

    def option_values(self, place: int, node: Node, floor: float = -1e18) -> list[float | None]:
        """Value of each option; None where barred or surely below `floor`."""
        ...

    def landed(self, place: int, node: Node, option: int) -> Node:
        """The node behind an option that becomes itself."""
        ...

    def plan_value(self, plan: list[int]) -> float:
        """Value of trying exactly these options, whatever happens, certain points included."""
        ...

    def swap_values(self, plan: list[int]) -> list[list[float]]:
        """Value of each single departure from `plan`, by pass and option."""
        ...

    def states(self) -> int:
        """Different states solved so far."""
        ...
