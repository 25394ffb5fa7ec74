"""What differs from season to season, level to level, as the published rules have it; the source beside each fact.

TPH25 = ISU Technical Panel Handbook Single Skating 2025/26. Sheets = official judges' details of ISU events.
Slides = technical panel slides 2026 of a national federation, "2026-2027 rule changes". SOV26 = Communication 2786.
"""

from __future__ import annotations

import pytest

from app.rulebook.editions import Edition, edition, edition_names

RECENT = ("2022-23", "2023-24", "2024-25", "2025-26")


def free(season: str, who: str = "senior/women") -> Edition:
    return edition(f"isu/{season}/{who}/free")


def short(season: str, who: str = "senior/women") -> Edition:
    return edition(f"isu/{season}/{who}/short")


@pytest.mark.parametrize("season", RECENT)
def test_seven_boxes_and_three_units_until_2025_26(season: str) -> None:
    """TPH25: at most seven jump elements, three combinations or sequences, one of three jumps, one sequence."""
    for who in ("senior/women", "senior/men", "junior/women", "junior/men"):
        book = free(season, who)
        units = book.rules.units
        assert units
        assert (book.boxes, units.most) == (7, 3)
        assert (units.most_sequences, units.most_jumps, units.usual_jumps, units.most_long) == (1, 3, 2, 1)


def test_six_boxes_and_two_units_from_2026_27() -> None:
    """Press report of June 2024 and Slides: six elements; two combinations, or one and one sequence."""
    for who in ("senior/women", "senior/men", "junior/women", "junior/men"):
        book = free("2026-27", who)
        units = book.rules.units
        assert units
        assert (book.boxes, units.most) == (6, 2)
        assert (units.most_sequences, units.most_jumps, units.usual_jumps, units.most_long) == (1, 3, 2, 1)
        assert book.rules.boxes.certainty == "second-hand"
        assert units.certainty == "second-hand"


def test_the_euler_lost_its_value_and_its_place_in_the_count() -> None:
    """TPH25: listed, 0.50, one of the three jumps. SOV26: 0.00. Slides: once, not counted."""
    before, after = free("2025-26"), free("2026-27")
    assert (before.rules.euler.code, before.rules.euler.counts_as_jump, before.rules.euler.most) == (
        "1Eu",
        True,
        None,
    )
    assert (after.rules.euler.code, after.rules.euler.counts_as_jump, after.rules.euler.most) == (
        "Eu",
        False,
        1,
    )
    assert before.values.value("1Eu") == 50
    assert after.values.value("Eu") == 0


def test_at_most_three_of_one_take_off_from_2026_27() -> None:
    """Slides: the same type of jump, whatever the revolutions, at most three times."""
    assert free("2025-26").rules.family is None
    cap = free("2026-27").rules.family
    assert cap
    assert cap.most == 3


@pytest.mark.parametrize("season", [*RECENT, "2026-27"])
def test_repeats_of_doubles_triples_and_quads(season: str) -> None:
    """TPH25: doubles at most twice; two different triples or more twice, one of them a quad or quintuple."""
    repeats = free(season).rules.repeats
    assert repeats
    doubles, triples = repeats.classes
    assert (doubles.revolutions, doubles.executions, doubles.most_repeated, doubles.solo_loses) == (
        (2,),
        2,
        None,
        False,
    )
    assert (triples.revolutions, triples.executions, triples.most_repeated) == ((3, 4, 5), 2, 2)
    assert (triples.within, triples.most_repeated_within, triples.solo_loses) == ((4, 5), 1, True)


@pytest.mark.parametrize("season", [*RECENT, "2026-27"])
def test_the_second_half_counts_three_in_the_free_and_one_in_the_short(season: str) -> None:
    """Communication 2176: the last three, the last one, each at 1.1; the middle of the required time."""
    assert (free(season).rules.late.last, free(season).rules.late.percent) == (3, 110)
    assert (short(season).rules.late.last, short(season).rules.late.percent) == (1, 110)
    assert free(season).half_way_seconds == 120  # of 4:00
    assert free(season, "junior/men").half_way_seconds == 105  # of 3:30
    assert short(season).half_way_seconds == 80  # of 2:40


@pytest.mark.parametrize("season", [*RECENT, "2026-27"])
def test_falls_grow_for_seniors_only(season: str) -> None:
    """Sheets 2018/19-2025/26: two falls 2, three 4, four 6 points for seniors; one each for juniors. Fifth: Slides."""
    assert [free(season).fall_deduction(nth) for nth in range(1, 7)] == [100, 100, 200, 200, 300, 300]
    assert [short(season, "junior/men").fall_deduction(nth) for nth in (1, 3, 9)] == [100, 100, 100]


