"""What is left, in numbers and sentences. Quotas: TPH25 until 2025/26, slides 2026 and a press report for 2026/27."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.legality.left import (
    NO_LIMIT,
    LeftToUse,
    count_word,
    executions_left,
    group_left,
    left_to_use,
    repeats_left,
)
from app.legality.tally import Tally
from app.rulebook.editions import edition
from app.rulebook.schema import Limits
from tests.legality.programs import BESIDE, CLAUSE, after, free


def left(season: str, done: str, who: str = "senior/women", **readings: str) -> LeftToUse:
    book = free(season, who, **readings)
    return left_to_use(book, after(book, done))


def test_at_the_start_everything_is_left() -> None:
    old, new = left("2025-26", ""), left("2026-27", "")
    assert (old.boxes, old.units, old.three_jump_unit, old.sequence, old.euler) == (7, 3, True, True, None)
    assert (new.boxes, new.units, new.three_jump_unit, new.sequence, new.euler) == (6, 2, True, True, True)
    assert (old.repeats, old.quad_repeats, new.repeats, new.quad_repeats) == (2, 1, 2, 1)
    assert set(old.doubles.values()) == set(new.doubles.values()) == {2}
    assert old.families is None
    assert new.families == dict.fromkeys(("T", "S", "Lo", "F", "Lz", "A"), 3)
    assert old.axel_owed
    assert old.used_up == new.used_up == ()


def test_numbers_go_down_as_quotas_are_used() -> None:
    now = left("2025-26", "2A 3Lz+2T 3F+2T+2Lo 3Lz")
    assert (now.boxes, now.units, now.three_jump_unit, now.sequence) == (3, 1, False, True)
    assert (now.repeats, now.quad_repeats, now.axel_owed) == (1, 1, False)
    assert now.doubles == {"2T": 0, "2S": 2, "2Lo": 1, "2F": 2, "2Lz": 2, "2A": 1}


@pytest.mark.parametrize(
    ("name", "readings"),
    [
        # slides 2026: three different doubles may be repeated, no word on triples
        ("usa/2025-26/juvenile/all/free", {}),
        ("isu/2026-27/senior/women/free", {CLAUSE: "dropped"}),
    ],
)
def test_without_a_quota_of_repeats_nothing_runs_out(name: str, readings: dict[str, str]) -> None:
    """Juvenile used to say that no triple may be repeated, where no rule says so."""
    now = left_to_use(edition(name, readings), Tally())
    assert now.repeats == now.quad_repeats == NO_LIMIT


SENTENCES = [
    ("2025-26", "senior/women", "2A 3Lz+2T 3F+2T", {"no more 2T: two used"}),
    ("2025-26", "senior/women", "3F+2T+2Lo", {"no more three-jump unit"}),
    ("2025-26", "senior/women", "2A+2T 3Lz+3T 3F+2Lo", {"no more combinations or sequences"}),
    ("2025-26", "senior/women", "3F+2A+SEQ", {"no more sequence: one used"}),
    ("2025-26", "senior/women", "2A 3Lz+2T 3Lz", {"no more 3Lz: two used"}),
    (
        "2025-26", "senior/women", "3Lz+2A+SEQ 3Lz 3F+2T 3F 3S",
        {
            "no more sequence: one used", "no more 3Lz: two used", "no more 3F: two used",
            "no more 3S: 3F and 3Lz already repeated",
        },
    ),
    (
        "2025-26", "senior/men", "3A 4T 4T+2T 4S",
        {"no more 4T: two used", "no more 4S: 4T already repeated"},
    ),
    (
        "2026-27", "senior/women", "3T 3Lz+2T 2T",
        {"no more T of any kind: three used"},
    ),
    (
        "2026-27", "senior/women", "3F+Eu+3S",
        {"no more Euler: one used", "no more sequence: an Euler stands in a combination"},
    ),
    ("2026-27", "senior/women", "3F+2A+SEQ", {"no more sequence: one used", "no more Euler: a sequence is used"}),
    ("2025-26", "senior/women", "2A 3Lz 3F 3Lo 3S 3T 2F", {"no more jump elements: all boxes used"}),
]  # fmt: skip


@pytest.mark.parametrize(("season", "who", "done", "sentences"), SENTENCES)
def test_what_is_gone_is_said(season: str, who: str, done: str, sentences: set[str]) -> None:
    assert set(left(season, done, who).used_up) == sentences


def test_with_the_clause_read_away_repeats_are_not_counted() -> None:
    """99 stands for "no quota", as the docstring says."""
    done = "3Lz+2T 3Lz 3F+2Lo 3F 3S"
    dropped, kept = left("2026-27", done, **{CLAUSE: "dropped"}), left("2026-27", done)
    assert (dropped.repeats, dropped.quad_repeats, kept.repeats) == (99, 99, 0)
    assert "no more 3S: 3F and 3Lz already repeated" in kept.used_up
    assert not [said for said in dropped.used_up if "repeated" in said]


def test_the_readings_of_the_euler_differ() -> None:
    done = "3Lo+Eu+2A+SEQ"
    assert left("2026-27", done).sequence is False  # the one sequence is used
    strict = left("2026-27", "3F+Eu+3S", **{BESIDE: "never"})
    assert (strict.sequence, strict.euler) == (False, False)


def test_what_is_used_up_is_nothing_left() -> None:
    """TPH25: three units, one of three jumps, one sequence. Slides 2026: three of one take-off, whatever the turns."""
    now = left("2025-26", "2A+2T 3Lz+3T 3F+2Lo 3S+2S")
    assert (now.units, now.three_jump_unit, now.sequence) == (0, False, False)
    assert left("2026-27", "3T 3Lz+2T 3F+3T").doubles["2T"] == 0
    short = left_to_use(edition("isu/2025-26/senior/women/short"), Tally())
    assert (short.units, short.three_jump_unit, short.sequence) == (0, False, False)


def test_an_euler_and_a_second_sequence() -> None:
    """Invented: two sequences. Slides 2026: no Euler beside a sequence; the press report allows it inside one."""
    assert left("2026-27", "", **{BESIDE: "never"}).euler is True
    units = free("2026-27").rules.units
    assert units
    rules = free("2026-27").rules.model_copy(update={"units": units.model_copy(update={"most_sequences": 2})})
    for reading, allowed in (("never", False), ("only inside the sequence", True)):
        own = replace(free("2026-27"), name="own", rules=rules, settings={BESIDE: reading})
        assert left_to_use(own, after(own, "3F+2A+SEQ")).euler is allowed
        assert left_to_use(own, after(own, "3F+Eu+2A+SEQ")).sequence is allowed


def test_one_take_off_may_be_repeated() -> None:
    """Skate Canada notice 28 October 2022, juvenile: the example 2F+1T, 2Lz, 1A, 2F, then 2T counts for nothing."""
    juvenile = edition("canada/2022-23/juvenile/all/free")
    one, two = after(juvenile, "2F+1T 2Lz 1A"), after(juvenile, "2F+1T 2Lz 1A 2F")
    assert [executions_left(juvenile, one, name) for name in ("2F", "2T", "2S", "1T")] == [1, 2, 2, 1]
    assert [executions_left(juvenile, two, name) for name in ("2F", "2T", "2S", "1T")] == [0, 0, 1, 0]
    assert {"no more 1T: F already repeated", "no more 2F: two used"} <= set(
        left_to_use(juvenile, two).used_up
    )


def test_groups_have_quotas() -> None:
    """Club events 2022/23, cubs B: one of 2T, 2S, 2Lo. Invented: two singles, one quad or quintuple."""
    cubs = edition("club/2022-23/cubs-b/all/free")
    done = after(cubs, "1A+2T")
    assert [group_left(cubs, done, name) for name in ("2T", "2S", "1T")] == [NO_LIMIT, 0, NO_LIMIT]
    assert "of 2T, 2S or 2Lo only 2T" in left_to_use(cubs, done).used_up
    where = {"document": "Invented", "paragraph": "for this test", "certainty": "your own"}
    groups = [{"revolutions": [1], "most": 2}, {"revolutions": [4, 5], "most": 1}]
    limits = Limits.model_validate({"groups": groups, **where})
    own = replace(free(), name="own", rules=free().rules.model_copy(update={"limits": limits}))
    assert [group_left(own, Tally(), name) for name in ("1T", "4T", "3T")] == [2, 1, NO_LIMIT]
    used = after(own, "2A 4T 1S")
    assert [group_left(own, used, name) for name in ("1T", "4T", "5T", "3T")] == [1, 0, 0, NO_LIMIT]
    assert [executions_left(own, used, name) for name in ("1T", "4S", "3T")] == [1, 0, 2]
    assert "no more quads or quintuples: one used" in left_to_use(own, used).used_up
    full = after(own, "2A 4T 1S 1T 1Lo")
    assert group_left(own, full, "1T") == 0


def test_repeats_left_of_triples_and_of_quads() -> None:
    """TPH25: two, one of them a quad. Question bank, intermediate: two. Juvenile: no quota of that kind."""
    done = left("2025-26", "3A 4T+2T 4T", "senior/men")
    assert (done.repeats, done.quad_repeats) == (1, 0)
    intermediate, juvenile = (
        edition(f"usa/2025-26/{level}/all/free") for level in ("intermediate", "juvenile")
    )
    assert repeats_left(intermediate, Tally()) == (2, 2)
    assert repeats_left(juvenile, Tally()) == (NO_LIMIT, NO_LIMIT)


def test_children_have_their_own_quotas() -> None:
    now = left("2022-23", "1A 2T 2T 1S 1S", "intermediate-novice/all")
    assert (now.boxes, now.units, now.three_jump_unit) == (0, 2, False)
    assert now.doubles["2T"] == 0
    assert {"no more 2T: two used", "no more 1S: two used", "no more 1A: 1S already repeated"} <= set(
        now.used_up
    )


def test_small_counts_are_words() -> None:
    assert [count_word(count) for count in (1, 2, 3, 4)] == ["one", "two", "three", "4"]
