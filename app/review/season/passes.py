"""One skated program as a season looks at it: every pass as planned, tried, come and called, in one line.

A program counts when all its passes are logged, or when an official sheet belongs to it. What the log knows goes
before what the sheet shows for "tried" and "came"; calls and grades are the sheet's alone, because a rotation or an
edge cannot be judged from the boards. A program that was stopped is left out until an adult has lifted the stop.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from app import engine
from app.domain.elements import JumpElement
from app.domain.notation import parse_jump_element
from app.domain.points import Points
from app.live.fold import LiveState
from app.live.program import Setting
from app.planner.problem import Attempt
from app.planner.slips import Kind, kind_of
from app.review.compare import Beside, Called, Tried, log_of, rows_of, three_columns
from app.review.official import OfficialSheet
from app.rulebook.editions import Edition

_ANY = Fraction(1)


@dataclass(frozen=True, slots=True)
class SeenPass:
    """One pass. `number`: of the plan, from 1, None for one put in; codes are None where there is none.

    `came`: as executed; `ruled`: the same with stars, of the sheet or else of the rulebook; `printed` and `goe`: the
    sheet's, None without one.
    """

    number: int | None
    planned: str | None
    tried: str | None
    came: str | None
    ruled: str | None
    late: bool = False
    fall: bool = False
    printed: str | None = None
    goe: Points | None = None

    @property
    def slip(self) -> tuple[Kind, str] | None:
        """How the attempt failed and at which jump; None: every jump came, or it is not known what was tried."""
        return None if self.tried is None else slip_of(self.tried, self.came, self.fall)

    @property
    def is_unit_planned(self) -> bool:
        """Whether a combination or sequence was planned here."""
        return self.planned is not None and parse_jump_element(self.planned).is_unit

    @property
    def is_unit(self) -> bool:
        """Whether a combination or sequence came of it in which a jump behind the first counts."""
        return self.ruled is not None and _counts_as_unit(parse_jump_element(self.ruled))

    @property
    def lead(self) -> str:
        """The first jump that was meant, `3Lz`; as it came where nobody knows what was meant."""
        code = self.tried or self.planned or self.came
        return parse_jump_element(code).jumps[0].name if code else ""


@dataclass(frozen=True, slots=True)
class Skated:
    """One program. `key`: the layout's fingerprint, as rehearsals are remembered by; "" without a plan."""

    id: int
    at: datetime
    setting: Setting
    key: str
    passes: tuple[SeenPass, ...]
    judged: bool = False
    """An official sheet belongs to it."""


def slip_of(tried: str, came: str | None, fall: bool) -> tuple[Kind, str] | None:
    """How an attempt failed and at which jump of `tried`; None: every jump came."""
    element = None if came is None else parse_jump_element(came)
    return kind_of(parse_jump_element(tried), Attempt(_ANY, element, Fraction(0), fall, False))


def _counts_as_unit(element: JumpElement) -> bool:
    return any(not jump.starred and jump.revolutions for jump in element.jumps[1:])


def seen_passes(book: Edition, state: LiveState, official: OfficialSheet | None) -> tuple[SeenPass, ...]:
    """The passes of a live program, with its official sheet where there is one, in the order skated.

    Raises InputError where the rulebook refuses a pass.
    """
    planned = [one.code for one in state.plan.passes]
    log = log_of(state)
    rows = rows_of(official) if official else []
    lines = three_columns(planned, log, rows)
    ruled = _ruled(book, lines, planned, log, rows)
    late = (
        dict(zip((row.number for row in official.rows), official.late_flags(), strict=True))
        if official
        else {}
    )
    found = []
    for line, code in zip(lines, ruled, strict=True):
        tried = None if line.tried is None else log[line.tried]
        row = official.jumps[line.called] if official and line.called is not None else None
        plan = None if line.planned is None else state.plan.passes[line.planned]
        half = tried.late if tried else late[row.number] if row else bool(plan and plan.late)
        found.append(
            SeenPass(
                number=None if line.planned is None else line.planned + 1,
                planned=plan.code if plan else None,
                tried=tried.tried if tried else plan.code if plan else None,
                came=tried.code if tried else row.called if row else None,
                ruled=row.code if row else code,
                late=half,
                fall=bool((row and row.fell) or (tried and tried.fall)),
                printed=row.code if row else None,
                goe=row.goe if row else None,
            )
        )
    return tuple(found)


def sheet_passes(official: OfficialSheet) -> tuple[SeenPass, ...]:
    """The jumps of a sheet that belongs to no logged program: what was planned and tried is not known."""
    late = dict(zip((row.number for row in official.rows), official.late_flags(), strict=True))
    return tuple(
        SeenPass(None, None, None, row.called, row.code, late[row.number], row.fell, row.code, row.goe)
        for row in official.jumps
    )


def _ruled(
    book: Edition,
    lines: Sequence[Beside],
    planned: Sequence[str],
    log: Sequence[Tried],
    rows: Sequence[Called],
) -> list[str | None]:
    """What the rulebook makes of every line as it came, None where nothing came."""
    came: list[engine.Performed | None] = []
    for line in lines:
        tried = None if line.tried is None else log[line.tried]
        if tried is not None and tried.code is not None:
            came.append(engine.Performed(tried.code, tried.late, tried.fall, tried.error))
        elif tried is None and line.called is not None:
            came.append(engine.Performed(rows[line.called].code))
        else:
            came.append(None)
    ruled = iter(engine.review(book, [one for one in came if one is not None]).lines)
    return [None if one is None else next(ruled).code for one in came]
