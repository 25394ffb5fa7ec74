"""Asks the engine on behalf of a live program: advice, what is left to use, what counts for nothing.

Planners are kept in memory (`kept_planners`), so a tap is answered in milliseconds; after a restart they are built anew
from the stored programs. Nothing here is stored and nothing decides: the limits of the coach are
applied in `app.live.advice`.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from contextlib import AbstractContextManager, suppress
from dataclasses import dataclass, field, replace
from datetime import date
from hashlib import sha256
from typing import TYPE_CHECKING

from app import engine
from app.domain.rulings import Ruling
from app.domain.words import say
from app.errors import InputError
from app.live import advice
from app.live.advice import Swap
from app.live.aim import Elsewhere
from app.live.doubt import Way, ways
from app.live.entries import trained_from, why_unfit
from app.live.events import LoggedPass, PassSkated
from app.live.fold import LiveState, likeliest
from app.live.program import KnownElement, Limits, PlannedPass, why_untrained
from app.live.tempting import Tempting
from app.rulebook.editions import Edition
from app.web.in_hand import Hand, chances_of, hands, on_average, spread_of
from app.web.kept_planners import KeptPlanner, KeptPlanners

if TYPE_CHECKING:
    from app.web.in_hand import AskChances

PREPARED_SECONDS = 0.1


@dataclass(frozen=True, slots=True)
class Elements:
    """A skater's elements by code: all known ones, and those that count as trained, with why the rest do not."""

    known: dict[str, KnownElement]
    offered: dict[str, KnownElement]
    refused: dict[str, str]

    def why_not(self, row: PlannedPass, code: str) -> str:
        """Why an element is not offered on a pass, in words; empty when it is, or when nobody knows it."""
        if code in self.refused:
            return say("Not trained: %(reason)s", reason=self.refused[code])
        return (
            say("Does not fit: %(reason)s", reason=why)
            if code in self.offered and (why := why_unfit(row, self.offered[code]))
            else ""
        )


@dataclass(frozen=True, slots=True)
class Answer:
    """What the engine says about the rest of a program. Points are floats, in points."""

    swaps: tuple[Swap, ...]
    to_come: float
    """On average, from the passes to come alone."""
    skated: float
    """Base value as ruled, with the second half's bonus."""
    left: engine.LeftToUse | None
    """None in a short program, which is ruled as a whole."""
    as_planned: dict[int, tuple[Ruling, ...]]
    """Rulings of the passes to come, if kept as planned, by pass number."""
    as_skated: dict[int, tuple[Ruling, ...]]
    """Rulings of the logged passes as they stand, by pass number."""
    elsewhere: Elsewhere = Elsewhere(0.0, 0.0, 0.0, 0.0, 0.0)
    """What everything but the jumps to come brings; components and other elements only where a total is aimed at."""
    kept: float = 0.0
    """With a total aimed at: the chance of it when the plan is kept. Gains of `swaps` are then chances."""


@dataclass(frozen=True, slots=True)
class Spreads:
    """How the points of the jumps to come spread: the plan kept, and with a swap (None: there is none)."""

    plan: engine.Spread
    swap: engine.Spread | None


