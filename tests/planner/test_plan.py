"""A planner asked again pass after pass answers like one that is asked for the first time."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

import pytest

from app.errors import InputError
from app.planner.advice import Advice
from app.planner.plan import Planner
from tests.agreement.programs import short_program, usual_program
from tests.planner.requests_for_tests import one_pass

ROOT = Path(__file__).parents[2]
FREE_OLD, FREE_NEW = "isu/2025-26/senior/men/free", "isu/2026-27/senior/women/free"


def tapped(request: dict[str, Any], place: int, random: Random) -> dict[str, Any]:
    """What happened at a pass: some outcome of its plan, or something else tried."""
    one = request["passes"][place]
    tried = one["planned"] if random.random() < 0.7 else random.choice(one["options"])
    seen = random.choice(request["attempts"][tried])
    return {
        "code": seen["becomes"],
        "fall": seen["fall"],
        "late": one["late"],
        "planned": one["planned"],
        "tried": tried,
    }


def comparable(answer: Advice) -> Advice:
    """Without what depends on how much was solved before."""
    return replace(answer, states=0, seconds=0.0)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(
    "request_",
    [
        usual_program(FREE_OLD, 7, 5) | {"max_changes": None},
        usual_program(FREE_OLD, 7, 5),
        usual_program(FREE_NEW, 6, 6),
        short_program("isu/2025-26/senior/women/short", 4),
    ],
    ids=["free", "free, two changes", "free 2026/27", "short"],
)
def test_asked_again_equals_asked_afresh(request_: dict[str, Any], seed: int) -> None:
    random = Random(seed)
    planner = Planner(request_)
    done: list[dict[str, Any]] = []
    most = request_.get("max_changes")
    for place in range(len(request_["passes"])):
        rest = request_ | {"passes": request_["passes"][place:], "done": done}
        changes = sum(one["tried"] != one["planned"] for one in done)
        if most is not None and changes > most:
            return
        assert comparable(planner.advise(done, place)) == comparable(Planner(rest).advise())
        done = [*done, tapped(request_, place, random)]


@pytest.mark.parametrize("place", [-1, 1, 7])
def test_a_pass_that_is_not_there(place: int) -> None:
    with pytest.raises(InputError) as caught:
        Planner(one_pass(["2A"])).advise([], place)
    assert caught.value.field == "next_pass"


def test_a_faulty_tap_names_its_field_and_harms_nothing() -> None:
    planner = Planner(one_pass(["2A"]))
    with pytest.raises(InputError) as caught:
        planner.advise([{"code": "3Q"}], 0)
    assert caught.value.field == "done[0].code"
    assert planner.advise([{"code": "3T"}], 0).value == pytest.approx(3.30)


def test_prepared_answers_are_the_answers() -> None:
    """What was worked out before the tap is what the tap would have been told."""
    request = usual_program(FREE_OLD, 7, 5)
    prepared, plain = Planner(request), Planner(request)
    prepared.prepare([], 0)
    first = request["passes"][0]
    for seen in request["attempts"][first["planned"]]:
        done = [
            {
                "code": seen["becomes"],
                "fall": seen["fall"],
                "late": first["late"],
                "planned": first["planned"],
                "tried": first["planned"],
            }
        ]
        assert comparable(prepared.advise(done, 1)) == comparable(plain.advise(done, 1))


LOOPS_AFTER_WARMING = """
import sys
from numba.core.registry import CPUDispatcher
from app.planner.kernels import belief, card, departures, graph, needs, reach, rules, search
from app.planner.plan import Planner
from app.planner.warm import warm
from tests.agreement.programs import usual_program

def made():
    modules = (belief, card, departures, graph, needs, reach, rules, search)
    loops = {id(one): one for module in modules for one in vars(module).values() if isinstance(one, CPUDispatcher)}
    return {one.py_func.__name__: len(one.signatures) for one in loops.values()}

request = usual_program("isu/2026-27/senior/women/free", 4, 4)
if sys.argv[1] == "warm":
    warm()
before = made()
for aim in ({"kind": "expected"}, {"kind": "at_least", "points": 30}):
    planner = Planner({**request, "max_changes": 2, "aim": aim})
    planner.advise()
    planner.spread([], 0)
print(*(name for name, count in made().items() if count > before[name]))
"""


@pytest.mark.parametrize(("how", "something"), [("warm", False), ("cold", True)])
def test_after_warming_up_no_loop_is_made_or_fetched_any_more(how: str, something: bool) -> None:
    """Used to call `warm` and look at nothing. The cold run shows that the question would notice."""
    done = subprocess.run(
        [sys.executable, "-c", LOOPS_AFTER_WARMING, how], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert bool(done.stdout.split()) is something, done.stdout


def test_leaving_out_on_purpose_is_told_from_not_attempted() -> None:
    """Contract: `tried` null beside `planned` counts as a change, `tried` left unsaid does not.

    The two used to share one kept answer, since they are equal as values.
    """
    planner = Planner(
        {
            "edition": "isu/2025-26/senior/women/free",
            "passes": [
                {"planned": "3Lz", "options": ["3Lz"]},
                {"planned": "2A", "options": ["2A", "2A+2T"]},
            ],
            "attempts": {code: [{"becomes": code, "chance": 1}] for code in ("3Lz", "2A", "2A+2T")},
            "max_changes": 1,
        }
    )
    unsaid = planner.advise([{"code": None, "planned": "3Lz"}], 1)
    on_purpose = planner.advise([{"code": None, "planned": "3Lz", "tried": None}], 1)
    assert unsaid.best == "2A+2T"
    assert on_purpose.best == "2A"
