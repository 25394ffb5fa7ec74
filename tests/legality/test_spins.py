"""Spins. The rule text is from memory of the technical rules; the cases are official sheets or follow from them."""

from __future__ import annotations

import pytest

from app.domain.elements import OtherElement
from app.domain.notation import parse_element
from app.legality.spins import judge_others, meets
from app.rulebook.editions import edition

GROUPS = [["FSSp", "FCSp"], ["CCSp", "CSSp"], ["CCoSp"]]


def called(name: str, codes: str) -> str:
    given = [element for code in codes.split() if isinstance(element := parse_element(code), OtherElement)]
    return " ".join(str(one.element) for one in judge_others(edition(name), given))


@pytest.mark.parametrize(
    ("name", "done", "expected"),
    [
        ("isu/2025-26/senior/men/short", "FSSp4 CCSp4 CCoSp4", "FSSp4 CCSp4 CCoSp4"),
        ("isu/2025-26/senior/men/short", "CCoSp4 StSq4 FSSp4 CCSp4", "CCoSp4 StSq4 FSSp4 CCSp4"),
        ("isu/2025-26/senior/men/short", "FSSp4 FCSp4 CCoSp4", "FSSp4 FCSp4* CCoSp4"),  # two flying ones
        ("isu/2025-26/senior/women/short", "FSSp4 LSp4 CCoSp4", "FSSp4 LSp4 CCoSp4"),
        ("isu/2025-26/senior/women/short", "FSSp4 CCSp4 CCoSp4", "FSSp4 CCSp4* CCoSp4"),  # no change of foot for women
        ("isu/2025-26/senior/women/free", "CCoSp4 FSSp4 LSp4", "CCoSp4 FSSp4 LSp4"),
        ("isu/2025-26/senior/women/free", "FCCoSp4 CCoSp4 FSSp4", "FCCoSp4 CCoSp4 FSSp4"),  # one flies, one stays
        ("isu/2025-26/senior/women/free", "CCoSp4 CCoSp3 FSSp4", "CCoSp4 CCoSp3* FSSp4"),  # one name twice
        ("isu/2025-26/senior/women/free", "CCoSp4 FSSp4 LSp4 USp2", "CCoSp4 FSSp4 LSp4 USp2*"),  # a fourth
        ("isu/2025-26/senior/women/free", "Sp FSSp4 LSp4", "Sp FSSp4 LSp4"),  # could not be named, has no value anyway
        ("isu/2025-26/senior/women/free", "ChSq1 StSq3", "ChSq1 StSq3"),
    ],
)  # fmt: skip
def test_spins_that_count(name: str, done: str, expected: str) -> None:
    assert called(name, done) == expected


def test_a_star_carries_its_reason() -> None:
    book = edition("isu/2025-26/senior/women/free")
    given = [parse_element(code) for code in ("CCoSp4", "CCoSp3*", "FSSp4", "LSp4")]
    verdicts = judge_others(book, [one for one in given if isinstance(one, OtherElement)])
    assert verdicts[1].rulings[0].why == "CCoSp was already done: spins must differ"
    assert verdicts[3].rulings[0].why == "only 3 spins count"
    assert verdicts[1].rulings[0].certainty == "memory"
    assert verdicts[0].counts_in_full


def test_every_star_is_on_the_spin_itself_for_nothing_and_names_its_rule() -> None:
    """A spin is one thing: its ruling is about its first part, whatever the reason was."""
    short, free = edition("isu/2025-26/senior/men/short"), edition("isu/2025-26/senior/women/free")
    novice = edition("isu/2022-23/advanced-novice/girls/free")
    cases = (
        (short, "FSSp4 FCSp4", "FCSp meets none of the required spins still open"),
        (free, "CCoSp4 CCoSp3", "CCoSp was already done: spins must differ"),
        (free, "CCoSp4 FSSp4 LSp4 USp2", "only 3 spins count"),
        (novice, "CCoSp4 Sp", "a spin that could not be named meets no requirement"),
    )
    for book, codes, why in cases:
        given = [one for code in codes.split() if isinstance(one := parse_element(code), OtherElement)]
        (ruling,) = judge_others(book, given)[-1].rulings
        assert (ruling.jump, ruling.ruling, ruling.why) == (1, "nothing", why)
        assert (ruling.rule, ruling.certainty) == (str(book.rules.spins.ref), book.rules.spins.certainty)


@pytest.mark.parametrize(
    ("names", "possible"),
    [
        ([], True),
        (["CCoSp"], True),
        (["FSSp", "CCSp", "CCoSp"], True),
        (["CCoSp", "FCSp", "CSSp"], True),
        (["FSSp", "FCSp"], False),
        (["LSp"], False),
        (["FSSp", "CCSp", "CCoSp", "CSSp"], False),
    ],
)
def test_each_spin_meets_a_requirement_of_its_own(names: list[str], possible: bool) -> None:
    assert meets(names, GROUPS) is possible
