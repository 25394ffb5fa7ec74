"""Every reason can be said in every language, is about a jump of its element, and names the rule it follows from.

Crowded random programs of every edition and of a few odd ones reach every sentence that app/legality has. Held to the
catalogue (data/words), and to the table below: which rule speaks of what, as the rule fact sheet has it.
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

from app.domain.elements import JumpElement, OtherElement
from app.domain.notation import parse_element, parse_jump_element
from app.domain.rulings import RuleRef, Ruling
from app.domain.words import Text
from app.legality import units
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
from tests.legality.programs import BESIDE, CLAUSE, free

LEGALITY = Path(units.__file__).parent
WHOLE = [one.code for one in LANGUAGES.values() if one.code != "en" and not one.terms_only]
HANDBOOK = "ISU Technical Panel Handbook Single Skating 2025/26"
CLAUSE_OR_REPEATS = "the clause of two repeats"
SUBJECTS = {
    # 3.1 and 3.6: boxes; an attempt without revolutions, read in the handbook. 3.5: the Axel-type jump.
    "extra jump element: only %(boxes)s count": ("boxes",),
    "%(jump)s without a full revolution has no value": ("handbook, read",),
    "no Axel-type jump attempted: the last jump element counts for nothing": ("axel",),
    # 1.3, 7 and 8: jumps of a level, quintuples only solo.
    "%(jump)s has no value at this level": ("allowed",),
    "%(jump)s counts only as a solo jump": ("allowed",),
    # 3.2 and 3.3: units; behind a break nothing counts, an Euler between two listed jumps: read in the handbook.
    "only %(count)s combination or sequence counts": ("units",),
    "only %(count)s sequence counts": ("units",),
    "only %(count)s jump counts in this unit": ("units",),
    "%(limit)s: the unit of %(jumps)s jumps is already used": ("units",),
    "only %(most)s jumps of %(turns)s revolutions in a unit of %(jumps)s": ("units",),
    "the unit was broken before this jump": ("handbook, read",),
    "an Euler counts only between two listed jumps": ("handbook, read",),
    # 1.2: one Euler, and Euler beside sequence, a conflict of two sources; what a breach costs stands in neither.
    "only %(most)s Euler in the program": ("cost of euler",),
    "no Euler in a combination beside a sequence": (f"cost of {BESIDE}",),
    "no Euler and sequence in one program": (f"cost of {BESIDE}",),
    "no sequence after a combination with an Euler": (f"cost of {BESIDE}",),
    # 3.4 and 1.2: repeats; from 2026/27 on whether the clause of two repeats still stands is an open point (13 b).
    "no more %(jump)s: executed %(times)s": ("repeats",),
    "second solo %(jump)s, none in a unit: keeps %(percent)s %%": ("repeats",),
    "second solo %(jump)s: a repeat must stand in a unit": ("repeats",),
    "%(jump)s may not be repeated: %(others)s already are": (CLAUSE_OR_REPEATS,),
    "%(jump)s may not be repeated: %(others)s already is, and only one quad may be": (CLAUSE_OR_REPEATS,),
    "no more %(takeoff)s: %(times)s this take-off, whatever the revolutions": ("family",),
    "no more %(takeoff)s: take-offs already repeated: %(others)s": ("family",),
    # 7 and 8.3: quotas of novices and clubs.
    "no more %(jump)s: only %(most)s of %(group)s": ("limits",),
    "no %(jump)s: of %(group)s only %(others)s may count": ("limits",),
    # 2: the short program; repeated jump and break read in the handbook, a second combination in no text.
    "%(jump)s is not the required Axel jump (%(jumps)s)": ("short",),
    "%(jump)s is not an allowed solo jump": ("short",),
    "%(jump)s is not allowed in the combination": ("short",),
    "%(jump)s is not allowed as the second jump (%(jumps)s)": ("short",),
    "%(one)s and %(other)s may not form the combination: the lesser counts for nothing": ("short",),
    "the combination has two jumps": ("short",),
    "the combination was broken before this jump": ("handbook, read",),
    "%(jump)s was already executed in another element": ("handbook, read",),
    "only one combination counts": ("handbook, inferred",),
    "no Euler in the short program combination": ("euler", "cost of euler"),
    # Spins.
    "only %(most)s spins count": ("spins",),
    "%(spin)s was already done: spins must differ": ("spins",),
    "%(spin)s meets none of the required spins still open": ("spins",),
    "a spin that could not be named meets no requirement": ("spins",),
}
"""A reason -> the tables or readings of a rulebook that it may follow from; numbers are those of the rule fact sheet.

"handbook, …": no table, and how sure the fact sheet is of it. "cost of …": the rule stands there, its cost nowhere.
"""
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


def ref_of(book: Edition, name: str) -> RuleRef:
    """Document, paragraph and certainty of a table or of the reading in force."""
    if name == CLAUSE_OR_REPEATS:
        name = CLAUSE if CLAUSE in book.rules.switches else "repeats"
    if name in book.rules.switches:
        return book.reading_ref(name)
    table = getattr(book.rules, name)
    assert isinstance(table, Rule), f"{book.name} has no {name}"
    return table.ref


def follows_from(book: Edition, one: Ruling, subject: str) -> bool:
    """Whether a ruling names that rule and how sure it is."""
    if subject.startswith("handbook"):
        return one.rule.startswith(f"{HANDBOOK}, ") and subject == f"handbook, {one.certainty}"
    name = subject.removeprefix("cost of ")
    ref = ref_of(book, name)
    if name != subject:
        return one.rule.startswith(f"{ref}, ") and one.certainty == "inferred"
    return (one.rule, one.certainty) == (str(ref), ref.certainty)


@pytest.mark.parametrize("name", BOOKS)
def test_a_ruling_is_about_a_jump_under_the_rule_that_speaks_of_it(name: str) -> None:
    book = BOOKS[name]
    for element, rulings in judged(name)[0]:
        jumps = len(element.jumps) if isinstance(element, JumpElement) else 1
        assert [one.jump for one in rulings] == sorted(
            {one.jump for one in rulings} & set(range(1, jumps + 1))
        )
        for one in rulings:
            assert one.ruling in ("part", "nothing")
            assert isinstance(one.why, Text)
            # "…: the first jump keeps 70 %" has its reason inside.
            reason = one.why.values.get("why", one.why)
            assert isinstance(reason, Text)
            assert any(follows_from(book, one, subject) for subject in SUBJECTS[reason.message]), one


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
