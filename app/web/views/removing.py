"""View models of removing one thing alone, with the question before it, and of one's own rulebooks."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class RemoveView:
    """One thing to be deleted: its name, what goes with it, what stays; `why_not`: it cannot go now, or ""."""

    title: str
    name: str
    goes: str
    stays: str
    why_not: str
    action: str
    back: str
    way_out: str = ""


@dataclass(frozen=True, slots=True)
class OwnBookView:
    """One rulebook of one's own, all its versions: `rests` what rests on it, in words; "" = nothing does."""

    slug: str
    title: str
    versions: int
    rests: str


@dataclass(frozen=True, slots=True)
class OwnBooksView:
    """Rulebooks of one's own. `fault`: why one was not renamed, or ""."""

    books: tuple[OwnBookView, ...]
    fault: str = ""
