"""Bonuses of some levels. Sources beside each test; slides = technical panel slides 2026 of a national federation.

USQB = question bank for technical-official candidates, unofficial. Points are hundredths.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from app import engine
from app.domain.notation import parse_jump_element
from app.legality.bonus import most_bonus
from app.legality.judge import judge, judge_all
from app.legality.short_program import ShortElement, judge_short
from app.legality.tally import Tally
from app.rulebook.editions import Edition, edition
from app.rulebook.money_tables import BonusRow

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


def test_nobody_fell_who_is_not_said_to_have_fallen() -> None:
    """The novice bonus is void for the jump fallen on; a short list of falls says nothing of the later elements."""
    counted = {"novice_bonus": "counted"}
    free, short = (
        edition(f"isu/2024-25/advanced-novice/girls/{segment}", counted) for segment in ("free", "short")
    )
    axel, salchow = parse_jump_element("2A"), parse_jump_element("3S")
    assert judge(free, Tally(), axel).verdict.bonus == 100
    assert [one.bonus for one in judge_all(free, [axel, salchow], [True])[0]] == [0, 100]
    lone = [ShortElement(axel), ShortElement(salchow)]
    assert [one.bonus for one in judge_short(short, lone, [True])] == [0, 100]
    assert [one.bonus for one in judge_short(short, lone)] == [100, 100]


def test_the_bonus_for_a_variety_is_no_elements() -> None:
    """Slides, novice: +2 for four different triples, +1 each 3A, at most +1 an element: the two points are apart."""
    assert bonuses(NOVICE, "3T 3S 3Lo 3A") == [0, 0, 0, 300]


def test_an_award_names_its_jump_its_rule_and_what_for() -> None:
    table = JUNIOR.bonuses
    assert table
    tally = Tally()
    for code, jump, earned in (("3Lz+3T", 2, "3Lz+3T: "), ("3A", 1, "3A: ")):
        judged = judge(JUNIOR, tally, parse_jump_element(code))
        (award,) = judged.verdict.awards
        tally = judged.tally
        assert (award.jump, award.points, award.rule) == (jump, 100, table.ref)
        assert award.why in [earned + row.words for row in table.rows]
    # Where the program has no cap, points that nobody looks at again are not remembered.
    assert tally.bonus_points == 0


def test_the_tally_keeps_only_what_a_bonus_will_look_at_again() -> None:
    """Programs that no bonus can tell apart any more must share a tally."""
    jumps = [parse_jump_element(code) for code in ("3T", "3S", "3Lo", "3F", "3Lz")]
    _, four = judge_all(NOVICE, jumps[:4])
    _, five = judge_all(NOVICE, jumps)
    assert four.bonuses == five.bonuses
    # Each double Axel is rewarded, however many there were.
    _, tally = judge_all(JUVENILE, [parse_jump_element("2A"), parse_jump_element("2A+2T")])
    assert set(tally.bonuses) == {()}


def own(*rows: dict[str, object], **caps: int) -> Edition:
    """Invented: a juvenile rulebook with other bonuses."""
    assert JUVENILE.bonuses
    changed = JUVENILE.bonuses.model_copy(
        update={
            "rows": tuple(
                BonusRow.model_validate({"words": "invented", "points": 100, **row}) for row in rows
            ),
            "most_points_per_element": None,
            **caps,
        }
    )
    return replace(JUVENILE, name="own", rules=JUVENILE.rules.model_copy(update={"bonuses": changed}))


def test_a_program_may_have_a_cap() -> None:
    """Invented numbers: 1.50 in all. What the cap leaves is paid."""
    book = own({"jumps": ["2A", "3S"]}, most_points=150)
    assert bonuses(book, "2A 2A+2T 3S") == [100, 50, 0]
    assert most_bonus(book, parse_jump_element("2A+3S")) == 150


def test_an_element_may_earn_several_up_to_its_cap() -> None:
    """Invented numbers: 2.50 an element, three double Axels."""
    book = own({"jumps": ["2A", "3S"]}, most_points_per_element=250)
    assert bonuses(book, "2A+2A+3S+SEQ") == [250]
    assert most_bonus(book, parse_jump_element("2A+2A+3S+SEQ")) == 250


def test_an_euler_is_no_single() -> None:
    """Invented: a point for each single. TPH25: the Euler is a jump of its own kind."""
    assert bonuses(own({"revolutions": [1]}), "2F+1Eu+2S 1S") == [0, 100]


def test_the_bound_of_an_element() -> None:
    """Slides: a 2A of a juvenile +1, two in one element still +1; a triple of a novice may be the fourth: +2."""
    senior = edition("usa/2025-26/senior/women/free")
    counted = edition("isu/2024-25/advanced-novice/girls/free", {"novice_bonus": "counted"})
    varieties = own({"revolutions": [2], "variety": 3}, {"revolutions": [2], "variety": 5})
    for book, code, most in (
        (senior, "3A", 0),
        (JUVENILE, "2T", 0),
        (JUVENILE, "2A", 100),
        (JUVENILE, "2A+2A+SEQ", 100),
        (NOVICE, "2T", 0),
        (NOVICE, "3T", 200),
        (NOVICE, "3A", 300),
        (counted, "2A", 100),
        (own({"jumps": ["2A"]}), "2A+2A+SEQ", 200),
        (varieties, "2T", 200),
    ):
        assert most_bonus(book, parse_jump_element(code)) == most, code


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
