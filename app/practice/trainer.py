"""The call-out trainer: which failures may be called, which answers stand on the buttons, what each is worth.

Off the ice a failure of a layout is called, and the skater picks the answer. Everything is seen as the live screen
sees it: the same question to the engine, the same fold from events to state, the same choice under the same limits.
So only trained elements are offered, nothing harder right after a fall unless the coach allows it, and a change
that brings less than the threshold is no answer. `app.practice.verdicts` weighs what was picked.

A call comes with a chance and with what is at stake: the points that someone who picks blindly among the buttons
gives away on average. Points are points, not hundredths. No clock, no chance: the lot is handed in.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256

from app import engine
from app.domain.rulings import Ruling
from app.live.advice import Choice, Swap, choose, done, question, too_hard_after_fall
from app.live.events import LoggedPass, PassLeftOut, PassSkated, Reading
from app.live.fold import LiveState, fold, likeliest
from app.live.program import KnownElement, Limits, Plan
from app.planner.problem import Problem, read_problem
from app.planner.slips import Kind, Slip, slips
from app.requests import AdviseRequest, read_request

OTHERS = 3
"""Buttons beside "keep the plan" and the best trained swap."""

Rulings = Mapping[int, tuple[Ruling, ...]]
"""What the rulebook makes of the passes to come, by pass number."""
Progress = Callable[[int, int], None]
"""Told how many of how many passes are through."""


@dataclass(frozen=True, slots=True)
class CallKey:
    """What a call is remembered by, within one layout: pass number from 1, kind of failure, the jump that failed."""

    number: int
    kind: Kind
    jump: str


@dataclass(frozen=True, slots=True)
class Answer:
    """One button. `swap` None: keep the plan. `ruled`: what the rulebook then makes of the passes to come."""

    swap: Swap | None
    ruled: Rulings

    @property
    def gain(self) -> float:
        """Points over keeping the plan, misses included."""
        return self.swap.gain if self.swap else 0.0

    @property
    def name(self) -> str:
        """What a form sends for it: `plan`, `5 3Lo+2T`, or `5 out`."""
        return name_of(self.swap)


@dataclass(frozen=True, slots=True)
class Call:
    """A failure and its buttons. `becomes` None: not attempted. `choice`: what the live screen would say.

    `chance`: of the failure once the pass is tried; `answers`: keep the plan first, then by pass and element.
    """

    key: CallKey
    planned: str
    becomes: str | None
    chance: float
    state: LiveState
    choice: Choice
    answers: tuple[Answer, ...]

    @property
    def best(self) -> float:
        """Points that the right answer wins over keeping the plan; 0 where the plan is the answer."""
        return self.choice.swap.gain if self.choice.swap else 0.0

    @property
    def stake(self) -> float:
        """Points given away on average by picking blindly."""
        return max(self.best - sum(one.gain for one in self.answers) / len(self.answers), 0.0)

    @property
    def weight(self) -> float:
        """How much it matters to know the answer: chance times points at stake."""
        return self.chance * self.stake

    def answer(self, name: str) -> Answer | None:
        """The button of that name; None when there is none."""
        return next((one for one in self.answers if one.name == name), None)


def name_of(swap: Swap | None) -> str:
    """A swap as forms and the log of answers write it."""
    return "plan" if swap is None else f"{swap.number} {swap.element or 'out'}"


def program_key(plan: Plan) -> str:
    """A layout's own fingerprint: rulebook, passes in order and which of them are late. Its name may change."""
    said = repr((plan.edition, [(row.code, row.late) for row in plan.passes]))
    return sha256(said.encode()).hexdigest()[:32]


def calls(
    plan: Plan,
    offered: Mapping[str, KnownElement],
    known: Mapping[str, KnownElement],
    limits: Limits,
    progress: Progress = lambda through, of: None,
) -> tuple[Call, ...]:
    """Every call of a layout, in skating order, the likelier of a pass first.

    Failures without a recorded chance are not called, nor those after which there is nothing to choose from.
    Raises InputError naming the field when the program cannot be reckoned.
    """
    asked = question(plan, offered, known, limits)
    planner, problem = engine.Planner(asked), read_problem(read_request(AdviseRequest, asked))
    found: list[Call] = []
    to_fail = len(plan.passes) - 1
    for place in range(to_fail):
        for slip in _failures(problem, place):
            call = call_of(plan, place, slip, planner, offered, limits)
            if len(call.answers) > 1:
                found.append(call)
        progress(place + 1, to_fail)
    return tuple(found)


def _failures(problem: Problem, place: int) -> Iterator[Slip]:
    """What may happen to a pass, one of each kind and jump: the likeliest where records know several."""
    row = problem.passes[place]
    if row.keep is None:
        return
    recorded: dict[tuple[Kind, str], Slip] = {}
    for one in slips(problem.edition, row.options[row.keep]):
        if one.chance > 0:
            recorded.setdefault((one.kind, one.jump), one)
    yield from recorded.values()


