"""Fragility against two reviews written differently, exhaustive search, and cases from outside."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from app import engine
from app.domain.rulings import CERTAINTIES
from app.errors import InputError
from app.planner import exhaustive
from app.planner.consequences import What
from app.planner.fragile import Failure, Fragility
from app.planner.fragility import fragility
from app.planner.problem import Problem, read_done, read_problem
from app.planner.slips import Kind, kind_of
from app.requests import AdviseRequest, DonePass, read_request

WOMEN = "isu/2025-26/senior/women/free"
MEN = "isu/2025-26/senior/men/free"
Outcomes = list[dict[str, Any]]

# Invented chances. Every outcome is the element itself or a failure, so that chances can be summed.
ATTEMPTS: dict[str, Outcomes] = {
    "3F+2T": [
        {"becomes": "3F+2T", "chance": 0.6, "goe": 0.5},
        {"becomes": "3F", "chance": 0.2, "goe": -1},
        {"becomes": "3F", "chance": 0.1, "goe": -5, "fall": True, "error": True},
        {"becomes": "2F", "chance": 0.1, "goe": -0.5},
    ],
    "3F": [{"becomes": "3F", "chance": 0.7, "goe": 1}, {"becomes": "1F", "chance": 0.3, "goe": 0}],
    "3S+3T": [
        {"becomes": "3S+3T", "chance": 0.5, "goe": 1},
        {"becomes": "3S+2T", "chance": 0.3, "goe": -0.5},
        {"becomes": "3S", "chance": 0.2, "goe": -1},
    ],
    "3S+2T": [{"becomes": "3S+2T", "chance": 0.8, "goe": 0}, {"becomes": None, "chance": 0.2}],
    "3S": [{"becomes": "3S", "chance": 1, "goe": 0}],
    "2A+2T": [{"becomes": "2A+2T", "chance": 0.9, "goe": 1}, {"becomes": "2A", "chance": 0.1, "goe": 0}],
    "2A": [{"becomes": "2A", "chance": 0.9, "goe": 1}, {"becomes": "1A", "chance": 0.1, "goe": 0}],
}
PROGRAMS: list[list[tuple[list[str], bool]]] = [
    [(["3S+3T"], False), (["3F+2T"], True), (["2A+2T", "2A"], True)],
    [(["3F+2T", "3F"], False), (["3F"], True), (["3S+2T", "3S"], True)],
    [(["3S+2T"], True), (["3S", "3S+3T"], True), (["3S", "3S+2T"], True), (["2A"], True)],
]


def request_of(program: list[tuple[list[str], bool]], edition: str = WOMEN, **more: Any) -> AdviseRequest:
    """A request from options (the first is planned) and whether the pass is late."""
    passes = [{"planned": codes[0], "options": codes, "late": late} for codes, late in program]
    wanted = {code for codes, _ in program for code in codes}
    attempts = {code: ATTEMPTS.get(code, [{"becomes": code, "chance": 1}]) for code in wanted}
    data = {"edition": edition, "passes": passes, "attempts": attempts, "max_changes": 2, **more}
    return read_request(AdviseRequest, data)


def solo_plan(*codes: str, edition: str = MEN, late_from: int = 99) -> Fragility:
    """Fragility of a plan whose attempts always land with grade 0."""
    sure = {code: [{"becomes": code, "chance": 1}] for code in codes}
    passes = [([code], n >= late_from) for n, code in enumerate(codes, 1)]
    return fragility(request_of(passes, edition, attempts=sure))


def the(found: Fragility, number: int, kind: Kind, becomes: str | None) -> Failure:
    """The one failure of that pass and kind."""
    (one,) = [x for x in found.failures if (x.number, x.kind, x.becomes) == (number, kind, becomes)]
    return one


def codes_with(request: AdviseRequest, one: Failure | None) -> list[engine.Performed]:
    """The planned program as skated, one pass failed."""
    rows = []
    for number, row in enumerate(request.passes, start=1):
        code = row.planned if one is None or one.number != number else one.becomes
        if code is not None:
            fell = one is not None and one.number == number and one.kind is Kind.FELL
            rows.append(engine.Performed(code, row.late, fell, False))
    return rows


@pytest.mark.parametrize("program", PROGRAMS)
def test_what_counts_for_less_later_is_the_difference_of_two_reviews(program: Any) -> None:
    request = request_of(program)
    book = engine.edition(request.edition)
    for one in fragility(request).failures:
        before = engine.review(book, codes_with(request, None)).lines
        after = list(engine.review(book, codes_with(request, one)).lines)
        if one.becomes is None:
            after.insert(one.number - 1, before[one.number - 1])
        grave = ["part", "nothing"]
        expected = set()
        for number, (was, now) in enumerate(zip(before, after, strict=True), start=1):
            earlier = {ruling.jump: ruling.ruling for ruling in was.rulings}
            for ruling in now.rulings if number != one.number else ():
                was_as_bad = earlier.get(ruling.jump) in grave[grave.index(ruling.ruling) :]
                expected |= set() if was_as_bad else {(number, ruling.jump, ruling.ruling)}
        found = {(e.number, r.jump, r.ruling) for e in one.effects for r in e.rulings}
        assert found == expected
        left_before = engine.left_to_use(book, codes_with(request, None))
        left_after = engine.left_to_use(book, codes_with(request, one))
        whats = {effect.what for effect in one.effects}
        assert (What.UNIT in whats) == (left_after.units > left_before.units)
        assert (What.BOX in whats) == (left_after.boxes > left_before.boxes)
        assert (What.REPEAT in whats) == (left_after.repeats > left_before.repeats)


def exact_rest(request: AdviseRequest, done: list[dict[str, Any]]) -> tuple[Fraction, Fraction, Fraction]:
    """By exhaustive search: keep all, the optimum, and what the done passes are ruled to be worth, hundredths."""
    problem = read_problem(request)
    passes = [DonePass.model_validate(one) for one in done]
    histories, changes = read_done(problem.edition, passes)
    rest: Problem = replace(
        problem, histories=histories, changes_done=changes, passes=problem.passes[len(done) :]
    )
    keep = exhaustive.fixed_plan_value(rest, [one.keep or 0 for one in rest.passes])
    skated = [engine.Performed(one["code"]) for one in done if one["code"] is not None]
    return keep, exhaustive.optimum(rest), Fraction(engine.review(problem.edition, skated).base_total)


def done_with(request: AdviseRequest, one: Failure, failed: bool) -> list[dict[str, Any]]:
    rows = []
    for row in request.passes[: one.number]:
        rows.append({"code": row.planned, "late": row.late, "planned": row.planned, "tried": row.planned})
    if failed:
        rows[-1] |= {"code": one.becomes, "fall": one.kind is Kind.FELL}
        if one.becomes is None:
            rows[-1] = {"code": None, "late": rows[-1]["late"]}
    return rows


def mean_grade(code: str, becomes: str | None, fall: bool) -> float:
    """Mean recorded grade of one end of an attempt; what the module promises where there is none."""
    outcomes = [o for o in ATTEMPTS.get(code, []) if o["becomes"] == becomes and o.get("fall", False) == fall]
    if outcomes:
        return sum(o["chance"] * o.get("goe", 0) for o in outcomes) / sum(o["chance"] for o in outcomes)
    if fall:
        return -5.0
    failed = [
        o for o in ATTEMPTS.get(code, []) if o["becomes"] not in (code, None) and not o.get("fall", False)
    ]
    weight = sum(o["chance"] for o in failed)
    return sum(o["chance"] * o.get("goe", 0) for o in failed) / weight if weight and becomes != code else 0.0


def goe_points(book: engine.Edition, line: engine.Line | None, grade: float) -> float:
    """A grade is worth a tenth of the most valuable jump that counts (ISU, grades of execution)."""
    element = None if line is None else engine.parse(line.code)
    jumps = [j for j in getattr(element, "jumps", ()) if not j.starred and j.revolutions is not None]
    return grade * max((book.values.value(j.name, j.variant) for j in jumps), default=0) / 1000


@pytest.mark.parametrize("program", PROGRAMS)
def test_cost_and_answers_agree_with_exhaustive_search(program: Any) -> None:
    request = request_of(program)
    book = engine.edition(request.edition)
    for one in fragility(request).failures:
        if one.number == len(program):
            continue
        fall = one.kind is Kind.FELL
        keep_a, _, base_a = exact_rest(request, done_with(request, one, False))
        keep_b, best_b, base_b = exact_rest(request, done_with(request, one, True))
        line_a = engine.review(book, codes_with(request, None)).lines[one.number - 1]
        line_b = None
        if one.becomes is not None:
            line_b = engine.review(book, codes_with(request, one)).lines[one.number - 1]
        goe = goe_points(book, line_a, mean_grade(one.planned, one.planned, False)) - goe_points(
            book, line_b, mean_grade(one.planned, one.becomes, fall)
        )
        # The first fall costs a whole point (ISU, falls).
        cost = float(base_a + keep_a - base_b - keep_b) / 100 + goe + fall
        assert one.cost == pytest.approx(cost, abs=1e-6)
        own = (line_a.base_value - (line_b.base_value if line_b else 0)) / 100 + goe + fall
        assert one.own == pytest.approx(own, abs=1e-6)
        assert one.replanned == pytest.approx(float(best_b - keep_b) / 100, abs=1e-6)
        for swap, anyway in zip(one.swaps, one.anyway, strict=True):
            assert 0.005 < swap.gain <= one.replanned + 1e-6
            assert anyway >= 0


@pytest.mark.parametrize("program", PROGRAMS)
def test_chance_times_cost_explains_the_expected_value_of_the_first_pass(program: Any) -> None:
    """What is expected from the start is the program with pass 1 landed, less chance times cost of its failures."""
    request = request_of(program)
    found = fragility(request)
    book = engine.edition(request.edition)
    row = request.passes[0]
    landed = {"code": row.planned, "late": row.late, "planned": row.planned, "tried": row.planned}
    line = engine.review(book, [engine.Performed(row.planned or "")]).lines[0]
    goe = goe_points(book, line, mean_grade(row.planned or "", row.planned, False))
    planner = engine.Planner(request)
    with_landed = (planner.advise([landed], 1).keep_all_value or 0) + line.base_value / 100 + goe
    lost = sum(one.expected_loss for one in found.failures if one.number == 1)
    assert planner.advise().keep_all_value == pytest.approx(with_landed - lost, abs=1e-6)
    assert lost > 0


def test_sums_are_chance_times_points() -> None:
    found = fragility(request_of(PROGRAMS[2]))
    assert found.expected_loss == pytest.approx(
        sum(x.chance * (x.own + x.consequence) for x in found.failures)
    )
    assert found.expected_consequences == pytest.approx(sum(x.chance * x.consequence for x in found.failures))
    worst = found.worst(99)
    assert [x.expected_loss for x in worst] == sorted((x.expected_loss for x in worst), reverse=True)
    assert all(x.chance > 0 and (x.effects or abs(x.consequence) > 0.005 or x.swaps) for x in worst)


def test_a_lost_triple_toe_behind_the_second_flip_costs_tail_and_repeat() -> None:
    """Olympic women's free skating of 2026, as the press reported it (anonymised in the trade's notes).

    6th of 7 passes, 3F+3T became a solo 3F: 4.62 for the tail and 1.75 for the repeat (5.83 -> 4.08) = 6.37.
    """
    found = solo_plan("3A", "3Lz+3T", "3F", "2A", "3Lo", "3F+3T", "3S", edition=WOMEN, late_from=5)
    one = the(found, 6, Kind.TAIL_LOST, "3F")
    assert one.own == pytest.approx(6.37)
    assert [ruling.ruling for ruling in one.own_rulings] == ["part"]
    assert What.UNIT in {effect.what for effect in one.effects}


def test_a_quad_salchow_opened_to_a_triple_takes_the_last_triple_salchow() -> None:
    """Olympic men's free skating of 2014: 4S came out as 3S, and the solo 3S at the end was lost.

    Under that season's rule it was a combination too many; under today's (any triple twice at most, technical
    panel handbook 2025/26, repetitions) it is the third 3S: all of its 4.30 is lost.
    """
    found = solo_plan("4S", "4T", "3A", "3Lz", "3F+Eu+3S", "2A", "3S")
    one = the(found, 1, Kind.POPPED, "3S")
    (lost,) = [effect for effect in one.effects if effect.what is What.NOTHING]
    assert (lost.number, lost.points) == (7, 430)
    assert "3S" in lost.rulings[0].why
    assert one.consequence == pytest.approx(4.30)
    assert one.own == pytest.approx(9.70 - 4.30)


def test_a_quad_toe_that_falls_to_a_triple_breaks_the_sixth_pass() -> None:
    """Men's event of 2010: 4T became 3T, so 3T, 3A and 3Lz were all repeated, and the pass with the last suffered.

    Today only the third jump repeated counts for nothing (two different triples and quads may be repeated,
    technical panel handbook 2025/26); the 2T behind it stands.
    """
    found = solo_plan("4T", "3A+3T", "3Lz", "3A", "3F", "3Lz+2T", "3S")
    one = the(found, 1, Kind.POPPED, "3T")
    (lost,) = [effect for effect in one.effects if effect.what is What.NOTHING]
    assert (lost.number, [r.jump for r in lost.rulings], lost.points) == (6, [1], 590)
    # Its own cost: 4T 9.50 for 3T 4.20.
    assert (one.own, one.consequence) == (pytest.approx(5.30), pytest.approx(5.90))


def test_a_shortened_triple_toe_voids_the_last_of_three_double_toes() -> None:
    """A national championship of 2020: three double toes, the third void (doubles twice at most)."""
    found = solo_plan("3Lz+3T", "3F+2T", "2A", "3Lo", "3S+2T", "3F", "2A", edition=WOMEN)
    one = the(found, 1, Kind.TAIL_SHORT, "3Lz+2T")
    (lost,) = [effect for effect in one.effects if effect.what is What.NOTHING]
    assert (lost.number, [r.jump for r in lost.rulings], lost.points) == (5, [2], 130)
    assert lost.rulings[0].why == "no more 2T: executed twice"
    assert lost.rulings[0].certainty in CERTAINTIES


def test_an_axel_not_attempted_is_owed_and_costs_the_last_box_only_when_it_is_reached() -> None:
    """Rule 611: a free skating holds an Axel-type jump. Seven passes less one: the last box stays open."""
    found = solo_plan("3Lz+3T", "3F+2T", "2A", "3Lo", "3S", "3F", "3Lo", edition=WOMEN)
    assert {e.what for e in the(found, 3, Kind.LEFT_OUT, None).effects} >= {What.AXEL, What.BOX}
    assert What.AXEL not in {e.what for e in the(found, 3, Kind.SINGLED, "1A").effects}


def test_a_doubled_solo_jump_of_a_short_program_counts_for_nothing() -> None:
    """Men's short program of 2015: 4T came as 2T, which is no allowed solo jump: nothing for it."""
    short = "isu/2025-26/senior/men/short"
    found = fragility(request_of([(["4T"], False), (["3A"], False), (["3Lz+3T"], False)], short))
    singled = [x for x in found.failures if x.number == 1 and x.kind is Kind.SINGLED]
    assert [ruling.ruling for ruling in singled[0].own_rulings] == ["nothing"]
    # The lost tail of the combination: the lone Lutz stands for it with +COMBO.
    lost = the(found, 3, Kind.TAIL_LOST, "3Lz")
    assert (What.COMBO, 3) in {(effect.what, effect.number) for effect in lost.effects}


