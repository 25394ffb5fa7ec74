"""Faults, mends and traps: each mend reviewed anew by the engine, and cases worked from the rulebook."""

from __future__ import annotations

import pytest

from app import engine
from app.planner.consequences import What
from app.planner.mends import Mend, Planned, faults, traps
from app.planner.slips import Kind
from tests.planner.test_fragility import solo_plan

WOMEN = "isu/2025-26/senior/women/free"
# Invented: what a skater may have trained.
TRAINED = {"3Lo", "3Lo+2T", "2A", "2A+2T", "3S", "3S+2T", "3S+2Lo", "3F", "3F+2T", "3Lz", "3Lz+3T"}

FAULTY = [
    ["3Lz+3T", "3F+2T", "2A", "3Lo+2T", "3F", "3S+2T", "2A"],
    ["3Lz+3T", "3F+2T", "2A+2T", "3Lo+2Lo", "3F", "3S", "2A"],
    ["3Lz+3T", "3F+2T", "2A", "3Lo", "3F", "3S+2T", "2A"],
    ["3Lz", "3F", "3Lo", "3Lz", "3S", "3T", "2F"],
    ["3Lz+3T", "3F", "2A", "3Lo", "3F+2T", "3S+2T", "2A", "3T"],
]


def program_of(codes: list[str]) -> list[Planned]:
    """A plan whose last four passes are late."""
    return [Planned(code, place > 2) for place, code in enumerate(codes)]


def review_of(program: list[Planned | None]) -> tuple[set[tuple[int, int]], int]:
    """Jumps that count for less, by pass number, and the base total; by the engine's review."""
    here = [(number, one) for number, one in enumerate(program, start=1) if one is not None]
    found = engine.review(engine.edition(WOMEN), [engine.Performed(one.code, one.late) for _, one in here])
    bad = {
        (number, ruling.jump)
        for (number, _), line in zip(here, found.lines, strict=True)
        for ruling in line.rulings
    }
    return bad, found.base_total


def edited(program: list[Planned], mend: Mend) -> list[Planned | None]:
    """The program with one edit made."""
    found: list[Planned | None] = list(program)
    late = program[mend.number - 1].late
    found[mend.number - 1] = None if mend.code is None else Planned(mend.code, late)
    return found


@pytest.mark.parametrize("codes", FAULTY)
def test_every_mend_mends_and_is_worth_what_it_says(codes: list[str]) -> None:
    program = program_of(codes)
    bad, base = review_of(list(program))
    found = faults(engine.edition(WOMEN), program, [TRAINED] * 8)
    assert {one.number for one in found} == {number for number, _ in bad}
    for fault in found:
        assert fault.mends
        for mend in fault.mends:
            left, worth = review_of(edited(program, mend))
            assert not {one for one in left if one[0] == fault.number}
            assert left <= bad
            assert mend.points == worth - base >= 0


def test_the_third_double_toe_is_made_a_double_loop() -> None:
    """Doubles count twice; 2Lo is worth 1.70, late 1.87 for the whole element more than nothing."""
    book = engine.edition(WOMEN)
    program = program_of(["3Lz+3T", "3F+2T", "2A+2T", "3Lo", "3F", "3S", "2A"])
    assert faults(book, program, [TRAINED] * 8) == ()
    program = program_of(["3Lz+2T", "3F+2T", "2A", "3Lo", "3F", "3S+2T", "2A"])
    (fault,) = faults(book, program, [TRAINED] * 8)
    assert (fault.number, [ruling.jump for ruling in fault.rulings]) == (6, [2])
    best = next(mend for mend in fault.mends if mend.number == 6)
    assert (best.code, best.trained) == ("3S+2Lo", True)
    # (4.30 + 1.70) x 1.1 = 6.60 instead of 4.30 x 1.1 = 4.73.
    assert best.points == 187


def test_trained_elements_come_first_and_others_are_marked() -> None:
    program = program_of(["3Lz+2T", "3F+2T", "2A", "3Lo", "3F", "3S+2T", "2A"])
    (fault,) = faults(engine.edition(WOMEN), program, [()] * 8)
    order = [mend.trained for mend in fault.mends]
    assert order == sorted(order, reverse=True)
    loops = [mend for mend in fault.mends if mend.code == "3S+2Lo"]
    assert [mend.trained for mend in loops] in ([False], [])
    # What remains of a planned element needs no training of its own.
    assert any(mend.trained and mend.code == "3S" for mend in fault.mends)


def test_nothing_harder_is_made_up() -> None:
    """An edit that is not trained turns no more than what is planned."""
    for codes in FAULTY:
        program = program_of(codes)
        for fault in faults(engine.edition(WOMEN), program, [()] * 8):
            for mend in fault.mends:
                was, now = engine.parse(mend.was), None if mend.code is None else engine.parse(mend.code)
                turns = [jump.revolutions or 0 for jump in getattr(now, "jumps", ())]
                planned = [jump.revolutions or 0 for jump in getattr(was, "jumps", ())]
                assert len(turns) <= len(planned)
                assert all(mine <= theirs for mine, theirs in zip(turns, planned, strict=False))


def test_a_trap_is_a_plain_failure_that_takes_another_pass() -> None:
    """The same as the fragility of the plan says with chances left out (computed the other way there)."""
    codes = ["3Lz+3T", "3F+2T", "2A", "3Lo", "3S+2T", "3F", "2A"]
    found = traps(engine.edition(WOMEN), [Planned(code, False) for code in codes])
    (toe,) = [one for one in found if one.slip.kind is Kind.TAIL_SHORT]
    assert (toe.number, [(one.what, one.number) for one in toe.effects]) == (1, [(What.NOTHING, 5)])
    costly = {
        (one.number, effect.number)
        for one in solo_plan(*codes, edition=WOMEN).failures
        for effect in one.effects
        if effect.what in (What.NOTHING, What.PART)
    }
    assert {(one.number, effect.number) for one in found for effect in one.effects} == costly


def test_an_axel_that_is_the_only_one_is_a_trap_when_left_out() -> None:
    """A free skating holds an Axel-type jump (rule 611)."""
    found = traps(engine.edition(WOMEN), program_of(["3Lz+3T", "3F", "2A", "3Lo", "3S", "3T", "3Lo+2T"]))
    axel = [one for one in found if any(effect.what is What.AXEL for effect in one.effects)]
    assert [(one.number, one.slip.kind) for one in axel] == [(3, Kind.LEFT_OUT)]


def test_a_short_program_is_checked_whole() -> None:
    """The solo jump may not repeat a jump of the combination (handbook, repeated jump)."""
    book = engine.edition("isu/2025-26/senior/women/short")
    program = [Planned("3F+3T", False), Planned("2A", False), Planned("3F", True)]
    (fault,) = faults(book, program, [{"3Lz", "3Lo"}] * 3)
    assert fault.number == 3
    assert {mend.code for mend in fault.mends if mend.trained} >= {"3Lz", "3Lo"}
