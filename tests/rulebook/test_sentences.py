"""A rulebook in plain sentences: nothing left out, every number moves a sentence, the words are the source's."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.rulebook.editions import Edition, edition, edition_names
from app.rulebook.sentences import RuleSentence, sentences

SOME = (
    "isu/2026-27/senior/women/free",
    "isu/2021-22/junior/men/free",
    "isu/2024-25/advanced-novice/girls/short",
    "usa/2025-26/juvenile/all/free",
    "usa/2025-26/novice/women/free",
    "canada/2022-23/pre-novice/all/free",
    "club/2022-23/cubs-b/all/free",
)
NOT_RULES = {"document", "paragraph", "certainty", "note"}


def words(book: Edition) -> list[str]:
    return [one.words for one in sentences(book)]


@pytest.mark.parametrize("name", edition_names())
def test_every_table_is_said_and_every_sentence_has_a_source(name: str) -> None:
    book = edition(name)
    said = sentences(book)
    stated = {table for table in type(book.rules).model_fields if getattr(book.rules, table)}
    silent = set() if book.bonuses else {"bonuses"}
    assert {one.table for one in said} >= stated - silent
    for one in said:
        assert one.words[0].isupper() or one.words[0].isdigit()
        assert one.words.endswith(".")
        assert one.source.document
        assert one.source.paragraph
    assert len(set(words(book))) == len(said), "one sentence stands twice"


@pytest.mark.parametrize("name", SOME)
def test_every_number_moves_a_sentence(name: str) -> None:
    """One more of anything reads differently, so no number is left unsaid."""
    book = edition(name)
    for table in type(book.rules).model_fields:
        rule = getattr(book.rules, table)
        for field, value in rule if hasattr(rule, "document") else ():
            if field in NOT_RULES or isinstance(value, bool) or not isinstance(value, int):
                continue
            changed = rule.model_copy(update={field: 99 if value == 100 else value + 1})
            other = replace(book, rules=book.rules.model_copy(update={table: changed}))
            if (table, field) not in SILENT:
                assert words(other) != words(book), f"{table}.{field}"


SILENT = {("units", "most_jumps"), ("programme", "tolerance"), ("late", "percent")}
"""Said only beside another: no long unit, an upper limit of time, no late credit. Checked below where they are said."""


def test_numbers_that_are_said_only_beside_others() -> None:
    book = edition(SOME[0])
    for table, field in sorted(SILENT):
        rule = getattr(book.rules, table)
        changed = rule.model_copy(update={field: getattr(rule, field) + 1})
        other = replace(book, rules=book.rules.model_copy(update={table: changed}))
        assert words(other) != words(book), f"{table}.{field}"


def one_of(book: Edition, table: str) -> list[RuleSentence]:
    return [one for one in sentences(book) if one.table == table]


def test_the_words_are_those_of_the_sources() -> None:
    """Press report of June 2024: six elements; slides: three of a take-off; notice 2022: one repeated."""
    now = edition("isu/2026-27/senior/women/free")
    assert one_of(now, "boxes")[0].words == "Six jump elements count."
    assert one_of(now, "boxes")[0].numbers == (6,)
    assert one_of(now, "boxes")[0].source.certainty == "second-hand"
    assert (
        one_of(now, "family")[0].words == "Any one take-off counts three times at most, whatever the turns."
    )
    canada = edition("canada/2022-23/juvenile/all/free")
    assert (
        one_of(canada, "family")[0].words
        == "Only one take-off may be done more than once, whatever the turns."
    )
    assert "Sequences are not allowed" in one_of(canada, "units")[1].words


def test_a_reading_changes_the_words() -> None:
    name = "isu/2026-27/senior/women/free"
    never = sentences(edition(name, {"euler_beside_a_sequence": "never"}))
    assert any("may not both be in the program" in one.words for one in never if one.switch)
    counted = sentences(edition("isu/2024-25/advanced-novice/girls/free", {"novice_bonus": "counted"}))
    assert any(one.table == "bonuses" and one.switch == "novice_bonus" for one in counted)