@pytest.mark.parametrize(
    ("planned", "attempt", "kind"),
    [
        ("3Lz+3T", {"becomes": "3Lz", "fall": True}, (Kind.FELL, "3Lz")),
        ("3Lz+3T", {"becomes": "3Lz+3T<", "fall": True}, (Kind.FELL, "3T")),
        ("3Lz+3T", {"becomes": "2Lz"}, (Kind.POPPED, "3Lz")),
        ("2A", {"becomes": "1A"}, (Kind.SINGLED, "2A")),
        ("3F+2T+2Lo", {"becomes": "3F"}, (Kind.TAIL_LOST, "2T")),
        ("3F+2T+2Lo", {"becomes": "3F+2T+1Lo"}, (Kind.TAIL_SHORT, "2Lo")),
        ("3F+Eu+3S", {"becomes": "3F"}, (Kind.TAIL_LOST, "3S")),
        ("3F+Eu+3S", {"becomes": "3F+Eu+2S"}, (Kind.TAIL_SHORT, "3S")),
        ("3F", {"becomes": None}, (Kind.LEFT_OUT, "3F")),
        ("3F", {"becomes": "3F<"}, None),
        ("3F", {"becomes": "3F"}, None),
    ],
)
def test_kinds_of_failure(planned: str, attempt: dict[str, Any], kind: tuple[Kind, str] | None) -> None:
    """The kinds as the boards name them (common practice, no source)."""
    request = request_of([([planned], False)])
    data = request.model_dump() | {"attempts": {planned: [{"chance": 1, **attempt}]}}
    option = read_problem(read_request(AdviseRequest, data)).passes[0].options[0]
    element = engine.parse(planned)
    assert kind_of(element, option.attempts[0]) == kind  # type: ignore[arg-type]  # a jump element


