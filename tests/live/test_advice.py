"""The coach's limits: only trained elements, the threshold, at most two changes, nothing harder after a fall.

Elements and gains here are invented.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings, strategies as st

from app.live.advice import Swap, choose, done, is_harder, question, sure_things, unknown_chances
from app.live.events import Event, PassLeftOut, PassSkated, Reading
from app.live.fold import fold
from app.live.program import KnownElement, Limits, Outcome, Plan, PlannedPass, Setting, trained, why_untrained
from app.rulebook.editions import AT

TODAY = date(2026, 11, 25)
LIMITS = Limits()


def element(code: str, **changed: object) -> KnownElement:
    """An element that counts as trained, unless changed."""
    given_: dict[str, object] = {
        "ready": True,
        "attempts": 25,
        "landed": 18,
        "last_logged": TODAY,
        "outcomes": (Outcome(code, 0.7, 1.0), Outcome(code, 0.3, -5.0, fall=True)),
    }
    return KnownElement(code, **{**given_, **changed})  # type: ignore[arg-type]


OFFERED = {code: element(code) for code in ("3Lz+3T", "3F", "3F+2T", "3Lo", "3Lo+2T", "3S", "3S+3T")}
PLAN = Plan(
    "isu/2026-27/senior/women/free",
    Setting.RUN_THROUGH,
    "",
    (
        PlannedPass("3Lz+3T", 18, False),
        PlannedPass("3F", 42, False, ("3F+2T", "3F+3T")),
        PlannedPass("3Lo", 128, True, ("3Lo+2T", None)),
        PlannedPass("3S", 190, True, ("3S+3T",)),
    ),
)
LOST_TAIL = PassSkated(1, "3Lz+3T", "tail lost", (Reading("3Lz", error=True),))
FALL = PassSkated(1, "3Lz+3T", "fell on the 3Lz", (Reading("3Lz", fall=True, error=True),))


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        ({}, None),
        ({"attempts": 10}, None),
        ({"ready": False}, "not ticked"),
        ({"attempts": 9}, "9 logged attempts, 10 needed"),
        ({"last_logged": TODAY - timedelta(days=60)}, None),
        ({"last_logged": TODAY - timedelta(days=61)}, "nothing logged in the last 60 days"),
        ({"last_logged": None}, "nothing logged"),
        ({"outcomes": ()}, "not enough data"),
    ],
)
def test_what_counts_as_trained(changed: dict[str, object], why: str | None) -> None:
    said = why_untrained(element("3Lo+2T", **changed), LIMITS, TODAY)
    assert said == why or (why is not None and said is not None and why in said)


def test_the_question_offers_trained_elements_only() -> None:
    asked = question(PLAN, OFFERED, OFFERED, LIMITS)
    assert [row["options"] for row in asked["passes"]] == [
        ["3Lz+3T"],
        ["3F", "3F+2T"],  # 3F+3T is an option of the layout but not trained
        ["3Lo", "3Lo+2T", None],
        ["3S", "3S+3T"],
    ]
    assert set(asked["attempts"]) == {"3Lz+3T", "3F", "3F+2T", "3Lo", "3Lo+2T", "3S", "3S+3T"}
    assert asked["max_changes"] == 2


def test_the_odds_of_the_moment_reach_the_question_whatever_was_entered() -> None:
    """After a fall half the odds of clean, women's late triples 1.80 the odds of a major failure (published).

    Invented chances, as entered by hand: 0.7 clean, 0.3 fallen.
    """
    asked = question(PLAN, OFFERED, OFFERED, LIMITS)["passes"]
    assert [sorted(row.keys() & {"attempts", "attempts_after_fall"}) for row in asked] == [
        [],  # nothing before, not late
        ["attempts_after_fall"],
        ["attempts", "attempts_after_fall"],
        ["attempts", "attempts_after_fall"],
    ]
    clean = [row["chance"] for row in asked[1]["attempts_after_fall"]["3F+2T"]]
    assert clean[0] / clean[1] == pytest.approx(0.5 * 0.7 / 0.3, rel=1e-4)
    late = [row["chance"] for row in asked[2]["attempts"]["3Lo"]]
    assert late[1] / late[0] == pytest.approx(1.80 * 0.3 / 0.7, rel=1e-4)
    both = [row["chance"] for row in asked[3]["attempts_after_fall"]["3S+3T"]]
    assert both[0] / both[1] == pytest.approx(0.5 / 1.80 * 0.7 / 0.3, rel=1e-4)


@pytest.mark.parametrize(
    ("fall", "late", "kept"),
    [(False, True, {"attempts"}), (True, False, {"attempts_after_fall"}), (False, False, set())],
)
def test_each_kind_of_odds_can_be_switched_off(fall: bool, late: bool, kept: set[str]) -> None:
    limits = Limits(after_fall_odds=fall, second_half_odds=late)
    asked = question(PLAN, OFFERED, OFFERED, limits)["passes"]
    assert set().union(*asked) & {"attempts", "attempts_after_fall"} == kept


def test_a_short_program_has_no_odds_of_the_second_half() -> None:
    """The sample is free skatings."""
    short = replace(PLAN, edition="isu/2026-27/senior/women/short", passes=PLAN.passes[1:])
    asked = question(short, OFFERED, OFFERED, LIMITS)["passes"]
    assert not any("attempts" in row for row in asked)


def test_a_short_program_stays_one_when_its_rulebook_has_changed_since() -> None:
    """Used to be taken for a free skating: the name then carries the fingerprint of the state it goes on under."""
    assert replace(PLAN, edition=f"isu/2026-27/senior/women/short{AT}0123456789abcdef").is_short
    assert not replace(PLAN, edition=f"isu/2026-27/senior/women/free{AT}0123456789abcdef").is_short


def test_a_planned_element_without_a_log_is_reckoned_as_others_at_the_level_and_said() -> None:
    """Official sheets 2022/23-2025/26, first jumps of senior women: 43.2 % of 533 3F clean."""
    asked = question(PLAN, {}, {}, LIMITS)
    clean = next(
        one["chance"] for one in asked["attempts"]["3F"] if one["becomes"] == "3F" and "error" not in one
    )
    assert 0.3 < clean < 0.6
    assert [row["options"] for row in asked["passes"]][1] == ["3F"]  # no log: reckoned, never offered
    assert unknown_chances(PLAN, {"3F": element("3F")}) == ("3Lz+3T", "3Lo", "3S")
    assert sure_things(PLAN, {}) == ()


def test_what_even_the_sheets_do_not_know_is_reckoned_as_landed() -> None:
    """1T: four first jumps on all sheets."""
    plan = replace(PLAN, passes=(PlannedPass("1T", 18, False),))
    assert question(plan, {}, {}, LIMITS)["attempts"]["1T"] == [{"becomes": "1T", "chance": 1.0, "goe": 0.0}]
    assert sure_things(plan, {}) == ("1T",)


def test_the_done_list_carries_readings_and_what_was_tried() -> None:
    doubt = PassSkated(2, "3F", "?", (Reading("3F", chance=0.5), Reading("3F<", chance=0.5)))
    state = fold(PLAN, [FALL, doubt, PassLeftOut(3)])
    assert done(state) == [
        {
            "code": "3Lz",
            "late": False,
            "fall": True,
            "error": True,
            "planned": "3Lz+3T",
            "tried": "3Lz+3T",
        },
        {
            "late": False,
            "planned": "3F",
            "tried": "3F",
            "any_of": [{"code": "3F", "chance": 0.5}, {"code": "3F<", "chance": 0.5}],
        },
        {"code": None, "late": True},
    ]


def test_where_two_loggers_differ_the_engine_is_asked_about_both_accounts() -> None:
    """Half and half; an account that it was not attempted keeps the box free, a change anybody saw counts."""
    landed = PassSkated(1, "3Lz+3T", "as planned", (Reading("3Lz+3T"),))
    other = PassSkated(1, "3Lz", "as planned", (Reading("3Lz"),))
    (said,) = done(fold(PLAN, [landed, FALL]))
    both = [{"code": "3Lz+3T", "chance": 0.5}, {"code": "3Lz", "fall": True, "error": True, "chance": 0.5}]
    assert (said["tried"], said["any_of"]) == ("3Lz+3T", both)
    (said,) = done(fold(PLAN, [landed, PassLeftOut(1)]))
    assert said["any_of"] == [{"code": "3Lz+3T", "chance": 0.5}, {"code": None, "chance": 0.5}]
    (said,) = done(fold(PLAN, [landed, other]))
    assert (said["planned"], said["tried"]) == ("3Lz+3T", "3Lz")
    assert fold(PLAN, [landed, other]).changes == 1


def test_the_best_swap_is_chosen_when_it_brings_the_threshold() -> None:
    swaps = [Swap(3, "3Lo", "3Lo+2T", 0.5), Swap(4, "3S", "3S+3T", 0.49)]
    assert choose(swaps, fold(PLAN, [LOST_TAIL]), OFFERED, LIMITS).swap == swaps[0]


def test_under_the_threshold_the_plan_is_kept() -> None:
    choice = choose([Swap(3, "3Lo", "3Lo+2T", 0.49)], fold(PLAN, [LOST_TAIL]), OFFERED, LIMITS)
    assert choice.swap is None
    assert choice.best_gain == 0.49


ELEMENTS = st.builds(
    lambda code, ready, attempts, days, known: element(
        code,
        ready=ready,
        attempts=attempts,
        last_logged=None if days is None else TODAY - timedelta(days=days),
        **({} if known else {"outcomes": ()}),
    ),
    st.sampled_from(("3F+2T", "3F+3T", "3Lo+2T", "3S+3T")),
    st.booleans(),
    st.integers(0, 30),
    st.none() | st.integers(0, 90),
    st.booleans(),
)


@settings(deadline=None)  # a busy machine
@given(st.lists(ELEMENTS, unique_by=lambda one: one.code), st.booleans(), st.booleans())
def test_no_path_offers_an_untrained_pairing(elements: list[KnownElement], fall: bool, late: bool) -> None:
    """Trained: ticked, ten attempts, one in the last sixty days, chances known (the definition, written out again)."""
    known = {one.code: one for one in elements}
    limits = Limits(after_fall_odds=fall, second_half_odds=late)
    asked = question(PLAN, trained(tuple(elements), limits, TODAY), known, limits)
    for planned, row in zip(PLAN.passes, asked["passes"], strict=True):
        for code in {*row["options"], *row.get("attempts", ()), *row.get("attempts_after_fall", ())}:
            if code is None or code == planned.code:
                continue
            one = known[code]
            logged = one.last_logged
            assert one.ready
            assert one.attempts >= 10
            assert logged is not None
            assert TODAY - logged <= timedelta(days=60)
            assert one.outcomes
    swaps = [Swap(n, row.code, code, 9.0) for n, row in enumerate(PLAN.passes, 1) for code in known]
    chosen = choose(swaps, fold(PLAN, [LOST_TAIL]), trained(tuple(elements), limits, TODAY), limits).swap
    assert chosen is None or why_untrained(known[chosen.element or ""], limits, TODAY) is None


def test_an_untrained_swap_is_never_chosen_whatever_it_brings() -> None:
    assert choose([Swap(2, "3F", "3F+3T", 4.6)], fold(PLAN, [LOST_TAIL]), OFFERED, LIMITS).swap is None


def test_after_two_changes_the_plan_is_kept() -> None:
    changed: list[Event] = [
        PassSkated(1, "3Lz", "as planned", (Reading("3Lz"),)),
        PassSkated(2, "3F+2T", "as planned", (Reading("3F+2T"),)),
    ]
    swap = Swap(3, "3Lo", "3Lo+2T", 3.0)
    assert choose([swap], fold(PLAN, changed), OFFERED, LIMITS).swap is None
    assert choose([swap], fold(PLAN, changed[:1]), OFFERED, LIMITS).swap == swap


def test_right_after_a_fall_nothing_harder_unless_the_coach_allows_it() -> None:
    now, later = Swap(2, "3F", "3F+2T", 3.0), Swap(4, "3S", "3S+3T", 1.0)
    state = fold(PLAN, [FALL])
    choice = choose([now, later], state, OFFERED, LIMITS)
    assert choice.swap == later
    assert "3F+2T" in choice.held_back
    assert choose([now, later], state, OFFERED, Limits(harder_after_fall=True)).swap == now


def test_a_harder_swap_too_small_to_be_offered_is_no_reason() -> None:
    """Used to be: "not offered" named any harder swap right after a fall, also one that loses points."""
    state = fold(PLAN, [FALL])
    assert choose([Swap(2, "3F", "3F+2T", -0.4)], state, OFFERED, LIMITS).held_back == ""


@pytest.mark.parametrize(
    ("new", "planned", "harder"),
    [
        ("3Lo+2T", "3Lo", True),
        ("3F", "3F+2T", False),
        ("3Lz+3T", "3Lz+2T", True),
        ("3Lz+2T", "3Lz+3T", False),
        ("3T", "2A", True),
        ("2A", "3Lo", False),
        ("3S", "3Lo", False),
        ("2A+3T", "3F+2T", True),
        # An Axel takes off forwards: half a turn more (ISU scale of values 2025/26: 2A 3.30, 2T 1.30).
        ("2A", "2T", True),
        ("3A", "3T", True),
        ("1A", "1T", True),
        ("2T", "2A", False),
        # Equal turns: the take-off with more value in every ISU scale of values (3Lz 5.90, 3F 5.30, 3Lo 4.90, 3T 4.20).
        ("3Lz", "3T", True),
        ("3F+2Lo", "3F+2T", True),
        ("3F+2T", "3Lz+2T", False),
        # An Euler is a jump to land and take off from.
        ("2F+1Eu+2S", "2F+2Lo", True),
    ],
)
def test_harder_means_a_jump_more_or_a_harder_one(new: str, planned: str, harder: bool) -> None:
    assert is_harder(new, planned) is harder


GAINS = st.lists(
    st.builds(
        Swap,
        st.integers(2, 4),
        st.just("3F"),
        st.sampled_from(["3F+2T", "3Lo+2T", "3F+3T", "3S", None]),
        st.floats(-5, 5),
    ),
    max_size=8,
)


@settings(deadline=None)  # a busy machine
@given(GAINS, st.floats(0, 2), st.booleans())
def test_whatever_the_engine_says_the_limits_hold(swaps: list[Swap], threshold: float, fell: bool) -> None:
    state = fold(PLAN, [FALL if fell else LOST_TAIL])
    chosen = choose(swaps, state, OFFERED, Limits(threshold=threshold)).swap
    if chosen is None:
        return
    assert chosen.gain >= threshold
    assert chosen.element is None or chosen.element in OFFERED
    if fell and chosen.number == 2 and chosen.element is not None:
        assert not is_harder(chosen.element, chosen.planned)


def test_trained_is_what_has_no_reason_against_it() -> None:
    known = (element("3F"), element("3F+3T", attempts=3))
    assert list(trained(known, LIMITS, TODAY)) == ["3F"]
