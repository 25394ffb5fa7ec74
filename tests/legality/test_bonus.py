"""Bonuses of some levels. Sources beside each test; slides = technical panel slides 2026 of a national federation.

USQB = question bank for technical-official candidates, unofficial. Points are hundredths.
"""

from __future__ import annotations

import pytest

from app import engine
from app.domain.notation import parse_jump_element
from app.legality.bonus import most_bonus
from app.legality.judge import judge_all
from app.rulebook.editions import Edition, edition

JUVENILE = edition("usa/2025-26/juvenile/all/free")
INTERMEDIATE = edition("usa/2025-26/intermediate/all/free")
NOVICE = edition("usa/2025-26/novice/women/free")
JUNIOR = edition("usa/2025-26/junior/women/free")
PRE_NOVICE = edition("canada/2022-23/pre-novice/all/free")


def bonuses(book: Edition, codes: str, falls: str = "") -> list[int]:
    """Bonus of each element; `falls` names by number the elements that ended in a fall."""
    elements = [parse_jump_element(code) for code in codes.split()]
    fell = [str(number) in falls.split() for number in range(1, len(elements) + 1)]
    return [one.bonus for one in judge_all(book, elements, fell)[0]]


def test_juvenile_each_double_axel_and_the_first_triple() -> None:
    """Slides: +1 each 2A, +1 first eligible triple."""
    assert bonuses(JUVENILE, "2A 3S 2A+2T 3S+2T") == [100, 100, 100, 0]


def test_juvenile_one_point_an_element_at_most() -> None:
    """Slides: max +1.0 bonus per element. The triple in the same element is then not the one rewarded."""
    assert bonuses(JUVENILE, "3S+2A+SEQ 3S") == [100, 100]


@pytest.mark.parametrize(
    ("call", "points"), [("", 100), ("q", 100), ("<", 100), ("<<", 0)], ids=["clean", "q", "<", "<<"]
)
def test_juvenile_calls(call: str, points: int) -> None:
    """Slides, USQB: q and < accepted, e and << not."""
    assert bonuses(JUVENILE, f"2A{call}") == [points]


def test_juvenile_a_wrong_edge_voids_and_the_next_triple_is_the_first_eligible() -> None:
    """Slides, USQB: e is not accepted; "first eligible triple"."""
    assert bonuses(JUVENILE, "3Fe 3F+2T") == [0, 100]


def test_a_jump_without_value_earns_nothing() -> None:
    """Needs of the trade, S38/S39: an invalidated element earns no bonus. Here the third 2A."""
    assert bonuses(JUVENILE, "2A 2A+2T 2A 3S") == [100, 100, 0, 100]


def test_intermediate_two_different_triples_and_one_double_triple() -> None:
    """Slides: +1 each different triple (max 2), +1 once for a double directly followed by a triple."""
    # 3S +1; 2A+3T: the triple +1 and the pair +1, but one point an element; then no third triple, pair still open.
    assert bonuses(INTERMEDIATE, "3S 2A+3T 3Lo 2F+3S") == [100, 100, 0, 100]


def test_novice_repertoire_of_four_different_triples() -> None:
    """Slides: +2 for at least four different triples, fully rotated or q only; once."""
    assert bonuses(NOVICE, "3T 3S 3Lo< 3Loq 2A 3F 3Lz") == [0, 0, 0, 0, 0, 200, 0]


def test_novice_triple_axel_and_different_triple_triples() -> None:
    """Slides: +1 each 3A; +1 each different triple-triple (max 2); max +1 per element."""
    assert bonuses(NOVICE, "3Lz+3T 3A+3T 3Lz+2T") == [100, 100, 0]


def test_the_bonus_is_kept_on_the_triple_axel_of_a_fallen_combination() -> None:
    """USQB 3: junior woman, 3A+3T, fall on the 3T, called 3Ab1+3T<<: the bonus of the 3A stays."""
    assert bonuses(JUNIOR, "3A+3T<<", falls="1") == [100]


def test_a_repeat_does_not_block_a_bonus() -> None:
    """Slides: +REP does not block a bonus. Two solo 3A: the second is 3A+REP."""
    assert bonuses(JUNIOR, "3A 3A") == [100, 100]


def test_seniors_have_none() -> None:
    """Slides: senior (domestic), none."""
    assert edition("usa/2025-26/senior/women/free").bonuses is None


def test_only_one_double_axel_earns_it_and_none_with_an_edge_call() -> None:
    """Skate Canada notice of 7 March 2022: one 2A per program; an e call earns none."""
    assert bonuses(PRE_NOVICE, "2A 2A+2T 3Fe 3Lo") == [100, 0, 0, 100]


def test_the_novice_bonus_is_a_switch() -> None:
    """From memory of the ISU novice requirements: +1 each different 2A or triple that is landed, not << or e."""
    name = "isu/2024-25/advanced-novice/girls/free"
    assert edition(name).bonuses is None
    counted = edition(name, {"novice_bonus": "counted"})
    assert bonuses(counted, "2A 3S 3S+2T 2A+2T") == [100, 100, 0, 0]
    # A fall voids the jump fallen on, and the same jump later earns it.
    assert bonuses(counted, "2A 3S 3S+2T", falls="2") == [100, 0, 100]
    # The lead of a unit whose last jump was fallen on keeps it.
    assert bonuses(counted, "2A+3T", falls="1") == [100]


def test_a_sheet_adds_the_bonus_to_the_total() -> None:
    """Fact sheet, section 6: segment score = elements + components + bonus - deductions. Values 2A 3.30, 2S 1.30."""
    answer = engine.score(
        {"edition": JUVENILE.name, "elements": [{"code": "2A"}, {"code": "2S"}], "falls": 1}
    )
    said = answer.as_json()
    assert [one["bonus"] for one in said["elements"]] == [1.0, 0.0]
    assert (said["element_score"], said["bonus"], said["deductions"]) == (4.60, 1.0, -0.5)
    assert said["total"] == pytest.approx(5.10)


def test_levels_without_a_bonus_say_nothing_of_one() -> None:
    """The contract's keys are unchanged where no rulebook asks for more."""
    said = engine.score({"edition": "isu/2025-26/senior/women/free", "elements": [{"code": "2A"}]}).as_json()
    assert "bonus" not in said
    assert "bonus" not in said["elements"][0]


@pytest.mark.parametrize(
    "book", [JUVENILE, INTERMEDIATE, NOVICE, JUNIOR, PRE_NOVICE], ids=lambda one: one.level
)
def test_no_element_earns_more_than_its_bound(book: Edition) -> None:
    """The planner relies on it: `most_bonus` is never below what the judge gives."""
    for codes in ("2A 3S 3T 3Lo 3F 3A", "3S+3T 3Lo+3Lo 2A+3T", "3A+2A+SEQ 2A+3S+SEQ 3Lz+3T+2A+SEQ"):
        elements = [parse_jump_element(code) for code in codes.split()]
        for one, element in zip(judge_all(book, elements)[0], elements, strict=True):
            assert one.bonus <= most_bonus(book, element)