def test_plain_failures_are_there_without_a_recorded_chance() -> None:
    found = solo_plan("3Lz+3T", "2A", edition=WOMEN)
    kinds = {(x.number, x.kind, x.becomes) for x in found.failures}
    assert kinds == {
        (1, Kind.FELL, "3Lz"),
        (1, Kind.POPPED, "2Lz"),
        (1, Kind.SINGLED, "1Lz"),
        (1, Kind.TAIL_LOST, "3Lz"),
        (1, Kind.TAIL_SHORT, "3Lz+2T"),
        (1, Kind.LEFT_OUT, None),
        (2, Kind.FELL, "2A"),
        (2, Kind.SINGLED, "1A"),
        (2, Kind.LEFT_OUT, None),
    }
    assert all(x.chance == 0 for x in found.failures)
    assert found.worst() == ()


def test_an_euler_before_the_first_jump_is_no_jump_that_could_fail() -> None:
    """Used to end in an IndexError: what stood before the Salchow was looked for."""
    found = solo_plan("1Eu+3S", "2A", edition=WOMEN)
    assert {(x.kind, x.becomes) for x in found.failures if x.number == 1} == {
        (Kind.FELL, "3S"),
        (Kind.POPPED, "2S"),
        (Kind.SINGLED, "1S"),
        (Kind.LEFT_OUT, None),
    }


def test_progress_is_told_to_the_end() -> None:
    told: list[tuple[int, int]] = []
    found = fragility(request_of(PROGRAMS[0]), lambda done, of: told.append((done, of)))
    assert told == [(n, len(found.failures)) for n in range(1, len(found.failures) + 1)]


def test_what_cannot_be_reckoned_is_refused_by_name() -> None:
    with pytest.raises(InputError, match="aim"):
        fragility(request_of(PROGRAMS[0], aim={"kind": "at_least", "points": 10}))
    belief = {"any_of": [{"code": "2T", "chance": 0.5}, {"code": "3T<<", "chance": 0.5}]}
    with pytest.raises(InputError, match="done"):
        fragility(request_of(PROGRAMS[0], done=[belief]))
    row = {"planned": "3Lo", "options": ["3S"]}
    with pytest.raises(InputError, match="passes"):
        fragility({"edition": WOMEN, "passes": [row], "attempts": {"3S": ATTEMPTS["3S"]}})
