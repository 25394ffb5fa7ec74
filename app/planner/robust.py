"""Sturdier layouts: today's trained elements put on the passes so that most is left after the best recovery.

    found = sturdier(request, Wishes(stays=frozenset({1}), most_changed=2))
    found.layouts[0].elements, found.layouts[0].value, found.proved

The request is that of `advise` for a whole program: every pass with what is planned today and, as options, the
trained elements that fit it. The same options serve as plan and as recovery; `max_changes` limits the recovery.
What a layout is worth is defined in `app.planner.robust_value`, how the best are found in
`app.planner.robust_search`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from app.domain.notation import parse_jump_element
from app.domain.words import say
from app.errors import InputError
from app.legality.judge import judge_all
from app.legality.short_program import ShortElement, judge_short
from app.planner.packing import packable
from app.planner.problem import Problem, read_problem
from app.planner.robust_search import Choices, Found, LayoutSearch, Progress
from app.planner.robust_value import quantile, recovered_value, spread, uncut_value
from app.requests import AdviseRequest, read_request

SEARCHING = 0.8
"""Share of the bar for the search; the rest is for the spread of the scores."""
DIGITS = 6


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the coach fixes. Passes are numbered from 1.

    `stays`: passes that keep today's element. `no_axel`: passes where no Axel-type jump may be planned (they start
    too late for it). `most_changed`: passes that may hold another element than today, None: any number; two passes
    that change places count two. They bind the plan; recovery after a miss is bound by the options alone.
    """

    stays: frozenset[int] = frozenset()
    no_axel: frozenset[int] = frozenset()
    most_changed: int | None = None


@dataclass(frozen=True, slots=True)
class SturdyLayout:
    """One layout. Points are points.

    `value`: expected after the best trained recovery, the plan kept until something is missed. `keep_all`: expected
    if nothing is ever changed. `low`, `middle`, `high`: the score stays below them in 10, 50 and 90 of 100
    programs, under the same recovery, on a grid of 0.05. `lost_to_rules`, the fragility: what the rules take on
    average after misses (repeats, units too many, boxes without their jump) if nothing is changed; `won_back`:
    what recovery makes good. `in_part`: jumps that count in part although everything lands.
    """

    elements: tuple[str | None, ...]
    changed: tuple[int, ...]
    value: float
    keep_all: float
    low: float
    middle: float
    high: float
    lost_to_rules: float
    in_part: tuple[str, ...] = ()

    @property
    def won_back(self) -> float:
        return round(self.value - self.keep_all, DIGITS)


@dataclass(frozen=True, slots=True)
class Sturdy:
    """The answer: `layouts` best first, today's among them when it honours the wishes and is good enough.

    `proved`: nothing better was left out, to a thousandth of a point a pass changed; else no layout left out is
    worth more than `open_bound` points. `evaluated`: layouts reckoned to the end.
    """

    today: SturdyLayout
    layouts: tuple[SturdyLayout, ...]
    today_fits: bool
    proved: bool
    open_bound: float | None
    evaluated: int


def _quiet(share: float, words: str) -> None:
    """Nobody asked how far it is."""


def sturdier(
    request: AdviseRequest | Mapping[str, Any],
    wishes: Wishes | None = None,
    progress: Progress = _quiet,
    wanted: int = 5,
) -> Sturdy:
    """The best layouts under the wishes. Raises InputError naming the field.

    `progress` is told the share done, 0 to 1; what it raises ends the search.
    """
    problem = _read(request)
    wishes = wishes or Wishes()
    today = tuple(one.keep or 0 for one in problem.passes)
    _check(wishes, len(today))
    allowed = [_allowed(problem, place, today, wishes) for place in range(len(today))]
    most = len(today) if wishes.most_changed is None else wishes.most_changed
    progress(0.0, say("Weighing what each pass may hold"))
    search = LayoutSearch(problem, today, allowed, most, wanted)
    as_is = Found(today, recovered_value(search.rest_of(today), today), 0)
    fits = all(number in allowed[place] for place, number in enumerate(today))
    found = search.run([as_is] if fits else [], lambda share, words: progress(SEARCHING * share, words))
    shown = {one.choices: one for one in (as_is, *found.best)}
    described: dict[Choices, SturdyLayout] = {}
    for number, one in enumerate(shown.values()):
        progress(SEARCHING + (1 - SEARCHING) * number / len(shown), say("How far the scores spread"))
        described[one.choices] = _described(problem, search, one, today)
    return Sturdy(
        today=described[today],
        layouts=tuple(described[one.choices] for one in found.best),
        today_fits=fits,
        proved=found.proved,
        open_bound=None if found.open_bound is None else round(found.open_bound / 100, DIGITS),
        evaluated=found.evaluated,
    )


