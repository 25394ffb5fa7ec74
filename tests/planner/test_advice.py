"""What an answer says besides the optimum: order, ties, swaps, limits, what if all lands.

Outside facts: the `advise` contract; base values of 2025/26 (ISU Communication 2707: 3Lz 5.90, 3F 5.30,
3Lo 4.90, 3S 4.30, 3T 4.20, 2A 3.30, 2T 1.30, 2Lo 1.70); +REP keeps 70 %.
"""

from __future__ import annotations

import pytest

from app.engine import advise
from app.planner.plan import Planner
from tests.planner.requests_for_tests import FREE, clean, one_pass, two_passes


def test_values_of_a_program_without_chance() -> None:
    """3F and 3Lz clean: 5.30 + 5.90; the swap to 3Lz first would repeat it solo for 70 %."""
    answer = advise(two_passes(["3F", "3Lz"], ["3Lz"]))
    assert answer.value == pytest.approx(11.20)
    assert (answer.best, answer.keep, answer.if_landed) == ("3F", "3F", ("3F", "3Lz"))
    assert [option.element for option in answer.options] == ["3F", "3Lz"]
    assert answer.options[1].value == pytest.approx(5.90 + 4.13)
    assert answer.keep_now_value == answer.keep_all_value == answer.value
    assert answer.swaps[0].gain == pytest.approx(5.90 + 4.13 - 11.20)


def test_a_better_option_is_advised_and_its_swap_has_the_gain() -> None:
    answer = advise(one_pass(["3S", "3Lz"]))
    assert (answer.best, answer.keep) == ("3Lz", "3S")
    assert answer.value == pytest.approx(5.90)
    assert answer.keep_now_value == pytest.approx(4.30)
    (swap,) = answer.swaps
    assert (swap.number, swap.element) == (1, "3Lz")
    assert swap.gain == pytest.approx(1.60)


def test_equal_values_keep_the_planned_element() -> None:
    """3T starred as a third execution is worth as little as leaving it: the plan stays."""
    done = [{"code": "3T+2T"}, {"code": "3F+3T"}]
    for planned in ("3Lz+3T", "3Lz"):
        answer = advise(one_pass(["3Lz+3T", "3Lz"], planned=planned, done=done))
        assert answer.options[0].value == answer.options[1].value == pytest.approx(5.90)
        assert answer.best == answer.options[0].element == planned


def test_equal_values_prefer_fewer_changes_afterwards() -> None:
    """Two options that are no plan and worth the same now: first the one that keeps the rest.

    3F first forces the planned 3F afterwards down to 70 % or to a swap; 3Lz< of the same total does not.
    """
    request = {
        "edition": FREE,
        "passes": [
            {"planned": "2S", "options": ["2S", "3F", "3Lz"]},
            {"planned": "3F", "options": ["3F", "3Lz"]},
        ],
        "attempts": clean("2S", "3F", "3Lz"),
    }
    answer = advise(request)
    assert answer.options[0].value == answer.options[1].value == pytest.approx(5.30 + 5.90)
    assert [option.element for option in answer.options] == ["3Lz", "3F", "2S"]
    assert answer.if_landed == ("3Lz", "3F")


def test_swaps_are_numbered_in_the_whole_program() -> None:
    answer = advise(two_passes(["3S", "3Lo"], ["3T", "3F"], done=[{"code": "2A"}, {"code": "2S"}]))
    assert [(swap.number, swap.element) for swap in answer.swaps] == [(4, "3F"), (3, "3Lo")]
    assert [swap.gain for swap in answer.swaps] == pytest.approx([1.10, 0.60])


def test_swaps_stop_at_the_limit_on_changes() -> None:
    """Two changes made, two allowed: keep the plan, whatever a swap would bring."""
    changed = [{"code": "2F", "planned": "3F", "tried": "2F"}, {"code": "2S", "planned": "3S", "tried": "2S"}]
    answer = advise(one_pass(["2A", "3Lz"], done=changed, max_changes=2))
    assert answer.swaps == ()
    assert [option.element for option in answer.options] == ["2A"]
    assert answer.value == answer.keep_all_value == pytest.approx(3.30)
    free = advise(one_pass(["2A", "3Lz"], done=changed, max_changes=3))
    assert [swap.element for swap in free.swaps] == ["3Lz"]


def test_a_swap_is_used_where_it_is_worth_most() -> None:
    """One change allowed: 3T to 3F brings 1.10, 3S to 3Lo 0.60."""
    answer = advise(two_passes(["3S", "3Lo"], ["3T", "3F"], max_changes=1))
    assert answer.if_landed == ("3S", "3F")
    assert answer.value == pytest.approx(4.30 + 5.30)


def test_no_planned_option_means_no_plan_to_keep() -> None:
    answer = advise(one_pass(["3S"], planned="3Lz"))
    assert (answer.keep, answer.keep_now_value, answer.keep_all_value, answer.swaps) == (
        "3Lz",
        None,
        None,
        (),
    )


def test_leaving_a_pass_out_frees_its_box() -> None:
    """The last box of a program without an Axel counts for nothing: leave it to the 2A."""
    done = [{"code": code} for code in ("3Lz", "3F", "3Lo", "3S", "3T", "2F")]
    answer = advise(two_passes(["2Lz", None], ["2A"], done=done))
    assert (answer.best, answer.if_landed) == (None, (None, "2A"))
    assert answer.value == pytest.approx(3.30)


def test_late_credit_of_a_done_pass_is_part_of_the_decision() -> None:
    """Three late passes done, only the last three count: a fourth worth 1.30 takes 3Lz's 0.59 away."""
    done = [{"code": code, "late": True} for code in ("3Lz", "3F", "2A")]
    request = one_pass(["2T", None], done=done)
    request["passes"][0]["late"] = True
    answer = advise(request)
    values = {option.element: option.value for option in answer.options}
    assert values[None] == pytest.approx(0.59 + 0.53 + 0.33)
    assert values["2T"] == pytest.approx(1.43 + 0.53 + 0.33)


def test_falls_done_count_towards_graded_deductions() -> None:
    """Seniors: first and second fall 1 point each, the third 2 (official sheets)."""
    fallen = {"3F": [{"becomes": "3F", "chance": 1, "goe": -5, "fall": True}]}
    done = [{"code": "3Lz", "fall": True}, {"code": "3S", "fall": True}]
    assert advise(one_pass(["3F"], attempts=fallen)).value == pytest.approx(5.30 - 2.65 - 1)
    assert advise(one_pass(["3F"], attempts=fallen, done=done)).value == pytest.approx(5.30 - 2.65 - 2)


def test_rulings_explain_an_option() -> None:
    done = [{"code": "3F+2T"}, {"code": "3Lo+2T"}]
    answer = advise(one_pass(["3Lz+2T"], done=done))
    (ruling,) = answer.options[0].rulings
    assert (ruling.jump, ruling.ruling) == (2, "nothing")
    assert "2T" in ruling.why


def test_json_has_the_keys_of_the_contract() -> None:
    keys = "value best keep keep_now_value keep_all_value options swaps if_landed states exact seconds"
    said = advise(one_pass(["3S", "3Lz"])).as_json()
    assert list(said) == keys.split()
    assert set(said["options"][0]) == {"element", "value", "rulings"}
    assert set(said["swaps"][0]) == {"pass", "element", "value", "gain"}


def test_the_same_question_has_the_same_answer() -> None:
    request = two_passes(["3S", "3Lz"], ["3T", "3F"])
    assert Planner(request).advise() == Planner(request).advise()
