"""Combinations and sequences. TPH25 = ISU Technical Panel Handbook 2025/26; sheet = an official ISU sheet."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.domain.notation import parse_jump_element
from app.legality.units import misplaced_euler, unit_facts
from app.rulebook.editions import edition
from app.rulebook.schema import Inside
from tests.legality.programs import BESIDE, after, called, free, last

OLD, NEW = free(), free("2026-27")

FACTS = [
    # season, code, unit, sequence, jumps that count towards its length, Eulers
    ("2025-26", "3Lz", False, False, 1, 0),
    ("2025-26", "3Lz+3T", True, False, 2, 0),
    ("2025-26", "3F+1Eu+3S", True, False, 3, 1),  # TPH25: a listed jump, one of the three
    ("2026-27", "3F+Eu+3S", True, False, 2, 1),  # slides 2026: not counted
    ("2026-27", "3F+2T+Eu+3S", True, False, 3, 1),
    ("2025-26", "3F+2A+SEQ", True, True, 2, 0),
    ("2025-26", "3F+COMBO", True, False, 1, 0),
    ("2025-26", "1Eu+2F", False, False, 1, 0),  # TPH25: an Euler without a jump before it is not listed
    ("2025-26", "2F+1Eu", False, False, 1, 0),
    ("2025-26", "2F+1Eu+COMBO+3S", True, False, 3, 1),
]


@pytest.mark.parametrize(("season", "code", "unit", "sequence", "listed", "eulers"), FACTS)
def test_what_a_unit_is(season: str, code: str, unit: bool, sequence: bool, listed: int, eulers: int) -> None:
    facts = unit_facts(free(season), parse_jump_element(code))
    assert (facts.is_unit, facts.is_sequence, facts.listed, facts.eulers) == (unit, sequence, listed, eulers)
    assert facts.is_combination == (unit and not sequence)


def test_an_euler_stands_between_two_listed_jumps() -> None:
    inside, before, behind = (parse_jump_element(code) for code in ("3F+1Eu+3S", "1Eu+3S", "3F+1Eu"))
    assert not misplaced_euler(inside, 2)
    assert misplaced_euler(before, 1)
    assert misplaced_euler(behind, 2)
    assert not misplaced_euler(inside, 1)


CALLS = [
    # as executed -> as called, seasons until 2025/26
    ("2A 3Lz+3T 3F+2T 3Lo+2Lo 3S+2T", "2A 3Lz+3T 3F+2T 3Lo+2Lo 3S+2T*+REP"),  # TPH25: a fourth unit
    ("2A+2T 3Lz+3T 3F+2T 3Lo+1Eu+3S", "2A+2T 3Lz+3T 3F+2T 3Lo+1Eu*+3S*+REP"),  # slides 2026
    ("3T+2A+SEQ 3S+1A+2T+SEQ", "3T+2A+SEQ 3S+1A*+2T*+SEQ+REP"),  # TPH25: second sequence
    ("3S+2T+2T 3T+2A+2A+SEQ", "3S+2T+2T 3T+2A+2A*+SEQ"),  # TPH25: second unit of three
    ("2A+1Eu+3S 3Lo+1Eu+3F", "2A+1Eu+3S 3Lo+1Eu+3F*"),  # sheet: the Euler stays
    ("2A+2T+2T+2Lo", "2A+2T+2T+2Lo*"),  # a fourth jump
    ("2A 3T+COMBO+2T", "2A 3T+COMBO+2T*"),  # TPH25: fall or step-out between
    ("2A+1Eu+COMBO+3S", "2A+1Eu+COMBO+3S*"),  # TPH25
    ("3S+SEQ+2T+2A", "3S+SEQ+2T*+2A*"),  # TPH25
    ("2A 1Eu+2F", "2A 1Eu*+2F"),  # slides: 2F only; the Euler is no listed jump
    (
        "2A 3T+COMBO 3F+COMBO 3S+COMBO 3Lo+2T",
        "2A 3T+COMBO 3F+COMBO 3S+COMBO 3Lo+2T*+REP",
    ),  # broken ones take a place
]


@pytest.mark.parametrize(("done", "expected"), CALLS)
def test_units_until_2025_26(done: str, expected: str) -> None:
    assert called(OLD, done) == expected


CALLS_2026 = [
    # press report June 2024 and slides 2026: two units, one sequence, one Euler that does not count
    ("2A 3Lz+3T 3F+2T 3Lo+2Lo", "2A 3Lz+3T 3F+2T 3Lo+2Lo*+REP"),
    ("2A 3F+Eu+3S 3Lz+2T+2Lo", "2A 3F+Eu+3S 3Lz+2T+2Lo"),  # the Euler left the long unit open
    ("2A 3F+2T+Eu+3S 3Lz+2T+2Lo", "2A 3F+2T+Eu+3S 3Lz+2T+2Lo*"),
    ("2A 3F+2T+2Lo 3Lz+Eu+3S", "2A 3F+2T+2Lo 3Lz+Eu+3S"),
    ("2A 3F+Eu+3S 3Lz+Eu+3S", "2A 3F+Eu+3S 3Lz+Eu*+3S*"),  # what a second Euler costs is inferred
    ("3Lo+Eu+2A+SEQ 3Lz+3T", "3Lo+Eu+2A+SEQ 3Lz+3T"),  # inside the sequence it may stand
    ("3F+2A+SEQ 3Lz+Eu+3S", "3F+2A+SEQ 3Lz+Eu*+3S*"),  # beside a sequence it may not
    ("3Lz+Eu+3S 3F+2A+SEQ", "3Lz+Eu+3S 3F+2A*+SEQ+REP"),
    # an Euler before the first jump is no listed jump and takes nothing with it
    ("2A+Eu+3S Eu+3Lz+Eu+3F", "2A+Eu+3S Eu*+3Lz+Eu*+3F*"),
]


@pytest.mark.parametrize(("done", "expected"), CALLS_2026)
def test_units_from_2026_27(done: str, expected: str) -> None:
    assert called(NEW, done) == expected


def test_the_other_reading_bars_euler_and_sequence_altogether() -> None:
    """Slides 2026: an Euler and a sequence may not both be in the program."""
    strict = free("2026-27", **{BESIDE: "never"})
    assert called(strict, "3Lo+Eu+2A+SEQ") == "3Lo+Eu*+2A*+SEQ"
    assert called(strict, "3F+2A+SEQ 3Lz+Eu+3S") == "3F+2A+SEQ 3Lz+Eu*+3S*"
    assert called(strict, "3Lo 3F+Eu+3S 3Lz+2A+SEQ") == "3Lo 3F+Eu+3S 3Lz+2A*+SEQ+REP"


def test_where_two_rules_speak_of_a_jump_nothing_wins_then_the_first() -> None:
    """TPH25: of a surplus unit the first jump counts, in part; one without value has none to keep."""
    full = "2A+2T 3Lz+3T 3F+2Lo "
    lead, tail = last(OLD, full + "Lz+2S")
    assert (lead.ruling, lead.why) == ("nothing", "Lz without a full revolution has no value")
    assert called(OLD, full + "Lz+2S").split()[-1] == "Lz+2S*"
    lead, tail = last(OLD, full + "3S+T")
    assert (lead.ruling, tail.ruling) == ("part", "nothing")
    assert tail.why == "only 3 combinations and sequences count"


def test_a_rulebook_may_allow_more_jumps_in_every_unit() -> None:
    """Invented numbers: three jumps in every unit, four in one."""
    units = OLD.rules.units
    assert units
    wide = units.model_copy(update={"usual_jumps": 3, "most_jumps": 4})
    own = replace(OLD, name="own", rules=OLD.rules.model_copy(update={"units": wide}))
    done = "2A+2T+2Lo 3F+2T+2Lo+2S 3Lz+1T+1T+1T"
    assert called(own, done) == "2A+2T+2Lo 3F+2T+2Lo+2S 3Lz+1T+1T+1T*"
    assert after(own, "2A+2T+2Lo").long_units == 0


def test_a_second_sequence_beside_an_euler_is_barred_where_the_two_may_not_stand_together() -> None:
    """Slides 2026: an Euler and a sequence may not both be in the program. Invented: two sequences allowed."""
    units = NEW.rules.units
    assert units
    rules = NEW.rules.model_copy(update={"units": units.model_copy(update={"most_sequences": 2})})
    for reading, expected in (("never", "3S+2A*+SEQ+REP"), ("only inside the sequence", "3S+2A+SEQ")):
        own = replace(NEW, name="own", rules=rules, settings={BESIDE: reading})
        assert called(own, "3Lo+Eu+2A+SEQ 3S+2A+SEQ").split()[-1] == expected


def test_an_euler_is_no_double_of_a_juvenile_unit() -> None:
    """Slides 2026, juvenile: at most two doubles in a unit of three, and a single; an attempt is neither."""
    juvenile = edition("usa/2025-26/juvenile/all/free")
    assert called(juvenile, "2A 2Lz+1Eu+2S") == "2A 2Lz+1Eu+2S"
    assert called(juvenile, "2A 2Lz+2T+2Lo") == "2A 2Lz+2T+2Lo*"
    assert called(juvenile, "2A 2Lz+T+2Lo") == "2A 2Lz+T+2Lo"


def test_limits_inside_a_unit_by_its_length() -> None:
    """Invented: in a unit of three one single, the Euler is none; in one of four something else."""
    units = OLD.rules.units
    assert units
    inside = tuple(
        Inside(jumps=jumps, revolutions=(turns,), most=most) for jumps, turns, most in ((4, 3, 1), (3, 1, 1))
    )
    rules = OLD.rules.model_copy(update={"units": units.model_copy(update={"inside": inside})})
    own = replace(OLD, name="own", rules=rules)
    assert called(own, "2F+1T+1Lo") == "2F+1T+1Lo*"
    assert called(own, "2F+1Eu+1S") == "2F+1Eu+1S"


def test_each_reason_is_said_with_its_rule() -> None:
    first, second = last(OLD, "2A+2T 3Lz+3T 3F+2T 3Lo+2Lo")
    assert (first.jump, first.ruling) == (1, "part")
    assert first.why == "only 3 combinations and sequences count: the first jump keeps 70 %"
    assert (second.jump, second.ruling, second.certainty) == (2, "nothing", "read")
    assert last(OLD, "2A+2A+SEQ 3F+1A+SEQ")[1].why == "only 1 sequence counts"
    assert (
        last(OLD, "3S+2T+2T 3T+2A+2Lo+SEQ")[0].why
        == "only 2 jumps count in this unit: the unit of 3 jumps is already used"
    )
    assert last(OLD, "2A+2T+1T+1T")[0].why == "only 3 jumps count in this unit"
    assert last(OLD, "3T+COMBO+2T")[0].why == "the unit was broken before this jump"
    assert last(OLD, "1Eu+2F")[0].why == "an Euler counts only between two listed jumps"
    assert last(NEW, "3F+Eu+3S 3Lz+Eu+3S")[0].why == "only 1 Euler in the program"
    assert last(NEW, "3F+2A+SEQ 3Lz+Eu+3S")[0].why == "no Euler in a combination beside a sequence"


def test_what_is_written_nowhere_is_marked_inferred() -> None:
    """No text says what an Euler too many costs; the ruling must not look surer than that."""
    assert {one.certainty for one in last(NEW, "3F+Eu+3S 3Lz+Eu+3S")} == {"inferred"}
    assert "cost" in last(NEW, "3F+Eu+3S 3Lz+Eu+3S")[0].rule


def test_children_have_no_unit_of_three() -> None:
    """Event announcements 2022/23: two units of two jumps each."""
    novice = free("2022-23", "intermediate-novice/all")
    assert called(novice, "2F+1T+1T 1A") == "2F+1T+1T* 1A"
    assert last(novice, "2F+1T+1T")[0].why == "only 2 jumps count in this unit"