@pytest.mark.parametrize(
    ("who", "segment", "factor"),
    [("men", "free", 3.33), ("women", "free", 2.67), ("men", "short", 1.67), ("women", "short", 1.33)],
)
def test_component_factors(who: str, segment: str, factor: float) -> None:
    """Sheets 2022/23-2025/26, senior and junior alike; three components."""
    for season in RECENT:
        for level in ("senior", "junior"):
            listed = edition(f"isu/{season}/{level}/{who}/{segment}").rules.components.list
            assert {one.factor for one in listed} == {factor}
            assert [one.name for one in listed] == ["Composition", "Presentation", "Skating Skills"]


@pytest.mark.parametrize(
    ("season", "takeoff"),
    [("2022-23", "Lo"), ("2023-24", "Lz"), ("2024-25", "F"), ("2025-26", "Lo"), ("2026-27", "Lz")],
)
def test_the_prescribed_junior_jump_turns(season: str, takeoff: str) -> None:
    """TPH25: Loop in 2025/26; sheets 2022/23: Loop; the three-year cycle Lutz, Flip, Loop between and after."""
    for who in ("junior/men", "junior/women"):
        rules = short(season, who).rules.short
        assert rules
        assert set(rules.solo) == {f"2{takeoff}", f"3{takeoff}"}


def test_short_program_requirements_of_2025_26() -> None:
    """TPH25, short program, per level: Axel jumps, and which revolutions the combination may pair."""
    expected = {
        "senior/men": ({"2A", "3A"}, {(2, 3), (3, 3), (2, 4), (3, 4)}),
        "senior/women": ({"2A", "3A"}, {(2, 3), (3, 3)}),
        "junior/men": ({"2A", "3A"}, {(2, 3), (3, 3)}),
        "junior/women": ({"2A"}, {(2, 2), (2, 3), (3, 3)}),
    }
    for who, (axel, pairs) in expected.items():
        rules = short("2025-26", who).rules.short
        assert rules
        assert set(rules.axel) == axel
        assert {tuple(sorted(pair)) for pair in rules.combination} == pairs


def test_quads_only_for_senior_men_in_the_short() -> None:
    """TPH25: any triple or quad as the solo jump for senior men, any triple for senior women."""
    men, women = short("2025-26", "senior/men").rules.short, short("2025-26").rules.short
    assert men
    assert women
    assert {name[0] for name in men.solo} == {"3", "4"}
    assert {name[0] for name in women.solo} == {"3"}


def test_quintuples_only_alone_and_only_in_the_free() -> None:
    """TPH25: quintuple jumps only as solo jumps of the free skating."""
    assert free("2025-26").rules.allowed.solo_only == (5,)
    assert 5 not in short("2025-26", "senior/men").rules.allowed.revolutions


def test_the_choreographic_spin_is_new_in_2026_27() -> None:
    """SOV26: ChSp1, a grade worth 0.50 like that of ChSq1."""
    assert free("2025-26").rules.grades.steps == {"ChSq1": 50}
    assert free("2026-27").rules.grades.steps == {"ChSq1": 50, "ChSp1": 50}


def test_intermediate_novice() -> None:
    """Event announcements 2022/23: five elements, two units of two, no triples, one single and one double repeated."""
    book = edition("isu/2022-23/intermediate-novice/all/free")
    units, repeats = book.rules.units, book.rules.repeats
    assert units
    assert repeats
    assert (book.boxes, units.most, units.most_jumps) == (5, 2, 2)
    assert book.rules.allowed.revolutions == (1, 2)
    assert [(one.revolutions, one.executions, one.most_repeated) for one in repeats.classes] == [
        ((1,), 2, 1),
        ((2,), 2, 1),
    ]
    assert book.fall_deduction(1) == 50  # Communication 2396
    assert book.rules.late.percent == 100


@pytest.mark.parametrize("season", ["2018-19", "2019-20", "2020-21", "2021-22"])
def test_old_seasons_gave_less_for_sequences(season: str) -> None:
    """Communication 2176: a sequence was worth 80 % of its jumps; sheets: five components, 2.00 and 1.60."""
    units = free(season).rules.units
    assert units
    assert units.marked_percent == 80
    assert [one.factor for one in free(season).rules.components.list] == [1.6] * 5
    assert [one.factor for one in free(season, "senior/men").rules.components.list] == [2.0] * 5


def test_nothing_of_2026_27_but_its_values_claims_to_be_read() -> None:
    """The texts of 2026/27 were not available; the scale of values (Communication 2786) was."""
    for name in edition_names():
        if "/2026-27/" not in name:
            continue
        rules = edition(name).rules
        read = {
            table
            for table in type(rules).model_fields
            if getattr(getattr(rules, table), "certainty", "") == "read"
        }
        assert read <= {"values", "grades"}, name
