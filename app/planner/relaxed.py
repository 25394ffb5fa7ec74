"""Upper bounds for levels whose rules the compiled loops do not know: the loops solve what is left of the rules.

Left out are quotas of groups and take-offs, limits inside a unit, and with them the repeat quotas whose places a
barred jump would not have taken; a second solo execution keeps a part. Rules only take points away, so the loops
never give less. A bonus is added as grades of the jump that may earn it: bonus / (share of a grade x value of that
jump); a grade is worth no less than that share while the jump counts. What was rewarded so far is left out; a variety
is shared out over the jumps it still lacks. So no bound is too low, and the search over the judge stays exact.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from app.legality.bonus import with_bonus
from app.legality.tally import Tally
from app.legality.verdict import Award, Verdict
from app.planner.backward import BackwardSolver
from app.planner.packing import packable
from app.planner.problem import Attempt, Problem
from app.rulebook.editions import Edition
from app.scoring.base_value import jump_value

BonusState = tuple[tuple[tuple[str, ...], ...], int]


class RelaxedBounds:
    """Bounds of one problem; one solver for each state of the bonuses, made when first asked for."""

    def __init__(self, problem: Problem) -> None:
        self._book = problem.edition
        self._problem = replace(problem, edition=relaxed(problem.edition))
        self._solvers: dict[BonusState, BackwardSolver] = {}

    @staticmethod
    def of(problem: Problem) -> RelaxedBounds | None:
        """The bounds of a problem; None where the loops do not even know what is left of the rules."""
        found = RelaxedBounds(problem)
        return found if packable(found._problem) else None

    def bounds(
        self, place: int, tally: Tally, falls: int, fell: bool, late: Sequence[int], changes: int
    ) -> list[float]:
        """For every option of a pass, hundredths that the rest of the program surely does not exceed."""
        solver = self._solver((tally.bonuses, tally.bonus_points))
        paid, node = solver.node_of(place, tally, falls, fell, late, changes)
        values = solver.option_values(place, node)
        return [float("-inf") if one is None else paid + one for one in values]

    def _solver(self, state: BonusState) -> BackwardSolver:
        if self._book.bonuses is None:
            state = ((), 0)
        known = self._solvers.get(state)
        if known is None:
            extra = bonus_grades(self._book, state) if self._book.bonuses else None
            known = self._solvers[state] = BackwardSolver(self._problem, extra=extra)
        return known


def relaxed(book: Edition) -> Edition:
    """The edition without the rules that the loops do not know."""
    rules = book.rules
    family, repeats, units = rules.family, rules.repeats, rules.units
    if repeats is None or units is None:
        return book
    lone = any(one.solo_keeps == "nothing" for one in repeats.classes)
    # A jump barred by one of these takes no place of a repeat quota, so the quota has to go as well.
    drop = lone or rules.limits is not None or (family is not None and family.most_repeated is not None)
    quotas = {"most_repeated": None, "within": (), "most_repeated_within": None} if drop else {}
    classes = tuple(
        one.model_copy(update={"jumps": (), "solo_keeps": "part", **quotas})
        for one in repeats.classes
        if one.revolutions
    )
    changed = {
        "limits": None,
        "bonuses": None,
        "family": family.model_copy(update={"most_repeated": None}) if family else None,
        "units": units.model_copy(update={"inside": ()}),
        "repeats": repeats.model_copy(update={"classes": classes}),
    }
    return replace(book, rules=rules.model_copy(update=changed))


def bonus_grades(book: Edition, state: BonusState) -> Callable[[Attempt], float]:
    """For an attempt, the grades that are worth at least every bonus it may still earn after `state`."""
    tally = Tally(bonuses=state[0], bonus_points=state[1])

    def grades(attempt: Attempt) -> float:
        if attempt.element is None:
            return 0.0
        element = attempt.element.without_rulings()
        awards = with_bonus(book, tally, Verdict(element), attempt.fall)[0].awards
        worth = 0.0
        for award in (*awards, *_shares(book, state, attempt)):
            value = jump_value(book, element.jumps[award.jump - 1])
            worth += award.points * 100 / (book.rules.grades.percent * value) if value else 1e6
        return worth

    return grades


def _shares(book: Edition, state: BonusState, attempt: Attempt) -> list[Award]:
    """Of each variety not yet reached, the share of every new jump: so many are still lacking."""
    table = book.bonuses
    found: list[Award] = []
    if table is None or attempt.element is None:
        return found
    for place, row in enumerate(table.rows):
        seen = state[0][place] if state[0] else ()
        lacking = (row.variety or 0) - len(seen)
        # The last one lacking is paid by the award itself.
        if lacking < 2:
            continue
        points = -(-row.points // lacking)
        for number, jump in enumerate(attempt.element.jumps, start=1):
            fits = jump.name in row.jumps or jump.revolutions in row.revolutions
            if fits and jump.name not in seen:
                found.append(Award(number, points, table.ref, row.words))
    return found
