"""A policy as small as it gets, in whole numbers and tables, ready for JSON.

A node is a row of numbers: pad, cents, losses, then one a part of what is said (numbers of tables), then one a tap
of its pad. A tap's number is 0 where the policy ends, 1 behind the last pass, else how far the node it leads to
lies behind this one, plus 1. Zeros at the end of a row are left out. `cents` and `losses` name rows of
tables with one entry a tap, so that equal rows are sent once.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from typing import Generic, TypeVar

from app.live.policy import FINISHED, Node, Policy, Said

T = TypeVar("T", bound=Hashable)


class Table(Generic[T]):
    """Values by number, each kept once."""

    def __init__(self) -> None:
        self._numbers: dict[T, int] = {}

    def number(self, value: T) -> int:
        """The number of a value; a new one goes to the end."""
        return self._numbers.setdefault(value, len(self._numbers))

    @property
    def values(self) -> list[T]:
        """All values, by number."""
        return list(self._numbers)


PadKey = tuple[int, str | None]
"""Pass (from 0) and the element advised for it."""


@dataclass
class Packed:
    """Rows of numbers, and the tables they speak of. `parts`: one table for each part of what is said."""

    parts: list[Table[Hashable]]
    rows: list[list[int]] = field(default_factory=list)
    pads: Table[PadKey] = field(default_factory=Table)
    cents: Table[tuple[int, ...]] = field(default_factory=Table)
    losses: Table[tuple[tuple[str, ...], ...]] = field(default_factory=Table)


def pack(policy: Policy, parts_of: Callable[[Said], tuple[Hashable, ...]]) -> Packed:
    """The policy as rows. `parts_of` splits what is said into parts that repeat, each time the same number."""
    width = len(parts_of(policy.nodes[0].said))
    packed = Packed([Table() for _ in range(width)])
    for number, node in enumerate(policy.nodes):
        packed.rows.append(_row(number, node, packed, parts_of(node.said)))
    return packed


def _row(number: int, node: Node, packed: Packed, parts: tuple[Hashable, ...]) -> list[int]:
    edges = node.edges
    head = [
        packed.pads.number((node.place, node.said.swap)),
        packed.cents.number(tuple(edge.cents if edge else 0 for edge in edges)),
        packed.losses.number(tuple(edge.lost if edge else () for edge in edges)),
    ]
    said = [table.number(part) for table, part in zip(packed.parts, parts, strict=True)]
    leads = [0 if edge is None else 1 if edge.to == FINISHED else edge.to - number + 1 for edge in edges]
    while leads and not leads[-1]:
        leads.pop()
    return [*head, *said, *leads]
