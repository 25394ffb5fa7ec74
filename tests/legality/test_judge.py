"""The judge and its tally: order of execution decides, nothing later changes an earlier ruling."""

from __future__ import annotations

from random import Random

import pytest

from app.domain.notation import parse_jump_element
from app.domain.rulings import RuleRef, ruling
from app.errors import ProgramError
from app.legality.judge import judge, judge_all
from app.legality.tally import Executed, Tally
from app.legality.verdict import verdict
from app.rulebook.editions import edition
from tests.legality.programs import after, called, elements, free
from tests.reference.random_programs import free_program

RULE = RuleRef("Handbook", "a paragraph", "read")


def test_the_tally_remembers_what_a_rule_may_ask() -> None:
    tally = after(free(), "3Lz+2T 3F+1Eu+3S 2A+2A+SEQ Lz 3Lz")
    assert (tally.boxes, tally.units, tally.long_units, tally.sequences) == (5, 3, 1, 1)
    assert (tally.eulers, tally.eulers_in_combinations, tally.axel) == (1, 1, True)
    assert tally.of("3Lz") == Executed("3Lz", 2, in_unit=True, repeated=True)
    assert tally.of("2A").times == 2
    assert tally.of("4T") == Executed("4T", 0, False, False)
    assert tally.times("3S") == 1
    assert tally.family_times("Lz") == 2  # the attempt without revolutions is no execution
    assert tally.repeated_names((3, 4, 5)) == ("3Lz",)


def test_an_euler_in_a_sequence_is_counted_apart() -> None:
    tally = after(free("2026-27"), "3Lo+Eu+2A+SEQ")
    assert (tally.eulers, tally.eulers_in_combinations) == (1, 0)


def test_equal_programs_in_another_order_may_share_a_tally() -> None:
    """The tally is what the planner merges states by: the same jumps in another order must compare equal."""
    assert after(free(), "2A 3Lz+2T 3F") == after(free(), "3F 2A 3Lz+2T")
    assert after(free(), "2A 3Lz+2T 3Lz") != after(free(), "2A 3Lz 3F+2T")


def test_an_extra_element_fills_no_unit_and_uses_no_jump() -> None:
    full = after(free("2026-27"), "2A 3Lz 3F 3Lo 3S 3T")
    more = after(free("2026-27"), "2A 3Lz 3F 3Lo 3S 3T 3Lz+2T")
    assert more.boxes == full.boxes + 1
    assert (more.units, more.executed) == (full.units, full.executed)


@pytest.mark.parametrize("seed", range(150))
def test_what_comes_later_changes_no_earlier_ruling(seed: int) -> None:
    """TPH25: order of execution decides, always. A cut program is ruled like the beginning of the whole."""
    program = free_program(seed)
    book = edition(program.edition)
    jumps = [parse_jump_element(one.code) for one in program.attempts]
    whole, _ = judge_all(book, jumps)
    cut = Random(seed).randint(0, len(jumps))
    assert judge_all(book, jumps[:cut])[0] == whole[:cut]


@pytest.mark.parametrize("seed", range(0, 150, 3))
def test_ruled_codes_can_be_judged_again(seed: int) -> None:
    """Stars and +REP that were handed in are ignored: the calls come out the same."""
    program = free_program(seed)
    book = edition(program.edition)
    ruled = called(book, " ".join(one.code for one in program.attempts))
    assert called(book, ruled) == ruled


def test_a_short_program_is_judged_whole() -> None:
    with pytest.raises(ProgramError, match=r"^edition: .* is a short program: judge it whole"):
        judge(edition("isu/2025-26/senior/women/short"), Tally(), elements("2A")[0])


def test_the_gravest_ruling_of_a_jump_wins() -> None:
    """A repeat beyond the quota as the first jump of a surplus unit: nothing, not 70 %."""
    done = "2A 3Lz+2T 3Lz 3F+2Lo 3F 3S+2T 3Lz+1T"
    assert called(free(), done).split()[-1] == "3Lz*+1T*"


def test_a_verdict_marks_stars_and_rep() -> None:
    element = parse_jump_element("3Lz+2T+2Lo")
    found = verdict(element, {2: ruling(2, "nothing", RULE, "why"), 1: ruling(1, "part", RULE, "why")})
    assert str(found.element) == "3Lz+2T*+2Lo+REP"
    assert [one.jump for one in found.rulings] == [1, 2]
    assert not found.counts_in_full
    assert (
        str(verdict(parse_jump_element("Lz"), {1: ruling(1, "nothing", RULE, "why")}, unmarked={1}).element)
        == "Lz"
    )
    assert verdict(element, {}).counts_in_full
