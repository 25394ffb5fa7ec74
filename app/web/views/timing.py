"""The clock on the live screen: what the page needs to count on by itself, and what an interruption costs, in words."""

from __future__ import annotations

from dataclasses import dataclass

from app.domain.words import Figure, say
from app.live.clock import Interruption
from app.live.fold import LiveState
from app.live.program import clock as minutes
from app.live.rule_notes import HOW_SURE
from app.rulebook.editions import Edition
from app.rulebook.money_tables import Interruptions


@dataclass(frozen=True, slots=True)
class BreakView:
    """The skater has stopped. `since_ms`: since when; `words`: what it costs by now is counted by the page."""

    since_ms: int
    ids: str
    music_stopped: bool


@dataclass(frozen=True, slots=True)
class CostView:
    """One step of the deductions: from that second on, in words."""

    over: int
    words: str


@dataclass(frozen=True, slots=True)
class ClockView:
    """The clock. Moments in milliseconds since 1970 by the laptop's clock, lengths in seconds.

    `started_ms` 0: the music has not started. `stood_ms` 0: the clock runs; else since when it stands. `still_ms`: how
    long it stood before. `face`: the running time when this was drawn. `next_seconds`: when the next pass is planned,
    -1 when none is to come. `ids`: events of the start. `costs`: deductions for an interruption, `sure`: how sure.
    """

    started_ms: int
    now_ms: int
    stood_ms: int
    still_ms: int
    face: str
    half: int
    full: int
    most: int
    next_number: int
    next_seconds: int
    ids: str
    interruption: BreakView | None
    costs: tuple[CostView, ...]
    allowance: str
    sure: str


def clock_view(state: LiveState, edition: Edition, now: float) -> ClockView:
    """The clock of a program at that moment (seconds since 1970)."""
    clock, plan = state.clock, state.plan
    stood = clock.stood
    second = clock.running(now)
    started = clock.started or 0.0
    still = 0.0 if second is None else (now if stood is None else stood) - started - second
    return ClockView(
        started_ms=round(started * 1000),
        now_ms=round(now * 1000),
        stood_ms=round((stood or 0.0) * 1000),
        still_ms=round(still * 1000),
        face=minutes(int(second or 0)),
        half=plan.seconds // 2,
        full=plan.seconds,
        most=plan.seconds + plan.tolerance,
        next_number=state.next_number,
        next_seconds=-1 if state.next_pass is None else state.next_pass.seconds,
        ids=" ".join(clock.ids),
        interruption=_break(clock.open_interruption),
        costs=_costs(edition),
        allowance=_allowance(edition),
        sure=_sure(edition.rules.interruptions),
    )


def _break(open_now: Interruption | None) -> BreakView | None:
    if open_now is None:
        return None
    return BreakView(round(open_now.since * 1000), " ".join(open_now.ids), open_now.music_stopped)


def _costs(edition: Edition) -> tuple[CostView, ...]:
    table = edition.rules.interruptions
    steps = table.steps if table else ()
    return tuple(
        CostView(
            one.over,
            say(
                "over %(over)s up to %(upto)s s: %(points)s",
                over=one.over,
                upto=one.upto,
                points=_points(one.points),
            ),
        )
        for one in steps
    )


def _allowance(edition: Edition) -> str:
    table = edition.rules.interruptions
    if table is None or table.allowance is None:
        return ""
    cost = _points(table.allowance)
    return say(
        "The referee grants up to three minutes: %(cost)s, going on from the point of interruption.",
        cost=cost,
    )


def _points(hundredths: int) -> str:
    return Figure(f"\u2212{hundredths / 100:g}")


def _sure(table: Interruptions | None) -> str:
    if table is None:
        return say("This rulebook states no deductions for interruptions: ask the referee.")
    return say(
        "%(source)s. How sure: %(how_sure)s.", source=str(table.ref), how_sure=HOW_SURE[table.certainty]
    )
