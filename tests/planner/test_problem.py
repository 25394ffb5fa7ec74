"""Every request that cannot be used: a clear error that names the field, never a wrong answer.

Outside fact: the `advise` contract (unknown edition or code, chances that don't sum to 1, a pass without
options, more done than boxes, nothing allowed remains: error).
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from app.errors import InputError, NotationError, ProgramError, UnknownEdition
from app.planner.problem import read_problem
from app.requests import AdviseRequest, read_request
from tests.planner.requests_for_tests import FREE, Request, clean, one_pass


def read(request: Request) -> Any:
    """The checked problem."""
    return read_problem(read_request(AdviseRequest, request))


def changed(**fields: Any) -> Request:
    """A good request with some fields replaced."""
    return one_pass(["3F", "3F+2T"], **fields)


def outcomes(*chances: float | str) -> list[Request]:
    """Outcomes of a 3F with these chances."""
    return [{"becomes": "3F", "chance": chance} for chance in chances]


BAD: dict[str, tuple[Request, str, str]] = {
    "unknown edition": (changed(edition="isu/1999-00/senior/women/free"), "edition", "no rulebook called"),
    "unknown code in done": (changed(done=[{"code": "3Q"}]), "done[0].code", "3Q"),
    "unknown code in a belief": (
        changed(done=[{"any_of": [{"code": "3T", "chance": 0.5}, {"code": "9T", "chance": 0.5}]}]),
        "done[0].any_of[1].code",
        "9T",
    ),
    "unknown planned code": (one_pass(["3F"], planned="XY"), "passes[0].planned", "XY"),
    "unknown option": (one_pass(["3F", "7Lz"], attempts=clean("3F")), "passes[0].options[1]", "7Lz"),
    "unknown code in attempts": (one_pass(["3F", "7Lz"]), "attempts[7Lz]", "7Lz"),
    "unknown outcome": (
        changed(attempts={**clean("3F+2T"), "3F": [{"becomes": "3Fx", "chance": 1}]}),
        "attempts[3F][0].becomes",
        "3Fx",
    ),
    "a spin is no option": (one_pass(["CCoSp4"]), "attempts[CCoSp4]", "expected a jump element"),
    "a star in done": (changed(done=[{"code": "3F*"}]), "done[0].code", "the engine finds them"),
    "+REP in done": (changed(done=[{"code": "3F+REP"}]), "done[0].code", "the engine finds them"),
    "a star in an outcome": (
        changed(attempts={**clean("3F+2T"), "3F": [{"becomes": "3F*", "chance": 1}]}),
        "attempts[3F][0].becomes",
        "the engine finds them",
    ),
    "chances below one": (
        changed(attempts={**clean("3F+2T"), "3F": outcomes(0.6, 0.3)}),
        "attempts[3F]",
        "chances sum to 0.9; expected 1",
    ),
    "chances above one": (
        changed(attempts={**clean("3F+2T"), "3F": outcomes(0.6, 0.5)}),
        "attempts[3F]",
        "chances sum to 1.1; expected 1",
    ),
    "chances after a fall": (
        {
            **changed(),
            "passes": [{"planned": "3F", "options": ["3F"], "attempts_after_fall": {"3F": outcomes(0.5)}}],
        },
        "passes[0].attempts_after_fall[3F]",
        "chances sum to 0.5; expected 1",
    ),
    "chances of a belief": (
        changed(done=[{"any_of": [{"code": "3T", "chance": 0.5}, {"code": "2T", "chance": 0.4}]}]),
        "done[0].any_of",
        "chances sum to 0.9; expected 1",
    ),
    "a negative chance": (
        changed(attempts={**clean("3F+2T"), "3F": outcomes(1.5, -0.5)}),
        "attempts.3F[0].chance",
        "less than or equal to 1",
    ),
    "a grade beyond +5": (
        changed(attempts={**clean("3F+2T"), "3F": [{"becomes": "3F", "chance": 1, "goe": 6}]}),
        "attempts.3F[0].goe",
        "less than or equal to 5",
    ),
    "no pass": ({"edition": FREE, "passes": []}, "passes", "at least 1"),
    "a pass without options": (
        changed(passes=[{"planned": "3F", "options": []}]),
        "passes[0].options",
        "at least 1",
    ),
    "an option without attempts": (
        changed(attempts=clean("3F")),
        "passes[0].options",
        "no entry in attempts",
    ),
    "an option twice": (one_pass(["3F", "3F"]), "passes[0].options[1]", "stands twice"),
    "more done than boxes": (changed(done=[{"code": "2S"}] * 8), "done", "8 elements done"),
    "code and belief at once": (
        changed(done=[{"code": "3T", "any_of": [{"code": "3T", "chance": 1}]}]),
        "done[0]",
        "either code or any_of",
    ),
    "neither code nor belief": (changed(done=[{"late": True}]), "done[0]", "either code or any_of"),
    "an unknown field": (changed(wishes=3), "wishes", "unknown field"),
    "an unknown aim": (changed(aim={"kind": "most"}), "aim.kind", "expected"),
    "a target without points": (changed(aim={"kind": "at_least"}), "aim", "points go with at_least"),
    "points without a target": (changed(aim={"points": 3}), "aim", "points go with at_least"),
    "a negative limit on changes": (changed(max_changes=-1), "max_changes", "greater than or equal to 0"),
    "changes that are forced": (
        one_pass(["3F"], planned="3Lz", max_changes=0),
        "max_changes",
        "nothing allowed remains",
    ),
    "forced after changes made": (
        one_pass(["3F"], planned="3Lz", max_changes=1, done=[{"code": "3S", "planned": "3T", "tried": "3S"}]),
        "max_changes",
        "1 are made and 1 passes cannot keep the plan",
    ),
    "an unknown switch": (changed(switches={"gravity": "off"}), "switches", "gravity"),
}


@pytest.mark.parametrize(("request_", "field", "words"), BAD.values(), ids=BAD)
def test_bad_input_names_the_field(request_: Request, field: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        read(request_)
    assert caught.value.field.startswith(field)
    assert words in str(caught.value)


def test_errors_have_their_place_in_the_tree() -> None:
    """Which kind of error it is, for callers that tell them apart."""
    with pytest.raises(UnknownEdition):
        read(changed(edition="isu"))
    with pytest.raises(ProgramError):
        read(changed(done=[{"code": "2S"}] * 8))
    with pytest.raises(NotationError):
        raise_notation()


def raise_notation() -> None:
    """A code that cannot be read, straight from the notation."""
    from app.domain.notation import parse_jump_element

    parse_jump_element("3Q")


def test_too_many_readings_are_refused() -> None:
    """Seven beliefs of two readings are 128 programs: more than anybody can mean."""
    unsure = {"any_of": [{"code": "3T", "chance": 0.5}, {"code": "2T", "chance": 0.5}]}
    assert len(read(changed(done=[unsure] * 6)).histories) == 64
    with pytest.raises(InputError, match="more than 64 readings"):
        read(changed(done=[unsure] * 7))


def test_thirds_written_as_decimals_are_accepted() -> None:
    third = "0.3333333333"
    attempts = {**clean("3F+2T"), "3F": outcomes(third, third, third)}
    assert len(read(changed(attempts=attempts)).passes[0].options[0].attempts) == 3


def test_a_box_left_free_is_no_element_done() -> None:
    """`code` null fills no box: seven elements and an empty pass are allowed."""
    request = changed(done=[{"code": "2S"}] * 6 + [{"code": None}])
    assert len(read(request).histories[0].done) == 7


def test_changes_done_are_counted_by_what_was_tried() -> None:
    """A miss is no change; a swap that failed is one; without `tried` there is none."""
    done = [
        {"code": "2F", "planned": "3F", "tried": "3F"},
        {"code": "3F", "planned": "3F+3T", "tried": "3F+2T"},
        {"code": "3S"},
        {"code": None, "planned": "2A", "tried": None},
    ]
    assert read(changed(done=done)).changes_done == 2


def test_chances_and_grades_are_read_exactly() -> None:
    attempts = {"3F": [{"becomes": "3F", "chance": "0.1", "goe": "1.3"}, {"becomes": None, "chance": "0.9"}]}
    first, second = read(one_pass(["3F"], attempts=attempts)).passes[0].options[0].attempts
    assert (first.chance, first.grade, second.element) == (Fraction(1, 10), Fraction(13, 10), None)


def test_attempts_of_a_pass_override_those_of_the_program() -> None:
    own = {"3F": [{"becomes": "2F", "chance": 1}]}
    request = one_pass(["3F"])
    request["passes"][0]["attempts"] = own
    (attempt,) = read(request).passes[0].options[0].attempts
    assert str(attempt.element) == "2F"
