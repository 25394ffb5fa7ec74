"""From the planned total to the called one: what each error cost, what it dragged along, to the cent.

The program is changed from the plan into what was called, pass by pass in the order skated, and ruled anew as a whole
after every change. Of each change

    itself        what the pass loses of its own base value
    call          the same for the panel's calls on it
    dragged       what other passes lose by it at that moment: a repeat, a star, credit that moves
    grade, fall   its GOE and the deduction for a fall on it
    bonus         at levels that have one: what the pass loses or wins of its own

Because each step starts where the one before ended, the steps add up exactly; what a later change wins back (a tail put
elsewhere) stands at that change. Rest: spins and steps, other deductions, and what the sheet differs from the rulebook.
A bonus is reckoned by the rulebook on both ends: the rows of a sheet do not hold it. Hundredths, negative where points
are lost.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app import engine
from app.domain.points import Points
from app.domain.rulings import Ruling
from app.domain.words import clauses, say
from app.planner.consequences import worse_rulings
from app.review.compare import Beside
from app.rulebook.editions import Edition

Program = list[engine.Performed | None]


@dataclass(frozen=True, slots=True)
class Dragged:
    """What a change does to another pass. `line`: its index among the lines; `why`: the ruling that is new there."""

    line: int
    points: Points
    why: str


@dataclass(frozen=True, slots=True)
class Cost:
    """What one line of the three columns cost. `changed`: it came out other than planned, calls aside."""

    line: int
    itself: Points
    call: Points
    dragged: tuple[Dragged, ...]
    grade: Points
    fall: Points
    changed: bool
    bonus: Points = 0

    @property
    def consequence(self) -> Points:
        return sum(one.points for one in self.dragged)

    @property
    def error(self) -> Points:
        """The error with its own grade and fall; 0 for a pass that came as planned."""
        return self.itself + self.fall + (self.grade if self.changed else 0)


@dataclass(frozen=True, slots=True)
class Price:
    """The way from `planned` to `called`. `order`: passes that changed places; `sheet`: sheet against rulebook.

    `bonus`: what of both ends is bonus, as the rulebook has it; None at levels without one.
    """

    planned: Points
    costs: tuple[Cost, ...]
    order: Points
    others: Points
    deductions: Points
    sheet: Points
    called: Points
    bonus: tuple[Points, Points] | None = None

    @property
    def adds_up(self) -> bool:
        """Whether every step together leads from plan to sheet: always, a test holds it."""
        steps = sum(c.itself + c.call + c.consequence + c.grade + c.fall + c.bonus for c in self.costs)
        return self.planned + steps + self.order + self.others + self.deductions + self.sheet == self.called


@dataclass(frozen=True, slots=True)
class Skate:
    """A skate in three columns: passes as values, and what the sheet prints for each called one.

    `others`: planned and called points of spins and steps; `deductions`: all of the sheet's, zero or negative.
    """

    planned: tuple[engine.Performed, ...]
    tried: tuple[engine.Performed | None, ...]
    called: tuple[engine.Performed, ...]
    goes: tuple[Points, ...]
    scores: tuple[Points, ...]
    others: tuple[Points, Points] = (0, 0)
    deductions: Points = 0


def price(book: Edition, lines: Sequence[Beside], skate: Skate) -> Price:
    """The price of a skate, line by line. Lines stand in the order of the sheet."""
    plan = engine.review(book, skate.planned)
    planned = plan.base_total + plan.bonus_total
    program: Program = [None if one.planned is None else skate.planned[one.planned] for one in lines]
    start = _total(_ruled(book, program))
    costs: list[Cost] = []
    falls = 0
    for place, line in enumerate(lines):
        fell = _fell(line, skate)
        falls += fell
        fall = -book.fall_deduction(falls) if fell else 0
        costs.append(_cost(book, program, place, line, skate, fall))
    end = _ruled(book, program)
    bonus = sum(one.bonus for one in end)
    goes = sum(one.grade for one in costs)
    called = sum(skate.scores) + bonus + skate.others[1] + skate.deductions
    return Price(
        planned=planned + skate.others[0],
        costs=tuple(costs),
        order=start - planned,
        others=skate.others[1] - skate.others[0],
        deductions=skate.deductions - sum(one.fall for one in costs),
        sheet=sum(skate.scores) + bonus - _total(end) - goes,
        called=called,
        bonus=(plan.bonus_total, bonus) if book.bonuses is not None else None,
    )


def _cost(book: Edition, program: Program, place: int, line: Beside, skate: Skate, fall: Points) -> Cost:
    """Changes the line in `program` from planned to tried to called, and what each change costs where."""
    planned = program[place]
    called = None if line.called is None else skate.called[line.called]
    # What the log knows comes first; the rest of the difference is the panel's call.
    stages = [called] if line.tried is None else [skate.tried[line.tried], called]
    worth: list[Points] = []
    bonus = 0
    dragged: list[Dragged] = []
    for stage in stages:
        had = _ruled(book, program)
        program[place] = stage
        has = _ruled(book, program)
        worth.append(has[place].base - had[place].base)
        bonus += has[place].bonus - had[place].bonus
        dragged += _dragged(had, has, place)
    return Cost(
        line=place,
        itself=worth[0],
        call=sum(worth[1:]),
        dragged=tuple(dragged),
        grade=0 if line.called is None else skate.goes[line.called],
        fall=fall,
        changed=_code(planned) != _code(stages[0]) or bool(fall),
        bonus=bonus,
    )


def _fell(line: Beside, skate: Skate) -> bool:
    """A fall on the sheet, or in the log where sheets did not mark it."""
    marked = line.called is not None and skate.called[line.called].fall
    tried = None if line.tried is None else skate.tried[line.tried]
    return marked or (tried is not None and tried.fall)


def _code(one: engine.Performed | None) -> str:
    return "" if one is None else one.code


@dataclass(frozen=True, slots=True)
class _Worth:
    """What one line of a program is worth as ruled; nothing without a pass."""

    base: Points = 0
    bonus: Points = 0
    rulings: tuple[Ruling, ...] = ()


def _ruled(book: Edition, program: Program) -> list[_Worth]:
    """Base value, bonus and rulings of every line of a program."""
    ruled = iter(engine.review(book, [one for one in program if one is not None]).lines)
    found = []
    for one in program:
        line = None if one is None else next(ruled)
        found.append(_Worth() if line is None else _Worth(line.base_value, line.bonus, line.rulings))
    return found


def _total(ruled: Sequence[_Worth]) -> Points:
    return sum(one.base + one.bonus for one in ruled)


def _dragged(had: Sequence[_Worth], has: Sequence[_Worth], place: int) -> list[Dragged]:
    """What changed on every other line, with the ruling that is new or gone."""
    found = []
    for line, (before, after) in enumerate(zip(had, has, strict=True)):
        points = after.base + after.bonus - before.base - before.bonus
        if line != place and (points or before.base != after.base):
            found.append(Dragged(line, points, _why(before, after)))
    return found


def _why(before: _Worth, after: _Worth) -> str:
    """In words what moved the value of another pass."""
    fresh = worse_rulings(before.rulings, after.rulings)
    if fresh:
        return clauses(one.why for one in fresh)
    if worse_rulings(after.rulings, before.rulings):
        return say("counts for more again")
    return say("second-half credit moves") if before.base != after.base else say("the bonus moves")