@dataclass
class Advisor:
    """Planners of the live programs in use, by program id."""

    _kept: KeptPlanners = field(default_factory=KeptPlanners)
    _asked: dict[int, int] = field(default_factory=dict)
    """The mark of what was asked last, by program id."""

    def ask(
        self, program_id: int, state: LiveState, elements: Elements, limits: Limits, others: float = 0.0
    ) -> Answer:
        """The engine's answer for the state a live program is in. `others`: points of spins and steps as planned."""
        edition = engine.edition(state.plan.edition)
        skated = performed(state)
        swaps: tuple[Swap, ...] = ()
        to_come, aimed = 0.0, None
        found = hands(state, elements.known, others, performed)
        if not state.finished:
            with self._held(program_id, state, elements, limits) as kept:
                planner = kept.planner
                said = planner.advise(advice.done(state), len(state.logged))
                kept.seconds = said.seconds
                if state.aim.kind != "expected":
                    aimed = chances_of(found, state.aim, _asker(planner))
            # The engine's value holds the late bonus of what was skated; here that stands under `skated`.
            swaps, to_come = (
                _swaps(said.swaps, state),
                (said.keep_all_value or 0.0) - late_credit(edition, skated),
            )
            swaps = _swaps(aimed.swaps, state, chances=True) if aimed else swaps
        rest = [engine.Performed(row.code, late=row.late) for row in state.plan.passes[len(state.logged) :]]
        lines = engine.review(edition, [*skated, *rest]).lines
        stands = engine.review(edition, skated)
        return Answer(
            swaps=swaps,
            to_come=to_come,
            skated=stands.points / 100,
            left=None if edition.is_short else engine.left_to_use(edition, skated),
            as_planned={
                state.next_number + place: line.rulings for place, line in enumerate(lines[len(skated) :])
            },
            as_skated={
                number: line.rulings for number, line in zip(numbers(state), stands.lines, strict=True)
            },
            elsewhere=on_average(found),
            kept=aimed.keep if aimed else 0.0,
        )

    def if_called(
        self, program_id: int, state: LiveState, elements: Elements, limits: Limits, others: float = 0.0
    ) -> tuple[tuple[Way, tuple[Swap, ...]], ...]:
        """The swaps for each way the doubtful calls may go, by chance with a total aimed at; empty without a doubt."""
        if state.finished or not ways(state):
            return ()
        found = hands(state, elements.known, others, performed)
        with self._held(program_id, state, elements, limits) as kept:
            return tuple((hand.way, _if_sure(hand, kept.planner, state)) for hand in found)

    def spreads(
        self, program_id: int, state: LiveState, elements: Elements, limits: Limits, swap: Swap | None
    ) -> Spreads:
        """How the points of the jumps to come spread: the plan kept, and with one swap.

        With a call in doubt, what the skated jumps are worth more or less than on average is part of it.
        """
        found = hands(state, elements.known, 0.0, performed)
        ahead, change = len(state.logged), (swap.number - 1, swap.element) if swap else None
        with self._held(program_id, state, elements, limits) as kept:
            planner = kept.planner
            plan = spread_of(found, lambda one: planner.spread(advice.done(one), ahead))
            if change is None:
                return Spreads(plan, None)
            return Spreads(
                plan, spread_of(found, lambda one: planner.spread(advice.done(one), ahead, change))
            )

    def best_chance(
        self, state: LiveState, elements: Elements, limits: Limits, sure: float
    ) -> tuple[float, float] | None:
        """With a total aimed at: the best chance over all answers, and how much higher it may truly be.

        None with a call in doubt: what is needed then differs from one way to the other, and is not known on the ice.
        """
        if state.aim.kind == "expected" or ways(state):
            return None
        need = round(state.aim.points - sure, 4)
        asked = advice.question(state.plan, elements.offered, elements.known, limits)
        planner = engine.Planner(asked | {"aim": {"kind": "at_least", "points": str(need)}})
        said = planner.advise(advice.done(state), len(state.logged))
        return said.value, said.bound or 0.0

    def rulings_if(self, state: LiveState, swap: Swap) -> dict[int, tuple[Ruling, ...]]:
        """Rulings of the passes to come, by number, were `swap` made and everything else kept."""
        skated = performed(state)
        rest = list(enumerate(state.plan.passes[len(state.logged) :], start=state.next_number))
        codes = [
            (number, swap.element if number == swap.number else row.code, row.late) for number, row in rest
        ]
        tried = [
            (number, engine.Performed(code, late=late)) for number, code, late in codes if code is not None
        ]
        lines = engine.review(engine.edition(state.plan.edition), [*skated, *(one for _, one in tried)]).lines
        return {number: line.rulings for (number, _), line in zip(tried, lines[len(skated) :], strict=True)}

    def tempting(self, state: LiveState, elements: Elements) -> tuple[Tempting, ...]:
        """Options of the layout that would count for more and are not offered, each with the reason."""
        edition = engine.edition(state.plan.edition)
        found = []
        done = performed(state)
        for number, row in enumerate(state.plan.passes[len(state.logged) :], start=state.next_number):
            why = {code: elements.why_not(row, code) for code in row.options if code is not None}
            codes = [code for code, said in why.items() if said]
            candidates = engine.would_count(edition, done, [row.code, *codes])
            planned, *others = candidates
            for other in others:
                more = (other.base_value - planned.base_value) / 100
                found.append(Tempting(number, other.code, more, why[other.code]))
            done = [*done, engine.Performed(row.code, late=row.late)]
        return tuple(sorted(found, key=lambda one: -one.more))

    def prepare(self, program_id: int, state: LiveState) -> None:
        """Work out the next answers while nobody waits, for a program that has been asked about already.

        Half a dozen answers are worked out in one go, and a tap in between waits for them: so only quick ones.
        """
        asked = self._asked.get(program_id)
        kept = None if asked is None else self._kept.known(asked)
        if kept is None or not state.advice_shown or state.finished:
            return
        with kept.lock, suppress(InputError):  # the screen has said what is wrong with this program
            if kept.seconds is not None and kept.seconds < PREPARED_SECONDS:
                kept.planner.prepare(advice.done(state), len(state.logged))

    def _held(
        self, program_id: int, state: LiveState, elements: Elements, limits: Limits
    ) -> AbstractContextManager[KeptPlanner]:
        """The planner of a program, for this thread alone."""
        self._asked[program_id] = mark = question_mark(program_id, state, elements, limits)
        return self._kept.held(
            mark, lambda: advice.question(state.plan, elements.offered, elements.known, limits)
        )


