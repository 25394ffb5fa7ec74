"""Every reason can be said in every language, is about a jump of its element, and names a rule of the rulebook.

Crowded random programs of every edition and of a few odd ones reach every sentence that app/legality has. Held to the
catalogue (data/words), to the rulebooks (data/rules) and to the paragraphs named in app/legality.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from random import Random

import pytest
from babel.messages.pofile import read_po
from pydantic import BaseModel

from app.domain.elements import JumpElement, OtherElement
from app.domain.notation import parse_element, parse_jump_element
from app.domain.rulings import RuleRef, Ruling
from app.domain.words import Text
from app.legality import short_program, slots, units
from app.legality.judge import judge
from app.legality.left import left_to_use
from app.legality.short_outlook import short_outlook
from app.legality.short_program import ShortElement, judge_short
from app.legality.spins import judge_others
from app.legality.tally import Tally
from app.rulebook.editions import Edition, edition, edition_names
from app.rulebook.schema import Family, Limits
from app.rulebook.table import Rule
from app.web.languages import CATALOGUES, LANGUAGES
from tests.legality.crowded_programs import draw_code, pool
from tests.legality.programs import free

LEGALITY = Path(units.__file__).parent
WHOLE = [one.code for one in LANGUAGES.values() if one.code != "en" and not one.terms_only]
NAMED = (slots.NO_REVOLUTIONS, units.BROKEN, units.EULER_PLACE, short_program.REPEATED,
         short_program.SECOND_UNIT)  # fmt: skip
SPINS = "CCoSp4 Sp CCoSp3 FSSp4 FCSp4 LSp4 USp4 StSq3"
"""One name twice, one without a name, more than any rulebook counts."""


def odd_rulebooks() -> Iterator[Edition]:
    """Invented rulebooks with quotas that no shipped one has; a coach may write such a one."""
    book = free()
    repeats = book.rules.repeats
    assert repeats
    doubles, triples = repeats.classes
    where = {"document": "Invented", "paragraph": "for this test", "certainty": "your own"}
    groups = [
        {"revolutions": [1], "most": 2},
        {"revolutions": [4, 5], "most": 1},
        {"revolutions": [2], "most": 3},
    ]
    changes: tuple[dict[str, object], ...] = (
        {"limits": Limits.model_validate({"groups": groups, **where})},
        {"family": Family.model_validate({"most_repeated": 0, **where})},
        {"repeats": repeats.model_copy(update={"classes": (
            doubles.model_copy(update={"executions": 4}),
            triples.model_copy(update={"executions": 1}),
        )})},
    )  # fmt: skip
    for number, change in enumerate(changes):
        yield replace(book, name=f"odd {number}", rules=book.rules.model_copy(update=change))


BOOKS = {**{name: edition(name) for name in edition_names()}, **{one.name: one for one in odd_rulebooks()}}


def written() -> set[str]:
    """Every sentence written in app/legality, errors left out: what stands in say() and say_many()."""
    found = set()
    for file in LEGALITY.glob("*.py"):
        nodes = list(ast.walk(ast.parse(file.read_text(encoding="utf-8"))))
        errors = {inner for node in nodes if isinstance(node, ast.Raise) for inner in ast.walk(node)}
        for node in nodes:
            if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Name) or node in errors:
                continue
            if node.func.id in ("say", "say_many"):
                found.add(ast.literal_eval(node.args[0]))
    return found


@cache
def judged(name: str) -> tuple[list[tuple[JumpElement | OtherElement, tuple[Ruling, ...]]], list[str]]:
    """Elements with their rulings, and everything else that is said about programs of one edition."""
    book, random = BOOKS[name], Random(name)
    elements: list[tuple[JumpElement | OtherElement, tuple[Ruling, ...]]] = []
    said: list[str] = []
    for _ in range(12):
        names = pool(random, max(book.rules.allowed.revolutions))
        codes = [draw_code(random, names, book.rules.euler.code) for _ in range(book.boxes + 1)]
        jumps = [parse_jump_element(code) for code in codes]
        if book.is_short:
            given = [ShortElement(one, random.random() < 0.2) for one in jumps]
            elements += [
                (one, found.rulings) for one, found in zip(jumps, judge_short(book, given), strict=True)
            ]
            for done in range(len(given)):
                outlook = short_outlook(book, given[:done])
                said += [*outlook.owed, *outlook.traps]
            continue
        tally = Tally()
        for one in jumps:
            found = judge(book, tally, one)
            elements.append((one, found.verdict.rulings))
            said += left_to_use(book, tally).used_up
            tally = found.tally
    spins = [one for code in SPINS.split() if isinstance(one := parse_element(code), OtherElement)]
    elements += [(one, found.rulings) for one, found in zip(spins, judge_others(book, spins), strict=True)]
    return elements, said


@cache
def translated(code: str) -> set[tuple[str, str]]:
    """Messages of a language that have a translation, each with its plural."""
    with (CATALOGUES / f"{code}.po").open("rb") as file:
        rows = [
            row for row in read_po(file) if row.id and all(row.string if row.pluralizable else [row.string])
        ]
    return {(row.id[0], row.id[1]) if isinstance(row.id, tuple | list) else (row.id, "") for row in rows}


def sentences_of(text: object) -> Iterator[Text]:
    """A text and the texts inside it."""
    if isinstance(text, Text):
        yield text
        for inner in (*text.parts, *text.values.values()):
            yield from sentences_of(inner)


def rules_of(table: BaseModel) -> Iterator[RuleRef]:
    """Document, paragraph and certainty of every table and reading of a rulebook."""
    for name in type(table).model_fields:
        value = getattr(table, name)
        if isinstance(value, Rule):
            yield value.ref


@pytest.mark.parametrize("name", BOOKS)
def test_a_ruling_is_about_a_jump_under_a_rule_of_the_rulebook(name: str) -> None:
    book = BOOKS[name]
    known = {(str(ref), ref.certainty) for ref in (*rules_of(book.rules), *NAMED)}
    known |= {(str(ref), ref.certainty) for ref in map(book.reading_ref, book.rules.switches)}
    refs = [*rules_of(book.rules), *map(book.reading_ref, book.rules.switches)]
    known |= {(str(units.unwritten_cost(ref)), "inferred") for ref in refs}
    for element, rulings in judged(name)[0]:
        jumps = len(element.jumps) if isinstance(element, JumpElement) else 1
        assert [one.jump for one in rulings] == sorted(
            {one.jump for one in rulings} & set(range(1, jumps + 1))
        )
        for one in rulings:
            assert one.ruling in ("part", "nothing")
            assert (one.rule, one.certainty) in known, one


@pytest.mark.parametrize("name", BOOKS)
def test_every_reason_can_be_said_in_every_language(name: str) -> None:
    elements, said = judged(name)
    for text in [*said, *(one.why for _, rulings in elements for one in rulings)]:
        assert isinstance(text, Text), f"{text!r} went past the catalogue"
        for one in sentences_of(text):
            assert None not in one.values.values(), one
            assert all((one.message, one.many) in translated(code) for code in WHOLE), one.message


def test_every_sentence_is_reached() -> None:
    """Else the two tests above would say nothing about it."""
    reached = set()
    for name in BOOKS:
        elements, said = judged(name)
        for text in [*said, *(one.why for _, rulings in elements for one in rulings)]:
            reached |= {one.message for one in sentences_of(text)}
    assert written() - reached == set()