def _read(request: AdviseRequest | Mapping[str, Any]) -> Problem:
    asked = read_request(AdviseRequest, request)
    if asked.done:
        raise InputError(
            "done",
            say("%(given)s passes given; a layout is arranged before it is skated", given=len(asked.done)),
        )
    if asked.aim.points is not None:
        raise InputError("aim", say("at_least given; layouts are compared by expected points"))
    for place, one in enumerate(asked.passes):
        if one.planned is None or one.planned not in one.options:
            raise InputError(f"passes[{place}].planned", say("expected one of the options of the pass"))
    problem = read_problem(asked)
    if not problem.edition.is_short and not packable(problem):
        raise InputError(
            "edition",
            say(
                "%(edition)s has rules that layouts cannot be compared under yet; "
                "the card, what a miss drags along and the advice at the boards are there all the same",
                edition=asked.edition,
            ),
        )
    return problem


def _check(wishes: Wishes, passes: int) -> None:
    for name, numbers in (("stays", wishes.stays), ("no_axel", wishes.no_axel)):
        wrong = [number for number in numbers if not 1 <= number <= passes]
        if wrong:
            raise InputError(
                name, say("pass %(given)s given; expected 1 to %(most)s", given=wrong[0], most=passes)
            )
    if wishes.most_changed is not None and wishes.most_changed < 0:
        raise InputError(
            "most_changed",
            say("%(given)s given; expected zero or more", given=wishes.most_changed),
        )


def _allowed(problem: Problem, place: int, today: Choices, wishes: Wishes) -> tuple[int, ...]:
    """Option numbers that a layout may plan at a pass."""
    codes = [option.code for option in problem.passes[place].options]
    numbers = [today[place]] if place + 1 in wishes.stays else range(len(codes))
    barred = place + 1 in wishes.no_axel
    return tuple(n for n in numbers if (code := codes[n]) is not None and not (barred and _has_axel(code)))


def _has_axel(code: str) -> bool:
    return any(jump.is_axel for jump in parse_jump_element(code).jumps)


def _described(problem: Problem, search: LayoutSearch, found: Found, today: Choices) -> SturdyLayout:
    rest = search.rest_of(found.choices)
    grid, chances = spread(rest, found.choices)
    keep_all = rest.plan_value(found.choices)
    elements = tuple(problem.passes[place].options[n].code for place, n in enumerate(found.choices))
    low, middle, high = (round(quantile(grid, chances, share) / 100, 2) for share in (0.1, 0.5, 0.9))
    return SturdyLayout(
        elements=elements,
        changed=tuple(n + 1 for n in range(len(today)) if found.choices[n] != today[n]),
        value=round(found.value / 100, DIGITS),
        keep_all=round(keep_all / 100, DIGITS),
        low=low,
        middle=middle,
        high=high,
        lost_to_rules=round((uncut_value(problem, found.choices) - keep_all) / 100, DIGITS),
        in_part=_in_part(problem, elements),
    )


def _in_part(problem: Problem, elements: tuple[str | None, ...]) -> tuple[str, ...]:
    """What does not count in full although everything lands, in words: `pass 5: 3F`."""
    jumps = [parse_jump_element(code) for code in elements if code is not None]
    if problem.edition.is_short:
        verdicts = judge_short(problem.edition, [ShortElement(one) for one in jumps])
    else:
        verdicts, _ = judge_all(problem.edition, jumps)
    return tuple(
        f"pass {number}: {one.jumps[ruling.jump - 1].name}"
        for number, (one, found) in enumerate(zip(jumps, verdicts, strict=True), start=1)
        for ruling in found.rulings
    )
