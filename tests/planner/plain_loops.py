"""Answers of the planner's loops to small questions: every kind of question that has loops of its own.

Expected points, a belief, a total to reach exactly, on a grid with and without room for the whole graph, the card,
where a program may end, every single change. `plain` answers the same ones without a compiler.
"""

from __future__ import annotations

from collections.abc import Iterator
from random import Random
from unittest.mock import patch

from app.errors import InputError
from app.legality.tally import Tally
from app.planner import graph, packed_target, plan, target
from app.planner.card import find_card
from app.planner.plan import Planner
from app.planner.single_changes import SingleChanges
from tests.agreement.cases import Request, case, with_target
from tests.agreement.compare import problem_of, reachable_points

EXPECTED = range(1, 60)
TARGETS = range(3, 160, 9)
CARDS = range(1, 40)


def answers() -> dict[str, list[float | str | None]]:
    """Every question by name, with its figures."""
    found: dict[str, list[float | str | None]] = {}
    for seed in EXPECTED:
        found[f"expected {seed}"] = _asked(case(seed))
    for seed in TARGETS:
        request = case(seed)
        points = reachable_points(problem_of(request), Random(seed))
        found[f"target {seed}"] = _asked(with_target(request, str(points)))
        for name, patches in _rooms():
            with patches:
                found[f"target {seed} {name}"] = _asked(with_target(request, str(points)))
    for seed in CARDS:
        found[f"card {seed}"] = _card(case(seed))
        found[f"ends {seed}"] = _ends(case(seed))
        found[f"changes {seed}"] = _changes(case(seed))
    return found


def _rooms() -> Iterator[tuple[str, patch.multiple]]:  # type: ignore[name-defined]  # a class without stubs
    yield "few exact needs", patch.multiple(packed_target, EXACT_SIZE=4)
    yield "no graph", patch.multiple(plan, NeedsTarget=_no_room)


def _no_room(*_: object) -> None:
    raise graph.TooLarge


def _asked(request: Request) -> list[float | str | None]:
    with patch.multiple(target, EXACT_STEPS=12):
        try:
            said = Planner(request).advise()
        except InputError as error:
            return [str(error)]
    options = [one.value for one in said.options]
    gains = [one.gain for one in said.swaps]
    return [said.value, said.best, said.keep_now_value, said.keep_all_value, *options, *gains]


def _card(request: Request) -> list[float | str | None]:
    try:
        found = find_card(request, 2)
    except InputError as error:
        return [str(error)]
    return [found.keep_all, found.value, found.full, len(found.rules)]


def _ends(request: Request) -> list[float | str | None]:
    """Where the program may end, the plan kept and the best answers followed."""
    planner, done = Planner(request), request["done"]
    try:
        spreads = (planner.spread(done, 0), planner.spread_of_best(done, 0))
    except InputError as error:
        return [str(error)]
    pairs = [zip(one.points, one.chances, strict=True) for one in spreads if one is not None]
    return [float(figure) for one in pairs for pair in one for figure in pair]


def _changes(request: Request) -> list[float | str | None]:
    """Every single change from the start, whatever was done."""
    asked = {name: value for name, value in request.items() if name != "done"}
    if not SingleChanges.fits(asked):
        return []
    changes = SingleChanges(asked)
    certain, future = changes.future(0, Tally(), (), 0, False, 0)
    said = changes.changes(future)
    return [certain, said.keep, *(gain for _, _, gain in said.gains)]