def question_mark(program_id: int, state: LiveState, elements: Elements, limits: Limits) -> int:
    """A mark that changes with everything the question to the engine rests on, for as long as the server runs.

    Until the first pass another layout may be chosen, and the skater's elements taken anew.
    """
    return hash((program_id, *_asked_of(state, elements, limits)))


def lasting_mark(program_id: int, state: LiveState, elements: Elements, limits: Limits) -> str:
    """The same mark, slower, but equal in every process: several workers name a policy by it."""
    said = repr((program_id, *_asked_of(state, elements, limits)))
    return sha256(said.encode()).hexdigest()[:16]


def _asked_of(state: LiveState, elements: Elements, limits: Limits) -> tuple[Hashable, ...]:
    known, offered = tuple(elements.known.values()), tuple(elements.offered.values())
    return (state.plan.edition, state.plan.passes, known, offered, limits)


def performed(state: LiveState) -> list[engine.Performed]:
    """The logged passes as the panel would see them: the likeliest reading of each; one left out is absent."""
    found = []
    for entry, late in zip(state.logged, state.late, strict=True):
        if isinstance(entry, PassSkated):
            reading = likeliest(entry)
            found.append(engine.Performed(reading.code, late, reading.fall, reading.error))
    return found


def skated_points(state: LiveState) -> float:
    """Base value of what was skated, as ruled, with the second half's bonus and those of the rulebook."""
    return engine.review(engine.edition(state.plan.edition), performed(state)).points / 100


def late_credit(edition: Edition, skated: Sequence[engine.Performed]) -> float:
    """Points that the second half has added to what was skated."""
    plain = [replace(one, late=False) for one in skated]
    return (engine.review(edition, skated).base_total - engine.review(edition, plain).base_total) / 100


def called(state: LiveState) -> dict[int, str]:
    """The logged passes as the rulebook has them, stars and `+REP` included, by pass number."""
    lines = engine.review(engine.edition(state.plan.edition), performed(state)).lines
    return {number: line.code for number, line in zip(numbers(state), lines, strict=True)}


def numbers(state: LiveState) -> list[int]:
    """Numbers of the logged passes that were attempted, in order."""
    return [number for number, entry in enumerate(state.logged, start=1) if isinstance(entry, PassSkated)]


def check_countable(edition: str, what: LoggedPass) -> None:
    """Raise InputError when the season's tables know no value for a pass, before it is kept."""
    readings = what.readings if isinstance(what, PassSkated) else ()
    for reading in readings:
        engine.review(engine.edition(edition), [engine.Performed(reading.code)])


def sort_elements(known: dict[str, KnownElement], limits: Limits, today: date) -> Elements:
    """Which elements count as trained on that day, and why the others do not."""
    offered = {code: kept for code, one in known.items() if (kept := trained_from(one, limits, today))}
    refused = {
        code: why
        for code, one in known.items()
        if code not in offered and (why := why_untrained(one, limits, today))
    }
    return Elements(known, offered, refused)


def _asker(planner: engine.Planner) -> AskChances:
    return lambda state, need: planner.swap_chances(advice.done(state), len(state.logged), need)


def _if_sure(hand: Hand, planner: engine.Planner, state: LiveState) -> tuple[Swap, ...]:
    """The swaps, were this way certain."""
    if state.aim.kind == "expected":
        return _swaps(planner.advise(advice.done(hand.way.state), len(state.logged)).swaps, state)
    sure = replace(hand, way=replace(hand.way, chance=1.0))
    aimed = chances_of([sure], state.aim, _asker(planner))
    return _swaps(aimed.swaps, state, chances=True) if aimed else ()


def _swaps(said: Iterable[engine.SwapValue], state: LiveState, chances: bool = False) -> tuple[Swap, ...]:
    """The engine's single changes with numbers counted over the whole program; with `chances`, values are chances."""
    passes = state.plan.passes
    return tuple(
        Swap(
            swap.number,
            passes[swap.number - 1].code,
            swap.element,
            swap.gain,
            swap.value if chances else None,
        )
        for swap in said
    )