def call_of(
    plan: Plan,
    place: int,
    slip: Slip,
    planner: engine.Planner,
    offered: Mapping[str, KnownElement],
    limits: Limits,
) -> Call:
    """The call of one failure of the pass at index `place`, with its buttons."""
    state = state_after(plan, place, slip)
    swaps = swaps_of(planner, state)
    choice = choose(swaps, state, offered, limits)
    allowed = [one for one in swaps if _allowed(one, state, offered, limits)]
    answers = [Answer(one, rulings_if(state, one)) for one in allowed]
    plain = Answer(None, rulings_if(state, None))
    return Call(
        key=CallKey(place + 1, slip.kind, slip.jump),
        planned=plan.passes[place].code,
        becomes=slip.code,
        chance=float(slip.chance),
        state=state,
        choice=choice,
        answers=(plain, *_buttons(answers, plain)),
    )


def state_after(plan: Plan, place: int, slip: Slip) -> LiveState:
    """The live screen's state with every pass before index `place` as planned and that pass failed."""
    rows = plan.passes[:place]
    before = [
        PassSkated(number, row.code, "as planned", (Reading(row.code),))
        for number, row in enumerate(rows, start=1)
    ]
    return fold(plan, [*before, _logged(place + 1, plan.passes[place].code, slip)])


def _logged(number: int, tried: str, slip: Slip) -> LoggedPass:
    """A failure as the buttons of the live screen log it: anything but a shortened tail is an error."""
    if slip.code is None:
        return PassLeftOut(number)
    error = slip.kind is not Kind.TAIL_SHORT
    return PassSkated(number, tried, slip.kind.value, (Reading(slip.code, slip.fall, error),))


def swaps_of(planner: engine.Planner, state: LiveState) -> tuple[Swap, ...]:
    """Every single change to a pass to come with its gain, best first."""
    said = planner.advise(done(state), len(state.logged))
    codes = [row.code for row in state.plan.passes]
    return tuple(Swap(one.number, codes[one.number - 1], one.element, one.gain) for one in said.swaps)


def _allowed(swap: Swap, state: LiveState, offered: Mapping[str, KnownElement], limits: Limits) -> bool:
    trained = swap.element is None or swap.element in offered
    return trained and state.changes < limits.most_changes and not too_hard_after_fall(swap, state, limits)


def rulings_if(state: LiveState, swap: Swap | None) -> dict[int, tuple[Ruling, ...]]:
    """What the rulebook makes of the passes to come, by number, were `swap` made and everything else kept."""
    skated = []
    for entry, late in zip(state.logged, state.late, strict=True):
        if isinstance(entry, PassSkated):
            one = likeliest(entry)
            skated.append(engine.Performed(one.code, late, one.fall, one.error))
    rest = []
    for number, row in enumerate(state.plan.passes[len(state.logged) :], start=state.next_number):
        code = swap.element if swap is not None and swap.number == number else row.code
        if code is not None:
            rest.append((number, engine.Performed(code, late=row.late)))
    lines = engine.review(engine.edition(state.plan.edition), [*skated, *(one for _, one in rest)]).lines
    return {number: line.rulings for (number, _), line in zip(rest, lines[len(skated) :], strict=True)}


def _buttons(answers: Sequence[Answer], plain: Answer) -> list[Answer]:
    """The best swap, the most tempting trap, and the next best others; by pass and element, so order tells nothing."""
    chosen = list(answers[:1])
    traps = [one for one in answers[1:] if is_trap(one, plain)]
    chosen += traps[:1]
    chosen += [one for one in answers if one not in chosen][: 1 + OTHERS - len(chosen)]
    return sorted(chosen, key=lambda one: one.name)


def is_trap(answer: Answer, plain: Answer) -> bool:
    """Does the swap win nothing because the rulebook makes a jump worthless that counts when the plan is kept?"""
    return answer.gain <= 0 and bool(spoilt(answer, plain))


def spoilt(answer: Answer, plain: Answer) -> tuple[tuple[int, Ruling], ...]:
    """Jumps that count for nothing with this answer and not when the plan is kept: pass number and ruling."""
    lost = {(number, one.jump) for number, rulings in plain.ruled.items() for one in _nothing(rulings)}
    return tuple(
        (number, one)
        for number, rulings in sorted(answer.ruled.items())
        for one in _nothing(rulings)
        if (number, one.jump) not in lost
    )


def _nothing(rulings: Sequence[Ruling]) -> Iterator[Ruling]:
    return (one for one in rulings if one.ruling == "nothing")
