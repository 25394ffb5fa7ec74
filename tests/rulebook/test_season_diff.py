"""Differences between editions in words. Expected words follow the published changes named beside each check."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.rulebook.editions import edition, edition_names
from app.rulebook.season_diff import Difference, instead, rule_differences, value_differences
from app.rulebook.sentences import sentences

OLD, NEW = "isu/2025-26/senior/women/free", "isu/2026-27/senior/women/free"


def said(before: str, now: str) -> list[tuple[str, str]]:
    return [(one.what, one.words) for one in rule_differences(edition(before), edition(now))]


def test_what_the_congress_of_2024_changed() -> None:
    """Press reports of June 2024: six elements instead of seven, two units instead of three; slides: a cap of three."""
    found = said(OLD, NEW)
    assert ("changed", "Six jump elements count, instead of seven.") in found
    assert ("changed", "Two combinations or sequences count, instead of three.") in found
    assert ("new", "Any one take-off counts three times at most, whatever the turns.") in found


def test_what_2022_changed() -> None:
    """ISU Communication 2475 and later: three components with factor 2.67 instead of five with 1.6 for women."""
    found = said("isu/2021-22/senior/women/free", "isu/2022-23/senior/women/free")
    assert ("changed", "Composition: factor 2.67, instead of 1.6.") in found
    assert ("gone", "Transitions: factor 1.6.") in found


@pytest.mark.parametrize(
    ("before", "now", "words"),
    [
        (
            "Seven jump elements count.",
            "Six jump elements count.",
            "Six jump elements count, instead of seven.",
        ),
        ("Each fall costs 1.00.", "Each fall costs 0.50.", "Each fall costs 0.50, instead of 1.00."),
        (
            "Two of three count.",
            "One of four count.",
            "One of four count. Before: two of three count.",
        ),
        (
            "No spin counts twice.",
            "No spin of any kind counts twice.",
            "No spin of any kind counts twice. Before: no spin counts twice.",
        ),
    ],
)
def test_one_place_is_said_short_and_several_whole(before: str, now: str, words: str) -> None:
    assert instead(before, now) == words


@pytest.mark.parametrize("name", edition_names())
def test_an_edition_does_not_differ_from_itself(name: str) -> None:
    book = edition(name)
    assert rule_differences(book, book) == ()
    assert value_differences(book, book) == ()


@pytest.mark.parametrize(
    ("before", "now"),
    [(OLD, NEW), ("isu/2018-19/junior/men/short", NEW), ("usa/2025-26/juvenile/all/free", OLD)],
)
def test_nothing_that_differs_is_left_out(before: str, now: str) -> None:
    """Every sentence of one side that the other does not have stands in exactly one difference, and no other does."""
    old = [one.words for one in sentences(edition(before))]
    new = [one.words for one in sentences(edition(now))]
    found = rule_differences(edition(before), edition(now))
    assert sorted(one.now.words for one in found if one.now) == sorted(set(new) - set(old))
    assert sorted(one.before.words for one in found if one.before) == sorted(set(old) - set(new))


def test_backwards_is_the_other_way_round() -> None:
    there, back = (rule_differences(edition(a), edition(b)) for a, b in ((OLD, NEW), (NEW, OLD)))

    def pairs(found: tuple[Difference, ...], turn: bool) -> set[tuple[str, str]]:
        both = ((one.before.words if one.before else "", one.now.words if one.now else "") for one in found)
        return {(b, a) if turn else (a, b) for a, b in both}

    assert pairs(there, turn=False) == pairs(back, turn=True)


def test_base_values_that_moved() -> None:
    """A single row changed here (invented): only that row is reported."""
    book = edition(OLD)
    values = replace(book.values, rows={**book.values.rows, ("3Lz", "clean"): 600})
    (found,) = value_differences(book, replace(book, values=values))
    assert (found.code, found.variant, found.before, found.now) == ("3Lz", "clean", 590, 600)
