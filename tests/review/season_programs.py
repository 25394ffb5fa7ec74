"""Small invented programs for the season: a plan of four passes, and what may be logged on them."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from app import engine
from app.live.events import LoggedPass, PassLeftOut, PassSkated, Reading
from app.live.fold import LiveState, fold
from app.live.program import KnownElement, Outcome, Plan, PlannedPass, Setting
from app.review.official import OfficialSheet, SheetRow
from app.review.season.passes import Skated, seen_passes

FREE = "isu/2025-26/senior/women/free"
PLAN = Plan(
    FREE,
    Setting.RUN_THROUGH,
    "",
    (
        PlannedPass("3Lz+3T", 20, False),
        PlannedPass("3F", 60, False, ("3F+2T",)),
        PlannedPass("3S+2T", 130, True),
        PlannedPass("2A", 160, True, ("2A+2T",)),
    ),
)
"""Two units, then a solo jump behind each."""
START = datetime(2026, 9, 1, 12, tzinfo=UTC)


def logged(*came: str | None) -> list[LoggedPass]:
    """What came of each pass tried as planned: a code, `code fell`, `tried>code`, or None for not attempted."""
    found: list[LoggedPass] = []
    for number, said in enumerate(came, start=1):
        if said is None:
            found.append(PassLeftOut(number))
            continue
        tried, _, code = said.rpartition(">")
        code, fell = code.removesuffix(" fell"), code.endswith(" fell")
        planned = PLAN.passes[number - 1].code
        found.append(PassSkated(number, tried or planned, "so", (Reading(code, fell, fell),)))
    return found


def state_of(*came: str | None) -> LiveState:
    """The log of a whole program."""
    return fold(PLAN, logged(*came))


def program(*came: str | None, day: int = 0, key: str = "plan", sheet: OfficialSheet | None = None) -> Skated:
    """One program so many days into the season."""
    state = state_of(*came)
    passes = seen_passes(engine.edition(FREE), state, sheet)
    return Skated(day, START + timedelta(days=day), Setting.RUN_THROUGH, key, passes, sheet is not None)


def sheet_of(*rows: tuple[str, int]) -> OfficialSheet:
    """A sheet of jumps alone: each as printed, with its GOE in hundredths; figures are not looked at."""
    return OfficialSheet(
        tuple(
            SheetRow(n, code, "F" if goe <= -250 else "", 100, n > 2, goe, (), 100 + goe)
            for n, (code, goe) in enumerate(rows, start=1)
        )
    )


def element(code: str, *ends: tuple[str, float, bool]) -> KnownElement:
    """An element of the skater's log with these ways of ending: what it becomes, the chance, a fall."""
    outcomes = tuple(Outcome(becomes, chance, fall=fall) for becomes, chance, fall in ends)
    return KnownElement(code, True, 20, 15, date(2026, 8, 30), outcomes)
