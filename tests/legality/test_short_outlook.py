"""What a short program under way still owes. TPH25 = ISU Technical Panel Handbook 2025/26, short program.

The outlook is written apart from the judge and held to him: what it calls worthless is worthless, and he puts +COMBO
where it says.
"""

from __future__ import annotations

from itertools import product

import pytest

from app.domain.notation import parse_jump_element
from app.errors import ProgramError
from app.legality.short_outlook import ShortOutlook, short_outlook
from app.legality.short_program import ShortElement, judge_short
from app.rulebook.editions import edition
from tests.legality.programs import free

WOMEN = edition("isu/2025-26/senior/women/short")


def given(codes: str) -> list[ShortElement]:
    """`3Lz# 2A`: # marks an attempt that failed."""
    return [ShortElement(parse_jump_element(code.rstrip("#")), code.endswith("#")) for code in codes.split()]


def outlook(codes: str) -> ShortOutlook:
    return short_outlook(WOMEN, given(codes))


@pytest.mark.parametrize(
    ("done", "owed"),
    [
        ("", ("Axel jump (2A or 3A)", "combination", "solo jump")),
        ("2A", ("combination", "solo jump")),
        ("3Lz+3T", ("Axel jump (2A or 3A)", "solo jump")),
        ("3Lz", ("Axel jump (2A or 3A)", "combination")),
        ("3Lz 2A", ("combination",)),
        ("3Lz+3T 2A", ("solo jump",)),
        ("3Lz+3T 3F", ("Axel jump (2A or 3A)",)),
        ("3Lz 3F", ("Axel jump (2A or 3A)",)),
        ("1A", ("combination", "solo jump")),
        ("3Lz+3T 2A 3F", ()),
    ],
)
def test_what_is_owed(done: str, owed: tuple[str, ...]) -> None:
    """TPH25: an Axel jump, a solo jump, a combination of two jumps; each attempt uses a place, a popped Axel too."""
    assert outlook(done).owed == owed


@pytest.mark.parametrize(
    ("done", "place"),
    [
        ("3Lz 3F", 1),
        ("3Lz# 3F", 0),
        ("3Lz 3F#", 1),
        ("3Lz# 3F#", 1),
        ("3Lz 2A 2F", 2),
        ("2T 3Lz#", 0),
        ("3Lz", None),
    ],
)
def test_which_lone_jump_carries_the_combination(done: str, place: int | None) -> None:
    """TPH25, three examples: unclear - the later; one failed - that one; a double is saved by it."""
    assert outlook(done).stands_for_combination == place


def test_the_next_lone_jump_can_take_the_combination() -> None:
    """TPH25: a tail on the later lone jump makes the combination there."""
    assert any("a second jump on it saves the combination" in words for words in outlook("3Lz 2A").traps)
    assert not any("saves the combination" in words for words in outlook("3Lz+3T 2A").traps)


@pytest.mark.parametrize("done", ["3Lz 2A", "3Lz# 2A", "2T 2A"])
def test_before_the_last_lone_jump_nobody_can_say_which_stands_for_the_combination(done: str) -> None:
    """TPH25: the later one, unless the earlier one failed or would be worthless alone. Used to name the later one."""
    later = judge_short(WOMEN, given(f"{done} 3F"))[2]
    assert str(later.element).endswith("+COMBO") is (done == "3Lz 2A")
    assert not any("stand for" in words for words in outlook(done).traps)


def test_zero_value_traps_in_words() -> None:
    """TPH25: a repeated jump counts for nothing; a double is no solo jump of a senior woman."""
    traps = outlook("3Lz+3T 2A").traps
    assert "worth nothing in another element: 3Lz, 3T, 2A" in traps
    assert "a double as the solo jump would count for nothing" in traps
    junior = short_outlook(edition("isu/2026-27/junior/women/short"), given("3F+2T 2A"))
    assert not any("double as the solo jump" in words for words in junior.traps)


def test_what_it_calls_worthless_the_judge_calls_worthless() -> None:
    """Every jump named as done with, tried once more in an element of its own kind, counts for nothing."""
    firsts = ("3Lz", "3T", "2A", "3Lz+3T", "3F+2T", "3Lz#")
    for first, second in product(firsts, repeat=2):
        done = given(f"{first} {second}")
        for name in short_outlook(WOMEN, done).done_with:
            tried = ShortElement(parse_jump_element(name))
            # Marks of +COMBO do not save a repetition.
            last = judge_short(WOMEN, [*done, tried])[-1]
            assert [one.ruling for one in last.rulings] == ["nothing"], f"{first} {second} then {name}"


def test_where_it_says_combo_the_judge_puts_it() -> None:
    """Three lone jumps in every order, with every pattern of errors."""
    for codes in product(("3Lz", "3F", "2A", "2F", "3T#", "2Lo#"), repeat=3):
        done = given(" ".join(codes))
        place = short_outlook(WOMEN, done).stands_for_combination
        marked = [n for n, one in enumerate(judge_short(WOMEN, done)) if "+COMBO" in str(one.element)]
        assert marked == ([] if place is None else [place]), codes


def test_a_free_skating_has_no_such_outlook() -> None:
    with pytest.raises(ProgramError, match=r"^edition: .* is not a short program"):
        short_outlook(free(), [])
