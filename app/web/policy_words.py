"""What the screen of a live program says in one state of its policy."""

from __future__ import annotations

from dataclasses import dataclass

from app.live.line import Line
from app.web.views.left import LeftView


@dataclass(frozen=True, slots=True)
class Words:
    """What the screen says in a state, apart from the pad and what single passes lost: `more` in whole points."""

    line: Line
    gone: tuple[str, ...]
    left: tuple[LeftView, ...]
    more: str
